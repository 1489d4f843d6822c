"""Which bed is gravest: fallen, not looked at, out of date, stays in bed, lifts, two or more, the rest."""

from __future__ import annotations

from enum import IntEnum

from mobicard.derive.handing_over.people import people_of
from mobicard.derive.model import Plan
from mobicard.facts.words import Equipment, Level
from mobicard.rules.by_patient.unknown import RULES as UNKNOWN
from mobicard.rules.protocol import HELD

LIFTS = (Equipment.FULL_BODY_LIFT, Equipment.POWERED_STANDING_AID)


class Gravity(IntEnum):
    """The group a bed stands in on the first line of a handoff, the gravest first."""

    FALLEN = 0
    UNSEEN = 1
    EXPIRED = 2
    STAYS = 3
    LIFT = 4
    MANY = 5
    REST = 6


def gravity_of(plan: Plan) -> Gravity:
    """The gravest group of this plan."""
    if plan.after_fall is not None:
        return Gravity.FALLEN
    if plan.assessed_at is None:
        return Gravity.UNSEEN
    if plan.expired:
        return Gravity.EXPIRED
    if plan.shown_level is Level.REMAIN:
        return Gravity.UNSEEN if _only_unseen(plan) else Gravity.STAYS
    if lift_of(plan) is not None:
        return Gravity.LIFT
    return Gravity.MANY if people_of(plan).most > 1 else Gravity.REST


HELD_UNSEEN = frozenset(rule.id for rule in UNKNOWN if rule.demand.level is Level.REMAIN)
"""The rules that keep a patient in bed only because nobody has looked."""


def _only_unseen(plan: Plan) -> bool:
    holding = {reason.rule for reason in plan.headline.reasons} & HELD
    return bool(holding) and holding <= HELD_UNSEEN


def lift_of(plan: Plan) -> Equipment | None:
    """The machine that takes this patient out of bed."""
    return next((lift for lift in LIFTS if lift in plan.headline.equipment), None)


def sickest_first(plan: Plan) -> tuple[int, bool, int, int]:
    """A sort key: the gravest group, who is not to be moved, then the highest level, then the most people."""
    may_be_moved = plan.after_fall is None or plan.after_fall.state != "do_not_move"
    return gravity_of(plan), may_be_moved, -plan.shown_level.rank, -people_of(plan).most
