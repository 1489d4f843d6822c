"""How a handoff says a bed's people: out of bed and in bed, whoever reads it included."""

from __future__ import annotations

from mobicard.derive.handing_over.people import People


def people_say(people: People) -> str:
    """``out of bed 2, in bed 3``, that nobody is needed, or that nobody moves the patient."""
    if not people.known:
        return "not moved now"
    if people.most == 0:
        return "nobody needed"
    return f"out of bed {_count(people.out_of_bed)}, in bed {_count(people.in_bed)}"


def _count(people: int | None) -> str:
    return "not now" if people is None else str(people)
