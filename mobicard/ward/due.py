"""Whether somebody has to look again, and whether the door still says what holds: queries, not flags."""

from __future__ import annotations

from collections.abc import Callable, Container
from datetime import datetime, timedelta

from mobicard.derive.model import Plan
from mobicard.derive.over_time.standing_orders import due_for_a_look
from mobicard.facts.moves import MOVES
from mobicard.facts.text import hour_says
from mobicard.facts.words import Task
from mobicard.hands.ticks import Went
from mobicard.ledger import StayState
from mobicard.rules.policy import Policy
from mobicard.ward.views import Door, Due

WardTime = Callable[[datetime], datetime]


def due_of(
    state: StayState, plan: Plan, now: datetime, policy: Policy, ward_time: WardTime
) -> tuple[Due, str]:
    """Whether the stay must be assessed again, and what the Board says of it."""
    head = plan.head_observations
    due, says = _look_due(state, plan, now, policy, ward_time)
    if head is None or state.unreadable:
        return due, says
    late = head.late or due is Due.OVERDUE
    return Due.OVERDUE if late else Due.DUE, f"{head.brief}; {says}"


def _look_due(
    state: StayState, plan: Plan, now: datetime, policy: Policy, ward_time: WardTime
) -> tuple[Due, str]:
    overdue = _overdue(state, plan, now)
    if overdue:
        return Due.OVERDUE, overdue
    order = due_for_a_look(state.record, now) if state.record else None
    if order is not None and order.until is not None:
        return Due.DUE, f"look: {order.what.replace('_', ' ')} to {hour_says(order.until, now)}"
    since = unseen_since(state, ward_time)
    for what in ("procedure", "move"):
        if what in since:
            return Due.DUE, f"reassess after the {what}"
    more = took_more(state)
    if more:
        return Due.DUE, more
    until = plan.valid_until
    assert until is not None
    if until - now <= timedelta(minutes=policy.shift.grace_min + policy.shift.lead_min):
        return Due.DUE, f"due by {hour_says(until, now)}"
    return Due.OK, f"until {hour_says(until, now)}"


def took_more(state: StayState) -> str:
    """That a move took more help than planned since somebody last looked, in words; empty where none did."""
    since = state.recorded_at
    for tick in reversed(state.ticks):
        if tick.get("went") == Went.MORE_HELP.value and (since is None or tick["at"] > since):
            took = f"{tick['helpers']}" if tick.get("helpers") else f"{tick.get('help', 'more')} help"
            return f"look: {MOVES[Task(tick['task'])].says_short} took {took}"
    return ""


def unseen_since(state: StayState, ward_time: WardTime) -> frozenset[str]:
    """What happened (move, procedure, fall) since somebody last looked at the patient.

    The order saved decides, not the clock, which may jump back. But a record saved later need not be a look:
    a judged level or a correction keeps the assessment's time, which is written to the minute.
    """
    if state.recorded_at is None:
        return frozenset()
    looked = state.record.assessed_at if state.record else None
    happened = {
        "move": (state.moved_version, state.moved_at),
        "procedure": (state.procedure_version, state.procedure_at),
        "fall": (state.fall_version, state.fall_at),
    }
    noted = {"procedure"} if state.record and state.record.operation else set()
    return frozenset(noted) | frozenset(
        what
        for what, (version, at) in happened.items()
        if version > (state.record_version or 0)
        or (at is not None and looked is not None and ward_time(at).replace(second=0) > looked)
    )


def _overdue(state: StayState, plan: Plan, now: datetime) -> str | None:
    if state.unreadable:
        return state.unreadable
    if state.record is None or plan.valid_until is None:
        return "not assessed yet"
    if plan.expired and plan.valid_until > now:
        return "ahead of the clock"
    if plan.expired:
        return f"overdue since {hour_says(plan.valid_until, now)}"
    return "reassess after the fall" if plan.after_fall is not None else None


def door_of(state: StayState, codes: Container[str], now: datetime) -> Door:
    """How the card on the door stands to what it should say; one whose last box has ended is out of date."""
    lasts = state.hung_lasts
    full = lasts is not None and now > datetime.fromisoformat(lasts)
    if state.hung_code in codes and not full:
        return Door.CURRENT
    waits = state.hung_at is None or (state.prepared_at is not None and state.prepared_at > state.hung_at)
    if state.prepared_code in codes and waits:
        return Door.PREPARED
    return Door.OUT_OF_DATE if state.hung_code else Door.NONE
