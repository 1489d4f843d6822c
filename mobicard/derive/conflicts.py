"""Which conflicts are settled first: those about what is used at the bed before those about the record."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from mobicard.derive.equipment import words
from mobicard.derive.model import Conflict
from mobicard.facts.words import Equipment

_AT_THE_BED = ("inventory", "override", "assessed_at", "fall_event", "aids", "precautions", "weight_bearing")
"""Fields by whose answer the next move is made, the gravest first."""

_RECORD = ("help", "helpers_used", "goals", "fall_risk", "policy")
"""Fields that say what was seen or wanted: a conflict that begins with one is settled at the desk."""


def urgency(conflict: Conflict) -> int:
    """The conflict's place, lower first; ``len(_AT_THE_BED)`` is a matter of the record alone."""
    roots = {field.split(".")[0] for field in conflict.fields}
    for place, root in enumerate(_AT_THE_BED[:2]):
        if root in roots:
            return place
    if not conflict.fields or conflict.fields[0].split(".")[0] in _RECORD:
        return len(_AT_THE_BED)
    return next((place for place, root in enumerate(_AT_THE_BED) if root in roots), len(_AT_THE_BED))


def at_the_bed(conflicts: Iterable[Conflict], headline: Collection[Equipment] = ()) -> tuple[Conflict, ...]:
    """Those that change what is done at the next move, the gravest first.

    Of those about equipment, the ones naming what the ``headline`` move uses lead.
    """
    used = [words(item) for item in headline]

    def place(conflict: Conflict) -> tuple[int, bool]:
        return urgency(conflict), not any(name in conflict.says for name in used)

    return tuple(sorted((c for c in conflicts if urgency(c) < len(_AT_THE_BED)), key=place))


def in_the_record(conflicts: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """Those that only say the record disagrees with itself, in their own order."""
    return tuple(conflict for conflict in conflicts if urgency(conflict) == len(_AT_THE_BED))
