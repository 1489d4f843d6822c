"""The moves a level word and a number speak of: out of bed and in bed, each by the one that asks for most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from mobicard.derive.model import TaskPlan
from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.by_patient.unknown import RULES as UNKNOWN_RULES
from mobicard.rules.words import NOT_DONE, UNKNOWN

OUT_OF_BED: Final = (Task.CHAIR, Task.TOILET, Task.STAND)
IN_BED: Final = (Task.TURN, Task.BOOST, Task.SIT_UP)

NOT_SEEN: Final = frozenset(
    rule.id for rule in UNKNOWN_RULES if rule.when in (UNKNOWN["help"], *NOT_DONE.values())
)
"""Rules that hold a move back because nobody has seen it; another move of its group still speaks."""


def out_of_bed(tasks: Mapping[Task, TaskPlan]) -> tuple[TaskPlan, ...]:
    """The moves out of bed that the level speaks of: the chair, the toilet, and standing up where they stand.

    The toilet and standing up count once somebody has seen them; the chair always does.
    """
    chair = tasks[Task.CHAIR]
    stood = chair.level.rank <= Level.POWER.rank and Equipment.SEATED_TRANSFER_AID not in chair.equipment
    others = [tasks[Task.TOILET], *([tasks[Task.STAND]] if stood else [])]
    return (chair, *(move for move in others if _seen(move)))


def in_bed(tasks: Mapping[Task, TaskPlan]) -> tuple[TaskPlan, ...]:
    """The moves in bed that somebody has seen; all of them where nobody has seen any."""
    moves = [tasks[task] for task in IN_BED]
    return tuple(move for move in moves if _seen(move)) or tuple(moves)


def most(moves: tuple[TaskPlan, ...]) -> TaskPlan:
    """The move of a group that asks for most; the first of equals."""
    return max(moves, key=lambda move: (move.level.rank, move.helpers or 0))


def people(moves: tuple[TaskPlan, ...]) -> int | None:
    """The most people any move of a group takes; None where one of them is not to be done."""
    counts = [move.helpers for move in moves]
    return None if None in counts else max(count for count in counts if count is not None)


def _seen(move: TaskPlan) -> bool:
    return NOT_SEEN.isdisjoint(reason.rule for reason in move.reasons)
