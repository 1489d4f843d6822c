"""Whether a bed asks for more or less help than before: any move that grew makes it more."""

from __future__ import annotations

from enum import StrEnum

from mobicard.derive.join.groups import IN_BED, OUT_OF_BED
from mobicard.derive.model import Plan, TaskPlan

NOBODY = 99
"""A move nobody may make counts as more than any number of people."""


class Direction(StrEnum):
    """What has become of the help a bed takes."""

    MORE = "more"
    LESS = "less"
    BOTH = "both"
    SAME = "same"
    NEW = "new"


def direction_of(before: Plan | None, plan: Plan) -> Direction:
    """The moves out of bed and in bed then and now, by level and by people; then the level a card shows."""
    if before is None:
        return Direction.NEW
    shown = (before.shown_level.rank, plan.shown_level.rank)
    pairs = [(_help(before.tasks[task]), _help(plan.tasks[task])) for task in (*OUT_OF_BED, *IN_BED)]
    grew = shown[1] > shown[0] or any(
        new > old for was, now in pairs for old, new in zip(was, now, strict=True)
    )
    fell = shown[1] < shown[0] or any(
        new < old for was, now in pairs for old, new in zip(was, now, strict=True)
    )
    if grew and fell:
        return Direction.BOTH
    return Direction.MORE if grew else Direction.LESS if fell else Direction.SAME


def _help(move: TaskPlan) -> tuple[int, int]:
    return move.level.rank, NOBODY if move.helpers is None else move.helpers
