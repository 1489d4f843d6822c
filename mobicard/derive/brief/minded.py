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
_OF_NO_USE: Mapping[Way, frozenset[str]] = {
    Way.LIFT: _OF_STANDING,
    Way.FLAT_LIFT: _OF_STANDING,
    Way.STANDING_AID: frozenset({"caution.knees"}),
    Way.BOARD: frozenset({"caution.knees"}),
}
"""Of one who is lifted or does not stand, cautions of standing; the machine's own stop says what then."""

_SAID_HERE: Mapping[tuple[str, Way], str] = {
    ("caution.knees", Way.PIVOT): "Legs may give: the nearer seat, bed or {seat}",
    ("caution.knees", Way.STAND): "Legs may give: the bed stays right behind",
}
"""Where the seat is in this way: a chair at the side is not right behind."""

_SIDED: Mapping[str, tuple[Precaution, Precaution]] = {
    "hip.posterior": (Precaution.HIP_POSTERIOR_LEFT, Precaution.HIP_POSTERIOR_RIGHT),
    "hip.anterior": (Precaution.HIP_ANTERIOR_LEFT, Precaution.HIP_ANTERIOR_RIGHT),
}
"""Cautions of a limb that the rule names without its side."""


def minded(plan: Plan, move: TaskPlan, way: Way, record: Record, seat: str) -> Iterator[BriefLine]:
    """Each caution of what was seen, worst harm first, with the rule and source it stands on."""
    for caution in told(plan, move):
        rule = next((one for one in RULES if caution in one.demand.cautions), None)
        if rule is None or rule.id not in _SAID_BETTER | _OF_NO_USE.get(way, frozenset()):
            yield _line(_said(caution, rule, way, record).format(seat=seat), rule, move)


def _said(caution: str, rule: Rule | None, way: Way, record: Record) -> str:
    if rule is None:
        return caution
    return _SAID_HERE.get((rule.id, way)) or _sided(caution, rule.id, record)


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
