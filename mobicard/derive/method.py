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
    Task.FLOOR: "not moved until the nurse clears it",
}
ALONE = {Level.SELF: "moves without help", Level.NEARBY: "moves alone, helper close by, hands off"}
BY_HAND = {
    Task.BOOST: "bed flat and at elbow height, slide on the sheet on the count",
    Task.TURN: "roll with a hand at shoulder and hip, on the count",
    Task.SIT_UP: "roll to the side, legs down as the trunk comes up",
    Task.STAND: "stand on the count, feet blocked, hands on the belt",
    Task.CHAIR: "stand and pivot to the stronger side",
    Task.TOILET: "stand and pivot to the stronger side",
    Task.WALK: "walk with hands on the belt, on the weaker side",
    Task.STRETCHER: "slide across lying, stretcher a little lower, stop halfway",
    Task.FLOOR: "helped up, chair behind",
}
LIFTED = {
    Task.BOOST: "full-body lift with repositioning sling",
    Task.TURN: "full-body lift with repositioning sling",
    Task.SIT_UP: "full-body lift to a reclining chair",
    Task.STAND: "not to stand: full-body lift",
    Task.CHAIR: "full-body lift",
    Task.TOILET: "full-body lift to a commode",
    Task.STRETCHER: "full-body lift with supine sling",
    Task.FLOOR: "full-body lift with supine sling",
}
SEATED = "slide over seated on the transfer board"
LOG_ROLL = "log roll in one line, on the count of the one at the head"


def method_for(task: Task, level: Level, said: int) -> str:
    """How the move is done."""
    if level is Level.REMAIN:
        return STAY[task]
    if level in ALONE:
        return ALONE[level]
    if level is Level.HOIST:
        return LIFTED[task]
    if level is Level.POWER:
        return "powered standing aid"
    if task in (Task.CHAIR, Task.TOILET) and (w.bears_no_weight | w.cannot_step).holds(said):
        return SEATED
    if task is Task.TURN and w.any_spine.holds(said):
        return LOG_ROLL
    return BY_HAND[task]
