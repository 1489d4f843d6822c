"""From when on the reader was away: what a handoff compares with."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.derive.over_time.validity import handoff_since, shift_began, shift_opens
from mobicard.facts.text import typed_time
from mobicard.ledger.entry import DESK_KINDS, FACT_KINDS
from mobicard.ward.beds import Beds
from mobicard.ward.views import WardRefused

LAST = "last"
"""Written for the time the person at this station last left or took over."""

FURTHEST = timedelta(days=31)


def since_of(beds: Beds, said: str, furthest: timedelta | None = FURTHEST) -> datetime:
    """A time as people write it: as ``typed_time`` reads it, or ``last``.

    Raises WardRefused for what is no time, lies ahead or more than a month back.
    """
    text = said.strip()
    found = last_here(beds, beds.by) if text.casefold() == LAST else _written(text, beds.now)
    if found is None:
        raise WardRefused(f"{beds.by} has taken nothing over and entered nothing here yet; give a time")
    if found > beds.now or (furthest is not None and beds.now - found > furthest):
        where = "ahead of now" if found > beds.now else "more than a month back"
        raise WardRefused(f"since {found:%d %b %Y %H:%M} lies {where}")
    return found


def _written(text: str, now: datetime) -> datetime:
    try:
        return typed_time(text, now)
    except ValueError as refused:
        raise WardRefused(f"{refused}, or {LAST}") from None


def away_since(beds: Beds, assignment: str | None) -> datetime:
    """From when on the reader was away: one person's last time here, else the start of the ending shift."""
    here = last_here(beds, assignment) if assignment else None
    return here or handoff_since(beds.now, beds.policy.shift)


def last_here(beds: Beds, who: str) -> datetime | None:
    """When a person began to take over this shift, once its handoff is over; else their last entry before.

    The first bed taken over counts for all: what happened to another bed since must not be missed.
    """
    shift, now = beds.policy.shift, beds.now
    opens = shift_opens(now, shift)
    month = beds.clock.utc_of(now - FURTHEST)
    if now >= shift_began(now, shift) + timedelta(minutes=shift.grace_min):
        taken = beds.ledger.newest_by(who, ("read",), beds.clock.utc_of(opens), first=True)
        if taken is not None:
            return beds.clock.ward_time(taken.at)
    before = beds.ledger.newest_by(who, (*FACT_KINDS, *DESK_KINDS), month, before=beds.clock.utc_of(opens))
    return beds.clock.ward_time(before.at) if before is not None else None
