"""The plan's own cautions as a brief says them: with their side, and as this way of moving has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from mobicard.derive.brief.looked_up import may_lie_flat
from mobicard.derive.brief.values import BriefLine, Phase, source_text
from mobicard.derive.brief.ways import AT_BED_HEIGHT, Way
from mobicard.derive.join.cautions import as_ruled
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.words import Precaution
from mobicard.rules.protocol import RULES, harm
from mobicard.rules.rule import Rule

_SAID_BETTER = frozenset({"in_chair.partly", "hip.raised_seat", "lines.airway"})
"""Cautions that a brief says itself: which brakes, the height with a hip limit, who holds the tube."""

SAID_SHORT = {
    "lines.clear": "Tubes and lines: slack first",
    "lines.arterial": "Arterial line: in sight, bleeds fast",
}
"""Cautions in fewer words: who watches the lines stands beside the name."""

NEVER_FLAT = {
    **SAID_SHORT,
    "lines.feeding": "Feeding: stop the pump first",
    "head_up.keep": "Head up 30 degrees, also while moving",
}
"""The same of one who is not laid flat."""

_AT_A_BACKREST = {"head_up.keep": "Backrest 30 degrees, also while moving"}
"""“Keep the head up” was read as work for whoever holds it."""

_OF_STANDING = frozenset({"caution.knees", "caution.edge_of_bed"})
_KNEES = frozenset({"caution.knees", "weak_side.left_knee", "weak_side.right_knee"})
_HEAD_HELD = frozenset({"spine.log_roll_neck"})
_LYING = frozenset({"pregnancy.tilt"})
_OF_NO_USE: Mapping[Way, frozenset[str]] = {
    Way.LIFT: _OF_STANDING | _HEAD_HELD | {"in_chair.cannot", "in_chair.reclined", "floor.default_way"},
    Way.FLAT_LIFT: _OF_STANDING | _HEAD_HELD | {"floor.default_way"},
    Way.LOG_ROLL: _HEAD_HELD | {"spine.in_line"},
    Way.IN_LINE: _HEAD_HELD | {"spine.in_line"},
    Way.SLIDE: _HEAD_HELD,
    Way.STANDING_AID: _LYING | {"caution.knees"},
    Way.BOARD: _LYING | {"caution.knees"},
    Way.STAND: _LYING | _KNEES,
    Way.PIVOT: _LYING | _KNEES,
    Way.WALK: _LYING,
    Way.PUSH_BACK: _LYING,
}
"""What the brief says better itself: on the feet who guards which knee, and at stop the nearer seat; how one
lies who does not; that it is a lift; who holds the head; that all goes as one piece."""

_SIDED: Mapping[str, tuple[Precaution, Precaution]] = {
    "hip.posterior": (Precaution.HIP_POSTERIOR_LEFT, Precaution.HIP_POSTERIOR_RIGHT),
    "hip.anterior": (Precaution.HIP_ANTERIOR_LEFT, Precaution.HIP_ANTERIOR_RIGHT),
}
"""Cautions of a limb that the rule names without its side."""


def minded(plan: Plan, move: TaskPlan, way: Way, record: Record) -> Iterator[BriefLine]:
    """Each caution of what was seen, worst harm first, with the rule and source it stands on."""
    short = SAID_SHORT if may_lie_flat(record) else NEVER_FLAT
    short = {**short, **_AT_A_BACKREST} if way in AT_BED_HEIGHT else short
    for ruled, caution in as_ruled(plan, move):
        rule = next((one for one in RULES if ruled in one.demand.cautions), None)
        if rule is None or rule.id not in _SAID_BETTER | _OF_NO_USE.get(way, frozenset()):
            says = short.get(rule.id if rule else "", "") or caution
            yield _line(_sided(says, rule.id if rule else "", record), rule, move)


def _sided(caution: str, rule: str, record: Record) -> str:
    """The caution of a hip with which one it is."""
    left, right = (item in record.precautions for item in _SIDED.get(rule, ()) or (None, None))
    which = "Both hips" if left and right else "Left hip" if left else "Right hip" if right else ""
    return caution.replace("Hip", which, 1) if which and caution.startswith("Hip") else caution


def _line(says: str, rule: Rule | None, move: TaskPlan) -> BriefLine:
    reason = next((one for one in move.reasons if rule and one.rule == rule.id), None)
    return BriefLine(
        Phase.MIND,
        f"{says}.",
        rule.id if rule else "plan",
        reason.source if reason else source_text("plan"),
        dict(reason.because) if reason else {},
        harm=min(harm(rule) if rule else 2, 1) - 1,
    )
