"""Whether somebody has to look again, and whether the door still says what holds: queries, not flags."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.derive.model import Plan
from mobicard.ledger import StayState
from mobicard.rules.policy import Policy
from mobicard.ward.views import Door, Due


def due_of(state: StayState, plan: Plan, now: datetime, policy: Policy) -> tuple[Due, str]:
    """Whether the stay must be assessed again, and what the Board says of it."""
    overdue = _overdue(state, plan)
    if overdue:
        return Due.OVERDUE, overdue
    for what, moment in (("procedure", state.procedure_at), ("move", state.moved_at)):
        if moment and state.recorded_at and moment > state.recorded_at:
            return Due.DUE, f"reassess after the {what}"
    until = plan.valid_until
    assert until is not None
    if until - now <= timedelta(minutes=policy.shift.grace_min + policy.shift.lead_min):
        return Due.DUE, f"due by {until:%H:%M}"
    return Due.OK, f"until {until:%H:%M}"


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
