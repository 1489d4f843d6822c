"""Whether somebody has to look again, and whether the door still says what holds: queries, not flags."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from mobicard.derive.model import Plan
from mobicard.ledger import StayState
from mobicard.rules.policy import Policy
from mobicard.ward.views import Door, Due

WardTime = Callable[[datetime], datetime]


def due_of(
    state: StayState, plan: Plan, now: datetime, policy: Policy, ward_time: WardTime
) -> tuple[Due, str]:
    """Whether the stay must be assessed again, and what the Board says of it."""
    overdue = _overdue(state, plan)
    if overdue:
        return Due.OVERDUE, overdue
    for what, moment in (("procedure", state.procedure_at), ("move", state.moved_at)):
        if moment and _unseen_since(state, ward_time(moment), ward_time):
            return Due.DUE, f"reassess after the {what}"
    until = plan.valid_until
    assert until is not None
    if until - now <= timedelta(minutes=policy.shift.grace_min + policy.shift.lead_min):
        return Due.DUE, f"due by {until:%H:%M}"
    return Due.OK, f"until {until:%H:%M}"


def unseen_since(moment: datetime, assessed_at: datetime | None, recorded_at: datetime) -> bool:
    """Whether nobody has looked at the patient since a moment, all in ward time.

    A record saved later need not be a look: a judged level or a correction keeps the assessment's time, which
    is written to the minute.
    """
    looked = assessed_at or recorded_at
    return moment > recorded_at or moment.replace(second=0, microsecond=0) > looked


def _unseen_since(state: StayState, moment: datetime, ward_time: WardTime) -> bool:
    if state.recorded_at is None:
        return False
    assessed_at = state.record.assessed_at if state.record else None
    return unseen_since(moment, assessed_at, ward_time(state.recorded_at))


def _overdue(state: StayState, plan: Plan) -> str | None:
    if state.unreadable:
        return state.unreadable
    if state.record is None or plan.valid_until is None:
        return "not assessed yet"
    if plan.expired:
        return f"overdue since {plan.valid_until:%H:%M}"
    return "reassess after the fall" if plan.after_fall is not None else None


def door_of(state: StayState, plan: Plan) -> Door:
    """How the card on the door stands to the plan."""
    if state.hung_code == plan.code:
        return Door.CURRENT
    if state.prepared_code == plan.code:
        return Door.PREPARED
    return Door.OUT_OF_DATE if state.hung_code else Door.NONE
