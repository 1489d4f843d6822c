"""The method: how the move is done, in words, from the task, the level and what the patient can do."""

from __future__ import annotations

from mobicard.facts.words import Level, Task
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
ALONE = {
    Level.SELF: "moves without help",
    Level.NEARBY: "moves alone, one close by, hands off",
}
BY_HAND = {
    Task.BOOST: "slide up on the sheet, on the count; knees bent",
    Task.TURN: "roll with a hand at shoulder and hip",
    Task.SIT_UP: "roll to the side, legs down as the trunk comes up",
    Task.STAND: "feet blocked, stand on the count",
    Task.CHAIR: "stand and pivot {side}",
    Task.TOILET: "stand and pivot {side}",
    Task.WALK: "walk, hands on the belt, chair behind",
    Task.STRETCHER: "slide across, stretcher a little lower, stop halfway",
    Task.FLOOR: "helped up through kneeling, chair behind",
}
ON_THE_SHEET = {Task.TURN: "roll with the sheet, on the count"}
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
POWERED = dict.fromkeys(Task, "powered standing aid")
LOG_ROLL = {
    Task.TURN: "log roll in one line, on the count from the head",
    Task.BOOST: "slide up in one line on the sheet, on the count from the head",
    Task.SIT_UP: "log roll to the side, then up in one piece",
    Task.STRETCHER: "slide across in one line, on the count from the head",
}
SEATED = "seated, over the transfer board"

_cannot_stand_over = w.no_weight | w.cannot_step


def method_for(task: Task, level: Level, said: int, side: str | None) -> str:
    """How the move is done; ``side`` is the patient's stronger side where the orders set one apart."""
    by_level = {Level.REMAIN: STAY, Level.HOIST: LIFTED, Level.POWER: POWERED}
    if level in by_level:
        return by_level[level][task]
    if task in LOG_ROLL and w.any_spine.holds(said):
        return LOG_ROLL[task]
    if level in ALONE:
        return ALONE[level]
    return _hands_on(task, level, said, side)


def _hands_on(task: Task, level: Level, said: int, side: str | None) -> str:
    if task in (Task.CHAIR, Task.TOILET):
        if _cannot_stand_over.holds(said):
            return SEATED
        return BY_HAND[task].format(side=f"to the {side} side" if side else "to the stronger side")
    if task is Task.TURN and level is Level.TEAM:
        return ON_THE_SHEET[task]
    return BY_HAND[task]
