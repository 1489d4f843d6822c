"""An invented unit of 24 beds over three shifts, written into a ledger as a ward would have done it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

from mobicard.derive.over_time.validity import shift_before, shift_start
from mobicard.facts import FallEvent, Record, read_record
from mobicard.ward.station.clock import Clock
from mobicard.ward.ward import Ward

_OWN_KEYS = {"profile", "night", "day_before", "skip", "fall", "override", "appointments"}


class MovingClock(Clock):
    """A clock the demo sets by hand, so that its history has the times it tells of."""

    def __init__(self, like: Clock) -> None:
        self._ward_now = like.now()
        super().__init__(lambda: like.utc_of(self._ward_now), like.zone)

    def set(self, ward_time: datetime) -> None:
        self._ward_now = ward_time


@cache
def unit() -> Mapping[str, Any]:
    """The unit's description as data."""
    return tomllib.loads(files("mobicard.demo").joinpath("unit.toml").read_text(encoding="utf-8"))


def record_of(
    bed: Mapping[str, Any], shift: str, at: datetime, by: str, today: datetime | None = None
) -> Record:
    """What was recorded for a bed in one shift (``day``, ``night`` or ``day_before``).

    ``today`` is the day of what is booked, where that is not the day of the look.
    """
    facts = {key: value for key, value in bed.items() if key not in _OWN_KEYS}
    facts = _over(unit()["profiles"].get(bed.get("profile", ""), {}), facts)
    if shift != "day":
        facts = _over(facts, bed.get(shift, bed.get("night", {}) if shift == "day_before" else {}))
    if shift == "day" and "appointments" in bed:
        facts["appointments"] = [
            {"task": one["task"], "at": (today or at).replace(hour=one["at_hour"], minute=0)}
            for one in bed["appointments"]
        ]
    if shift == "day" and "override" in bed:
        facts["override"] = {"by": by, **bed["override"], "at": at}
    return read_record({**facts, "assessed_at": at, "assessed_by": by})


def fill(ward: Ward, now: datetime, on_step: Callable[[int, int], None] | None = None) -> None:
    """Write the unit's three shifts into an empty ledger, ending at ``now`` (ward time)."""
    clock = MovingClock(ward.clock)
    ward.clock = clock
    beds = unit()["beds"]
    day = shift_start(now, ward.policy.shift)
    night = shift_before(day, ward.policy.shift)
    before = shift_before(night, ward.policy.shift)
    clock.set(before - timedelta(hours=3))
    ward.call_me("LW")
    stays = {bed["bed"]: ward.stays.admit(bed["bed"], bed["label"]).stay for bed in beds}
    done = 0
    for shift, start, nurses in (
        ("day_before", before, unit()["nurses"]),
        ("night", night, unit()["night_nurses"]),
        ("day", day, unit()["nurses"]),
    ):
        for index, bed in enumerate(beds):
            done += 1
            if on_step:
                on_step(done, 3 * len(beds))
            if shift in bed.get("skip", ()):
                continue
            by = nurses[index * len(nurses) // len(beds)]
            at = min(start + timedelta(minutes=5 + index), now)
            clock.set(at)
            ward.call_me(by)
            stay = stays[bed["bed"]]
            record = record_of(bed, shift, at, by)
            ward.save(stay, record, ward.fact_version(stay))
        if shift == "night":
            clock.set(min(start + timedelta(minutes=50), now))
            ward.call_me("CLERK")
            jobs = [job for job in ward.doors.jobs(changed_only=False) if job.level is not None]
            ward.doors.confirm_hung(jobs)
    _after_rounds(ward, clock, now, stays)


def _after_rounds(ward: Ward, clock: MovingClock, now: datetime, stays: Mapping[str, str]) -> None:
    """Assignments, a fall, and most of this shift's doors hung."""
    beds, nurses = unit()["beds"], unit()["nurses"]
    clock.set(now)
    ward.call_me("CLERK")
    for number, nurse in enumerate(nurses):
        size = len(beds) // len(nurses)
        ward.assign([stays[bed["bed"]] for bed in beds[number * size : (number + 1) * size]], nurse)
    doors = ward.doors.jobs(beds=[bed["bed"] for bed in beds[:14]])
    ward.doors.confirm_hung(doors)
    for bed in beds:
        if "fall" in bed:
            told = dict(bed["fall"])
            event = FallEvent(at=now - timedelta(minutes=told.pop("minutes_ago")), **told)
            ward.call_me("PK")
            ward.fell(stays[bed["bed"]], event, ward.fact_version(stays[bed["bed"]]))


def _over(base: Mapping[str, Any], top: Mapping[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in top.items():
        both = key == "help" and isinstance(value, Mapping) and isinstance(base.get(key), Mapping)
        merged[key] = _over(base[key], value) if both else value
    return merged
