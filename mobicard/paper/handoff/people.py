"""How a handoff says a bed's people: out of bed and in bed, whoever reads it included."""

from __future__ import annotations

from mobicard.derive.handing_over.people import People


def people_say(people: People) -> str:
    """``out of bed 2, in bed 3``, that nobody is needed, or that nobody moves the patient."""
    if not people.known:
        return "not moved now"
    if people.most == 0:
        return "nobody needed"
    out = "not out of bed" if people.out_of_bed is None else f"out of bed {people.out_of_bed}"
    return f"{out}, {'not turned now' if people.in_bed is None else f'in bed {people.in_bed}'}"
