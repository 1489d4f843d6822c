"""The line under the level word, the same on every page and screen: what the level means for this patient."""

from __future__ import annotations

from mobicard.derive.model import Plan
from mobicard.facts.words import Equipment, Level, Limb, WeightBearing
from mobicard.scheme.scheme import Scheme

DECIDING = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms", "help.chair")


def sub_line(plan: Plan, scheme: Scheme) -> str:
    """The level's own line, or what stands in its place: why nobody moves, or that no leg bears weight."""
    fall = plan.after_fall
    if fall is not None and fall.state == "do_not_move":
        return scheme.remain.after_fall
    if plan.shown_level is Level.REMAIN and (ordered := _by_order(plan)):
        return ordered
    if plan.shown_level is Level.REMAIN and (plan.expired or not_assessed(plan)):
        return scheme.remain.not_assessed
    if plan.shown_level is Level.REMAIN and fall is not None:
        return fall.says[:1].lower() + fall.says[1:]  # on the floor or just up from it: not “stay in bed”
    if plan.shown_level is Level.TEAM and (_legs_bear_nothing(plan) or _seated(plan)):
        return scheme.seated
    return scheme.looks[plan.shown_level].sub_line


BY_ORDER = {
    "spine.not_up": "spine not cleared: stays lying",
    "bed_rest.stay": "bed rest ordered",
    "head_flat.stay": "flat in bed, by order",
    "groin.not_up": "flat in bed: groin site",
    "lines.femoral_pump": "stays in bed: pump in the groin",
    "lines.lumbar_drain_open": "stays in bed: lumbar drain open",
    "vitals.outside_limits": "stays in bed: a reading is outside its limits",
}
"""What keeps a patient in bed whoever has or has not looked: said before “not assessed”."""


def _by_order(plan: Plan) -> str:
    fired = {reason.rule for reason in plan.headline.reasons}
    return next((says for rule, says in BY_ORDER.items() if rule in fired), "")


def not_assessed(plan: Plan) -> tuple[str, ...]:
    """The facts the headline move hangs on that nobody has assessed."""
    return tuple(name for name in plan.not_assessed if name in DECIDING)


def _legs_bear_nothing(plan: Plan) -> bool:
    barred = {
        limit.limb
        for limit in plan.weight_bearing
        if limit.limit_kg == 0 or limit.status is WeightBearing.NWB
    }
    return barred >= {limb for limb in Limb if limb.is_leg}


def _seated(plan: Plan) -> bool:
    """Moved over a board, which asks nothing of the legs, whatever the reason."""
    return Equipment.SEATED_TRANSFER_AID in plan.headline.equipment
