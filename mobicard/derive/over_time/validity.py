"""Until when an assessment holds: shift ends by the ward's wall clock, which daylight saving cannot shift."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from mobicard.rules.policy import Policy, ShiftPolicy


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


def later_ends(until: datetime, policy: Policy, count: int) -> tuple[datetime, ...]:
    """The ends of so many assessments after the one that holds until then, each made in time."""
    ends, grace = [], timedelta(minutes=policy.shift.grace_min)
    for _ in range(count):
        for _ in range(policy.shift.validity_shifts):
            until = next_start(until, policy) + grace
        ends.append(until)
    return tuple(ends)


def next_start(moment: datetime, policy: Policy) -> datetime:
    """The first shift start after the moment, which is the end of the moment's shift."""
    return start_after(moment, policy.shift)


def shift_start(now: datetime, shift: ShiftPolicy) -> datetime:
    """Start of the shift that ``now`` lies in (ward time); the lead time belongs to the coming shift."""
    moment = now + timedelta(minutes=shift.lead_min)
    starts = sorted(shift.starts)
    past = [start for start in (datetime.combine(moment.date(), at) for at in starts) if start <= moment]
    return past[-1] if past else datetime.combine(moment.date() - timedelta(days=1), starts[-1])


def shift_opens(now: datetime, shift: ShiftPolicy) -> datetime:
    """From when on what is said counts for the shift that ``now`` lies in: its lead time belongs to it."""
    return shift_start(now, shift) - timedelta(minutes=shift.lead_min)


def shift_began(now: datetime, shift: ShiftPolicy) -> datetime:
    """The last shift start up to ``now`` (ward time): before it, the coming shift has not begun."""
    return shift_start(now - timedelta(minutes=shift.lead_min), shift)


def handoff_since(now: datetime, shift: ShiftPolicy) -> datetime:
    """From when on the reader of a handoff was away: the start of the shift that is ending.

    It stays that until the coming shift has begun and its handoff is over (the grace), so that what happened
    in the night is there for whoever reads at ten to seven and at ten past.
    """
    began = shift_began(now, shift)
    if now - began >= timedelta(minutes=shift.grace_min):
        return began
    return shift_began(began - timedelta(minutes=1), shift)


def shift_before(start: datetime, shift: ShiftPolicy) -> datetime:
    """Start of the shift before the one that starts at ``start``."""
    return shift_start(start - timedelta(minutes=shift.lead_min + 1), shift)


def start_after(moment: datetime, shift: ShiftPolicy) -> datetime:
    """The first shift start after the moment."""
    starts = sorted(shift.starts)
    today = moment.date()
    for start in starts:
        at = datetime.combine(today, start)
        if at > moment:
            return at
    return datetime.combine(today + timedelta(days=1), starts[0])
