"""The plan's own cautions as a brief says them: with their side, and as this way of moving has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from mobicard.derive.brief.values import BriefLine, Phase, source_text
from mobicard.derive.brief.ways import Way
from mobicard.derive.join.cautions import told
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.words import Precaution
from mobicard.rules.protocol import RULES, harm
from mobicard.rules.rule import Rule

_SAID_BETTER = frozenset({"in_chair.partly"})
"""Cautions that a brief says itself: which brakes."""

_OF_STANDING = frozenset({"caution.knees", "caution.edge_of_bed"})
_KNEES = frozenset({"caution.knees", "weak_side.left_knee", "weak_side.right_knee"})
_OF_NO_USE: Mapping[Way, frozenset[str]] = {
    Way.LIFT: _OF_STANDING | {"in_chair.cannot", "in_chair.reclined"},
    Way.FLAT_LIFT: _OF_STANDING,
    Way.STANDING_AID: frozenset({"caution.knees"}),
    Way.BOARD: frozenset({"caution.knees"}),
    Way.STAND: _KNEES,
    Way.PIVOT: _KNEES,
}
"""What the brief says better itself: on the feet who guards which knee, and at stop the nearer seat."""

_SIDED: Mapping[str, tuple[Precaution, Precaution]] = {
    "hip.posterior": (Precaution.HIP_POSTERIOR_LEFT, Precaution.HIP_POSTERIOR_RIGHT),
    "hip.anterior": (Precaution.HIP_ANTERIOR_LEFT, Precaution.HIP_ANTERIOR_RIGHT),
}
"""Cautions of a limb that the rule names without its side."""


def minded(plan: Plan, move: TaskPlan, way: Way, record: Record) -> Iterator[BriefLine]:
    """Each caution of what was seen, worst harm first, with the rule and source it stands on."""
    for caution in told(plan, move):
        rule = next((one for one in RULES if caution in one.demand.cautions), None)
        if rule is None or rule.id not in _SAID_BETTER | _OF_NO_USE.get(way, frozenset()):
            yield _line(_sided(caution, rule.id if rule else "", record), rule, move)


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
