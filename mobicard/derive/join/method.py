"""The method: how the move is done, in words, from the task, the level and what the patient can do."""

from __future__ import annotations

from collections.abc import Collection
from functools import reduce
from operator import or_

from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules import words as w

STAY = {
    Task.BOOST: "not until the nurse clears it",
    Task.TURN: "not until the nurse clears it",
    Task.SIT_UP: "stays lying until cleared",
    Task.STAND: "no standing until cleared",
    Task.CHAIR: "stays in bed until cleared",
    Task.TOILET: "bedpan or urinal in bed until cleared",
    Task.WALK: "no walking until cleared",
    Task.STRETCHER: "not until the nurse clears it",
    Task.FLOOR: "not moved until cleared",
}
NO_WALK_YET = "no walking for now"
"""Of one who cannot walk, or not with what is at hand: nobody has to clear that."""

_ORDERS = (
    Precaution.BED_REST,
    Precaution.HEAD_FLAT,
    Precaution.FEMORAL_SHEATH,
    Precaution.GROIN_LEFT,
    Precaution.GROIN_RIGHT,
)
CLEARED_BY_SOMEBODY = reduce(
    or_,
    (*(w.PRECAUTION[order] for order in _ORDERS), *w.UNKNOWN.values(), *w.NOT_DONE.values()),
    w.unstable_spine | w.outside_limits | w.fell | w.out_of_date | w.RAISED_TO[Level.REMAIN],
)
"""What ends only when somebody says so: an order, a reading, a fall, a look still missing, own judgement."""

ALONE = {
    Level.SELF: "moves without help",
    Level.NEARBY: "moves alone, one close by, hands off",
}
BY_HAND = {
    Task.BOOST: "on the count, knees bent, the patient pushes",
    Task.TURN: "roll with a hand at shoulder and hip",
    Task.SIT_UP: "roll to the side, legs down as the trunk comes up",
    Task.STAND: "feet blocked, stand on the count",
    Task.CHAIR: "stand and pivot {side}",
    Task.TOILET: "stand and pivot {side}",
    Task.WALK: "walk, an arm at the waist, chair behind",
    Task.STRETCHER: "slide across, stretcher a little lower, stop halfway",
    Task.FLOOR: "helped up through kneeling, chair behind",
}
WITH: dict[tuple[Task, Equipment], str] = {
    (Task.BOOST, Equipment.FRICTION_REDUCING_SHEET): "slide up on the sheet, on the count; knees bent",
    (Task.TURN, Equipment.FRICTION_REDUCING_SHEET): "roll with the sheet, on the count",
    (Task.WALK, Equipment.GAIT_BELT): "walk, hands on the belt, chair behind",
    (Task.CHAIR, Equipment.SEATED_TRANSFER_AID): "seated, over the transfer board",
    (Task.TOILET, Equipment.SEATED_TRANSFER_AID): "seated, over the transfer board",
}
"""The method names a thing only where the plan has it."""

LIFTED = {
    Task.BOOST: "full-body lift, repositioning sling",
    Task.TURN: "full-body lift, repositioning sling",
    Task.SIT_UP: "not at the edge: full-body lift to a reclining chair",
    Task.STAND: "not to stand: full-body lift",
    Task.CHAIR: "full-body lift",
    Task.TOILET: "full-body lift to a commode",
    Task.WALK: "not to walk: full-body lift",
    Task.STRETCHER: "full-body lift, supine sling",
    Task.FLOOR: "full-body lift, supine sling",
}
POWERED = {**dict.fromkeys(Task, "powered standing aid"), Task.WALK: "not to walk: powered standing aid"}
LOG_ROLL = {
    Task.TURN: "log roll in one line, on the count from the head",
    Task.BOOST: "moved up in one line, on the count from the head",
    Task.SIT_UP: "log roll to the side, then up in one piece",
    Task.STRETCHER: "slide across in one line, on the count from the head",
}
AFTER_A_FALL = "not before up from the floor and assessed again"


def method_for(
    task: Task, level: Level, said: int, side: str | None, equipment: Collection[Equipment]
) -> str:
    """How the move is done; ``side`` is the patient's stronger side where the orders set one apart."""
    if level is Level.REMAIN and task is not Task.FLOOR and w.on_the_floor.holds(said):
        return AFTER_A_FALL
    if level is Level.REMAIN and task is Task.WALK and not CLEARED_BY_SOMEBODY.holds(said):
        return NO_WALK_YET
    by_level = {Level.REMAIN: STAY, Level.HOIST: LIFTED, Level.POWER: POWERED}
    if level in by_level:
        return by_level[level][task]
    if task in LOG_ROLL and w.any_spine.holds(said):
        return LOG_ROLL[task]
    if level in ALONE:
        return ALONE[level]
    with_it = (WITH[task, item] for item in equipment if (task, item) in WITH)
    to = f"to the {side} side" if side else "to the stronger side"
    return next(with_it, BY_HAND[task].format(side=to))
