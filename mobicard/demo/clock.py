"""The clock of an invented unit: at whatever hour it is opened, there it is the end of a night."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from pathlib import Path

from mobicard.outflow import write_private
from mobicard.rules.policy import ShiftPolicy
from mobicard.ward.station.clock import Clock, Instant, system_instant

BEFORE_SHIFT = timedelta(minutes=10)


def ten_to(now: datetime, shift: ShiftPolicy) -> datetime:
    """Ten minutes before the day's first shift, the last time up to ``now`` (ward time)."""
    moment = datetime.combine(now.date(), min(shift.starts)) - BEFORE_SHIFT
    return moment if moment <= now else moment - timedelta(days=1)


def set_clock(ledger: Path, ward_time: datetime, instant: Instant = system_instant) -> None:
    """From now on it is ``ward_time`` in the unit of this ledger, and its clock runs. Raises OSError."""
    lines = (
        "# The clock of an invented unit: the ward's time, and the machine's when it was that.",
        f"ward = {ward_time.isoformat()}",
        f"machine = {instant().isoformat()}",
    )
    write_private(_beside(ledger), ("\n".join(lines) + "\n").encode())


def clock_of(ledger: str | None, usual: Clock, instant: Instant = system_instant) -> Clock | None:
    """The running clock of the invented unit in this file; None for every other ledger, named or not."""
    if not ledger or "://" in ledger:
        return None
    try:
        said = tomllib.loads(_beside(Path(ledger).expanduser()).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    ward, machine = said.get("ward"), said.get("machine")
    if not (isinstance(ward, datetime) and isinstance(machine, datetime) and machine.tzinfo):
        return None
    ahead = usual.utc_of(ward.replace(tzinfo=None)) - machine
    return Clock(lambda: instant() + ahead, usual.zone, instant)


def _beside(ledger: Path) -> Path:
    return ledger.with_name(f"{ledger.name}.clock")
