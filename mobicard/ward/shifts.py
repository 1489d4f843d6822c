"""Where a moment lies among the ward's shifts; wall-clock times, so a clock change cannot shift them."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.rules.policy import ShiftPolicy


def shift_start(now: datetime, shift: ShiftPolicy) -> datetime:
    """Start of the shift that ``now`` lies in (ward time); the lead time belongs to the coming shift."""
    moment = now + timedelta(minutes=shift.lead_min)
    starts = sorted(shift.starts)
    today = [datetime.combine(moment.date(), at) for at in starts]
    past = [start for start in today if start <= moment]
    return past[-1] if past else datetime.combine(moment.date() - timedelta(days=1), starts[-1])


def shift_before(start: datetime, shift: ShiftPolicy) -> datetime:
    """Start of the shift before the one that starts at ``start``."""
    return shift_start(start - timedelta(minutes=shift.lead_min + 1), shift)
