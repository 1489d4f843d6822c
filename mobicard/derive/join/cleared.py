"""Who or what clears a move that nobody makes now: by the rules that hold it back, the gravest first."""

from __future__ import annotations

from mobicard.derive.model import TaskPlan
from mobicard.rules.protocol import HELD

AFTER_EXAMINATION = {"fall.assess_again", "fall.injury_open"}
EXAMINED = frozenset(rule for rule in HELD if rule.startswith("fall.")) - AFTER_EXAMINATION
EXAMINATION = "an examination after the fall that says clear, by name; then a look"
"""Whatever else holds a move back is looked at after that."""

AWAKE = "being awake, at a new look"
ABLE = "being able to, at a new look"
LOOK = "a look at this patient: you, or ask who has"

BY_RULE = (
    (("fall.injury_open",), "the injury said clear by name, or its orders recorded; then a look"),
    (("fall.assess_again",), "a look after the fall: you, or ask who has"),
    (("spine.",), "whoever says the spine clear, by name"),
    (("bed_rest.", "head_flat.", "groin.", "stand.orders", "walk.orders"), "whoever ends the order, by name"),
    (("lines.block",), "both legs raised straight when tested"),
    (("lines.lumbar",), "the lumbar drain clamped, and recorded so"),
    (("lines.",), "the pump out, or an order, by name"),
    (("vitals.",), "a reading within its limits, or whoever says clear, by name"),
    (("operation.",), "a look after the operation"),
    (("leg_test.",), "the leg tested again, and passed"),
    (("whom.",), "whoever treats children: these tables are for adults"),
    (("override.",), "whoever set the level, or its lapse"),
    (("sit_up.not_awake", "chair.not_awake", "floor.not_awake", "stand.drowsy", "walk.drowsy"), AWAKE),
    (("walk.",), ABLE),
    (("unknown.", "time."), LOOK),
)
"""For each rule that holds a move back; “walk.” last of its kind, for what the patient cannot do yet."""


def cleared_by(move: TaskPlan) -> tuple[str, ...]:
    """All that has to happen before the move is made; nothing where it is made."""
    if move.helpers is not None:
        return ()
    holding = {reason.rule for reason in move.reasons if reason.rule in HELD}
    if holding & EXAMINED:
        return (EXAMINATION,)
    found = dict.fromkeys(says for heads, says in BY_RULE if any(rule.startswith(heads) for rule in holding))
    return tuple(says for says in found if says != LOOK or ABLE not in found)
