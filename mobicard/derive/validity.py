"""Until when an assessment holds: shift ends by the ward's wall clock, which daylight saving cannot shift."""

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


def valid_until(assessed_at: datetime, policy: Policy) -> datetime:
    """When an assessment stops holding: the end of its shift (or shifts), plus the grace.

    One made within lead_min before a shift starts counts for the coming shift.
    """
    end = next_start(assessed_at + timedelta(minutes=policy.shift.lead_min), policy)
    for _ in range(policy.shift.validity_shifts - 1):
        end = next_start(end, policy)
    return end + timedelta(minutes=policy.shift.grace_min)


def next_start(moment: datetime, policy: Policy) -> datetime:
    """The first shift start after the moment, which is the end of the moment's shift."""
    starts = sorted(policy.shift.starts)
    today = moment.date()
    for start in starts:
        at = datetime.combine(today, start)
        if at > moment:
            return at
    return datetime.combine(today + timedelta(days=1), starts[0])
