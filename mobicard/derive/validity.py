"""Until when an assessment holds: shift ends by the ward's wall clock."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from mobicard.rules.policy import Policy


def wall(moment: datetime, policy: Policy) -> datetime:
    """The moment on the ward's clock, without a zone: converted if the policy names the ward's zone."""
    if moment.tzinfo is None:
        return moment
    if policy.shift.timezone:
        moment = moment.astimezone(ZoneInfo(policy.shift.timezone))
    return moment.replace(tzinfo=None)


def shift_end(moment: datetime, policy: Policy) -> datetime:
    """The end of the shift the moment counts for; within lead_min of a start it counts for the coming shift."""
    first = moment + timedelta(minutes=policy.shift.lead_min)
    return _next_start(max(moment, first), policy)


def valid_until(assessed_at: datetime, policy: Policy) -> datetime:
    """When the assessment stops holding: the end of its shift (or shifts), plus the grace."""
    end = shift_end(assessed_at, policy)
    for _ in range(policy.shift.validity_shifts - 1):
        end = _next_start(end, policy)
    return end + timedelta(minutes=policy.shift.grace_min)


def _next_start(moment: datetime, policy: Policy) -> datetime:
    """The first shift start after the moment, by the wall clock."""
    for day in (moment.date(), moment.date() + timedelta(days=1)):
        for start in sorted(policy.shift.starts):
            at = datetime.combine(day, start)
            if at > moment:
                return at
    raise AssertionError("a policy has at least one shift start")
