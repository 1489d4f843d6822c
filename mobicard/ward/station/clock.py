"""The one place that reads the clock; everything below takes the time as a parameter."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from zoneinfo import TZPATH, ZoneInfo

Instant = Callable[[], datetime]


def system_instant() -> datetime:
    """Now as an aware UTC time; ``MOBICARD_NOW`` (ISO, ward wall clock) fixes it for demonstrations."""
    fixed = os.environ.get("MOBICARD_NOW")
    if fixed:
        moment = datetime.fromisoformat(fixed)
        return moment.astimezone(UTC)
    return datetime.now(UTC)


class ClockRefused(Exception):  # noqa: N818 - said to people as a refusal
    """The machine's zone cannot be right; a card would hold too long or not long enough."""

    def __init__(self, says: str) -> None:
        self.says = says
        super().__init__(says)


_RULE = re.compile(r"(<[^>]+>|[A-Za-z]{3,})[+-]?\d")
"""How a zone written out as a rule begins, like EST5EDT: POSIX.1, section 8.3."""


def machine_zone_fault() -> str | None:
    """Why the machine's own zone is not to be believed, or None; the system takes an unknown one for UTC."""
    said = os.environ.get("TZ", "").removeprefix(":")
    if not said:
        return None
    folders = (os.environ.get("TZDIR", "/usr/share/zoneinfo"), *TZPATH)
    if not _RULE.match(said) and not any(_is_zone(Path(folder) / said) for folder in folders):
        return f"this machine's time zone, TZ={said}, is none it knows: its times would be those of UTC"
    try:
        datetime.now(UTC).astimezone()
    except (ValueError, OverflowError, OSError):
        return f"this machine's time zone, TZ={said}, is a day or more from UTC, which no place is"
    return None


def _is_zone(path: Path) -> bool:
    """By its first four bytes: RFC 9636, section 3.1."""
    try:
        with path.open("rb") as file:
            return file.read(4) == b"TZif"
    except OSError:
        return False


@dataclass
class Clock:
    """Turns instants (aware UTC, what the ledger keeps) into ward time (naive wall clock) and back.

    ``machine`` is the machine's own clock where somebody told this one its time, else None.
    """

    instant: Instant = system_instant
    zone: tzinfo | None = None
    machine: Instant | None = None

    @classmethod
    def for_zone(cls, name: str | None, instant: Instant = system_instant) -> Clock:
        """A clock of the named IANA zone, or of the machine's own. Raises ClockRefused."""
        if name:
            return cls(instant, ZoneInfo(name))
        if fault := machine_zone_fault():
            raise ClockRefused(f"{fault}; correct it, or set shift.timezone in the facility's policy")
        return cls(instant, None)

    @classmethod
    def fixed(cls, ward_time: datetime) -> Clock:
        """A clock that stands still at a ward time, for previews, demonstrations and tests."""
        return cls(lambda: ward_time.replace(tzinfo=UTC), UTC)

    @classmethod
    def told(cls, ward_time: datetime, machine: Instant = system_instant) -> Clock:
        """A clock that somebody told a ward time; what the machine says is kept beside it."""
        return cls(lambda: ward_time.replace(tzinfo=UTC), UTC, machine)

    @property
    def is_true(self) -> bool:
        """Whether this is the machine's own clock, and nobody told it another time."""
        return self.instant is system_instant and not os.environ.get("MOBICARD_NOW")

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
