"""The way a move is done: what the plan's level and kit come to, as one word that rules of a brief name."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from mobicard.derive.join.method import FLAT
from mobicard.derive.model import TaskPlan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level, Precaution, Task

WALKERS = frozenset(
    {Equipment.FRONT_WHEELED_WALKER, Equipment.PLATFORM_WALKER, Equipment.FOUR_WHEELED_WALKER}
)
"""Frames that stand before the patient."""

STANDING_WITH = (*sorted(WALKERS), Equipment.CRUTCHES)
"""Aids somebody stands up with."""


class Way(StrEnum):
    """How the move is done."""

    NOT_NOW = "not now"
    ALONE = "alone"
    ROLL = "roll"
    LOG_ROLL = "log roll"
    BOOST = "boost"
    IN_LINE = "up in one line"
    SIT_UP = "sit up"
    LOG_SIT = "sit up in one piece"
    STAND = "stand"
    PIVOT = "stand and pivot"
    BOARD = "over the board"
    WALK = "walk"
    PUSH_BACK = "back in the chair"
    CHAIR_SHEET = "up on the sheet in the chair"
    SLIDE = "slide across"
    KNEEL = "up through kneeling"
    STANDING_AID = "standing aid"
    LIFT = "full-body lift"
    FLAT_LIFT = "flat lift"


TITLES = {
    Way.LOG_ROLL: "Log roll, as one piece",
    Way.IN_LINE: "Up in bed, as one piece",
    Way.LOG_SIT: "Log roll and sit up",
}
"""What a move is called that is done in another way than its name says."""

_BY_HAND = {
    Task.BOOST: Way.BOOST,
    Task.TURN: Way.ROLL,
    Task.SIT_UP: Way.SIT_UP,
    Task.STAND: Way.STAND,
    Task.CHAIR: Way.PIVOT,
    Task.UP_IN_CHAIR: Way.PUSH_BACK,
    Task.TOILET: Way.PIVOT,
    Task.WALK: Way.WALK,
    Task.STRETCHER: Way.SLIDE,
    Task.FLOOR: Way.KNEEL,
}
_IN_ONE_LINE = {Task.BOOST: Way.IN_LINE, Task.TURN: Way.LOG_ROLL, Task.SIT_UP: Way.LOG_SIT}
SPINES = {Precaution.SPINAL, Precaution.SPINAL_CERVICAL, Precaution.SPINAL_CLEARED}


def way_of(move: TaskPlan, record: Record) -> Way:
    """How this move is done by its plan."""
    if move.helpers is None or move.level is Level.REMAIN:
        return Way.NOT_NOW
    if move.level is Level.HOIST:
        return Way.FLAT_LIFT if move.method == FLAT else Way.LIFT
    if move.level is Level.POWER:
        return Way.STANDING_AID
    if SPINES & set(record.precautions) and MOVES[move.task].in_one_line:
        return _IN_ONE_LINE.get(move.task, _BY_HAND[move.task])
    if move.level in (Level.SELF, Level.NEARBY):
        return Way.ALONE
    return _with_kit(move)


def _with_kit(move: TaskPlan) -> Way:
    if Equipment.SEATED_TRANSFER_AID in move.equipment and move.task in (Task.CHAIR, Task.TOILET):
        return Way.BOARD
    if move.task is Task.UP_IN_CHAIR and Equipment.FRICTION_REDUCING_SHEET in move.equipment:
        return Way.CHAIR_SHEET
    return _BY_HAND[move.task]


W = Way
IN_BED = (W.ROLL, W.LOG_ROLL, W.BOOST, W.IN_LINE)
AT_BED_HEIGHT = (*IN_BED, W.SLIDE)
"""Ways in which helpers stand over the bed."""

FROM_THE_EDGE = (W.STAND, W.PIVOT, W.BOARD)
ON_THE_FEET = (W.STAND, W.PIVOT, W.WALK)
SITTING_UP = (W.SIT_UP, W.LOG_SIT)
COUNTED_AT_THE_HEAD = (W.LOG_ROLL, W.IN_LINE, W.SLIDE, W.FLAT_LIFT)
TO_THE_CHAIR = (W.PIVOT, W.BOARD)
BY_MACHINE = (W.STANDING_AID, W.LIFT, W.FLAT_LIFT)
IN_THE_CHAIR = (W.PUSH_BACK, W.CHAIR_SHEET)
BY_HAND = (*AT_BED_HEIGHT, *SITTING_UP, *ON_THE_FEET, W.BOARD, *IN_THE_CHAIR, W.KNEEL)
MOVED = (*BY_HAND, *BY_MACHINE)
SEATED_BY: Mapping[Way, tuple[Task, ...]] = {
    W.LIFT: (Task.SIT_UP, Task.STAND, Task.CHAIR, Task.TOILET),
    W.STANDING_AID: (Task.CHAIR, Task.TOILET),
}
"""Moves that a machine ends in a seat: nobody is left at the edge."""


def ends_in_a_seat(way: Way, task: Task) -> bool:
    """Whether a machine puts the patient into a seat in this move."""
    return task in SEATED_BY.get(way, ())
