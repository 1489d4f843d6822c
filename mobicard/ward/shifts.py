"""The shift before another; wall-clock times, so a clock change cannot shift them."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.derive.over_time.validity import shift_start
from mobicard.rules.policy import ShiftPolicy

__all__ = ["shift_before", "shift_start"]


def shift_before(start: datetime, shift: ShiftPolicy) -> datetime:
    """Start of the shift before the one that starts at ``start``."""
    return shift_start(start - timedelta(minutes=shift.lead_min + 1), shift)
