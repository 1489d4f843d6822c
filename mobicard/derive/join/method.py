"""The method: how the move is done, in words, from the task, the level and what the patient can do."""

from __future__ import annotations

from collections.abc import Collection
from functools import reduce
from operator import or_

from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules import words as w

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
FLAT = "flat lift or scoop, by people who can use it"
AFTER_A_FALL = "not before up from the floor and assessed again"


def method_for(
    task: Task, level: Level, said: int, side: str | None, equipment: Collection[Equipment]
) -> str:
    """How the move is done; ``side`` is the patient's stronger side where the orders set one apart."""
    if level is Level.REMAIN and task is not Task.FLOOR and w.on_the_floor.holds(said):
        return AFTER_A_FALL
    if level is Level.REMAIN and task is Task.WALK and not CLEARED_BY_SOMEBODY.holds(said):
        return NO_WALK_YET
    move = MOVES[task]
    flat = task is Task.FLOOR and w.lifted_flat.holds(said)
    lifted = FLAT if flat else move.lifted
    by_level = {Level.REMAIN: move.withheld, Level.HOIST: lifted, Level.POWER: move.powered}
    if level in by_level:
        return by_level[level]
    if move.in_one_line and w.any_spine.holds(said):
        return move.in_one_line
    if level in ALONE:
        return ALONE[level]
    with_it = (move.by_hand_with[item] for item in equipment if item in move.by_hand_with)
    to = f" towards the patient's {side} (stronger) side" if side else ""
    as_always = move.no_roll if move.no_roll and w.any_hip.holds(said) else move.by_hand
    return next(with_it, as_always.format(side=to))
