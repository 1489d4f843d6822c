"""Before any move: who examined the patient, what was found of each part, how they may be brought up."""

from __future__ import annotations

from mobicard.facts.words import Found, LiftAs
from mobicard.terminal.fall.asked import ME, TYPE_IT, UNKNOWN, Answers, Ask

CLEARED = Ask(
    "cleared_by",
    "Has somebody examined the patient and allowed the move?",
    (("y", "yes; then type who", TYPE_IT), ("n", "not yet: record it so far and stay", UNKNOWN)),
    "Without a name the patient is not moved.",
)
CHECKED = Ask(
    "cleared_by",
    "Who has examined the patient before any move?",
    (
        ("m", "I have, from head to foot", ME),
        ("y", "somebody else; then type who", TYPE_IT),
        ("n", "nobody yet: record it so far", UNKNOWN),
    ),
    "Not examined: only a flat lift or a scoop.",
)

_FOUND = (
    ("n", "nothing found", Found.CLEAR.value),
    ("s", "something is suspected", Found.SUSPECTED.value),
    ("c", "cannot say", Found.CANNOT_SAY.value),
)
_ORDERS = ("o", "hurt, and its orders are recorded", Found.ORDERED.value)
PARTS = (
    Ask("head", "The head?", _FOUND, "Wounds, swelling, pupils, awake as before."),
    Ask(
        "spine",
        "Neck and back?",
        (*_FOUND, _ORDERS),
        "Pain, tender in the midline, numb or weak in an arm or a leg.",
    ),
    Ask(
        "bones",
        "Hips and long bones?",
        (*_FOUND, _ORDERS),
        "Pain in groin, hip or thigh; a leg shorter or turned out; cannot lift it.",
    ),
)
"""The signs of a break or a spine injury are from memory of standard teaching; the parts: NPSA 2011."""
LIFT_AS = Ask(
    "lift_as",
    "How may the patient be brought up?",
    (
        ("o", "by own effort, hands only guide", LiftAs.GUIDED.value),
        ("l", "with the lift and a sling", LiftAs.SLING.value),
        ("f", "flat only: flat lift or scoop", LiftAs.FLAT.value),
    ),
    "Nothing found is no proof: half of broken hips are not suspected at first.",
)


def may_choose_how(answers: Answers) -> bool:
    """Whether there is a choice of how: with spine or bones not found clear it is flat."""
    return all(answers.get(name) == Found.CLEAR.value for name in ("spine", "bones"))


def last_of(answers: Answers) -> bool:
    """Whether every question of the examination is answered."""
    wanted = [ask.name for ask in PARTS] + (["lift_as"] if may_choose_how(answers) else [])
    return "cleared_by" in answers and all(name in answers for name in wanted)
