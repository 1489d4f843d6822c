"""The one place that reads the clock; everything below takes the time as a parameter."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

Instant = Callable[[], datetime]


def system_instant() -> datetime:
    """Now as an aware UTC time; ``MOBICARD_NOW`` (ISO, ward wall clock) fixes it for demonstrations."""
    fixed = os.environ.get("MOBICARD_NOW")
    if fixed:
        moment = datetime.fromisoformat(fixed)
        return moment.astimezone(UTC)
    return datetime.now(UTC)


@dataclass
class Clock:
    """Turns instants (aware UTC, what the ledger keeps) into ward time (naive wall clock) and back."""

    instant: Instant = system_instant
    zone: tzinfo | None = None

    @classmethod
    def for_zone(cls, name: str | None, instant: Instant = system_instant) -> Clock:
        """A clock of the named IANA zone, or of the machine's own."""
        return cls(instant, ZoneInfo(name) if name else None)

    @classmethod
    def fixed(cls, ward_time: datetime) -> Clock:
        """A clock that stands still at a ward time, for previews, demonstrations and tests."""
        return cls(lambda: ward_time.replace(tzinfo=UTC), UTC)

    def utc(self) -> datetime:
        """The instant now, aware UTC."""
        return self.instant()

    def now(self) -> datetime:
        """Ward time now: naive, what the wall clock shows, to the minute's second."""
        return self.ward_time(self.instant())

    def ward_time(self, moment: datetime) -> datetime:
        """Ward time of an aware instant."""
        return moment.astimezone(self.zone).replace(tzinfo=None, microsecond=0)

    def utc_of(self, ward_time: datetime) -> datetime:
        """The instant of a ward time (the earlier one where a clock change repeats an hour)."""
        if self.zone is None:
            return ward_time.astimezone(UTC)
        return ward_time.replace(tzinfo=self.zone).astimezone(UTC)
