"""The invented unit at ten to seven: a night ends, and whoever comes has something to do."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from mobicard.demo.unit import MovingClock, record_of, unit
from mobicard.derive.over_time.validity import shift_before, shift_start
from mobicard.facts import FallEvent
from mobicard.ward.ward import Ward

AGAIN_BEFORE = timedelta(minutes=18)
"""How long before now the night began to look again: within the half hour that counts for the day."""


@dataclass
class Night:
    """The story as it is written: the ward, its clock, who lies where, and what time it is at its end."""

    ward: Ward
    clock: MovingClock
    stays: dict[str, str]
    now: datetime

    def at(self, when: datetime, by: str) -> None:
        """From here on it is that time, and that person speaks."""
        self.clock.set(min(when, self.now))
        self.ward.call_me(by)

    def look(self, bed: Mapping[str, Any], facts: str, when: datetime, by: str) -> None:
        """Somebody looks at a bed and records what was seen."""
        self.at(when, by)
        stay = self.stays[bed["bed"]]
        record = record_of(bed, facts, self.ward.now, by, self.now)
        self.ward.save(stay, record, self.ward.fact_version(stay))


def fill_morning(ward: Ward, now: datetime, on_step: Callable[[int, int], None] | None = None) -> None:
    """Write the unit into an empty ledger as it stands at ``now``, ten minutes before the day shift.

    Most beds fall due, half of them were looked at again just now; somebody fell in the night, one comes
    back from theatre, one was admitted, one was passed over; some doors no longer match.
    """
    clock = MovingClock(ward.clock)
    ward.clock = clock
    night = shift_before(shift_start(now, ward.policy.shift), ward.policy.shift)
    day = shift_before(night, ward.policy.shift)
    earlier = shift_before(day, ward.policy.shift)
    tale = Night(ward, clock, {}, now)
    beds = unit()["beds"]
    tale.at(earlier - timedelta(hours=3), "LW")
    late = unit()["morning"]["admitted"]["bed"]
    tale.stays |= {
        bed["bed"]: ward.stays.admit(bed["bed"], bed["label"]).stay for bed in beds if bed["bed"] != late
    }
    nights, days = unit()["morning"]["night_nurses"], unit()["nurses"]
    rounds = (("day_before", earlier, nights), ("night", day, days), ("day", night, nights))
    for number, (facts, start, nurses) in enumerate(rounds):
        for index, (bed, by) in enumerate(_round(beds, facts, nurses)):
            tale.look(bed, facts, start + timedelta(minutes=35 + index), by)
            if on_step:
                on_step(number * len(beds) + index + 1, 3 * len(beds))
        _hang(tale, start + timedelta(minutes=75), "" if facts != "day" else "5N-16")
    _before_day(tale)


def _round(
    beds: Sequence[Mapping[str, Any]], facts: str, nurses: Sequence[str]
) -> Iterator[tuple[Mapping[str, Any], str]]:
    """The beds that were looked at in one shift, with whose they were."""
    for index, bed in enumerate(beds):
        if facts not in bed.get("skip", ()):
            yield bed, nurses[index * len(nurses) // len(beds)]


def _hang(tale: Night, when: datetime, to: str) -> None:
    """The clerk prints and hangs the cards of the doors, up to one bed or all."""
    tale.at(when, "CLERK")
    jobs = tale.ward.doors.jobs(changed_only=True)
    tale.ward.doors.confirm_hung([job for job in jobs if job.level and (not to or job.bed <= to)])


def _before_day(tale: Night) -> None:
    """What happened towards the morning, in its order, and whose the beds are from seven on."""
    beds, told = {bed["bed"]: bed for bed in unit()["beds"]}, unit()["morning"]
    nights, days = told["night_nurses"], unit()["nurses"]
    fall, operation, admitted = told["fall"], told["operation"], told["admitted"]
    tale.at(_ago(tale, fall), nights[2])
    event = {key: value for key, value in beds[fall["bed"]]["fall"].items() if key != "minutes_ago"}
    stay = tale.stays[fall["bed"]]
    tale.ward.fell(stay, FallEvent(at=tale.ward.now, **event), tale.ward.fact_version(stay))
    tale.at(_ago(tale, operation), nights[0])
    tale.ward.procedure(tale.stays[operation["bed"]], operation["what"])
    tale.at(_ago(tale, admitted), nights[2])
    tale.stays[admitted["bed"]] = tale.ward.stays.admit(admitted["bed"], beds[admitted["bed"]]["label"]).stay
    spared = {fall["bed"], admitted["bed"]}
    again = (one for one in _round(list(beds.values()), "day", nights) if one[0]["bed"] >= told["again_from"])
    for minute, (bed, by) in enumerate(again):
        if bed["bed"] not in spared:
            tale.look(bed, "day", tale.now - AGAIN_BEFORE + timedelta(minutes=minute), by)
    tale.at(tale.now, "CLERK")
    for bed, nurse in _round(list(beds.values()), "", days):
        tale.ward.assign([tale.stays[bed["bed"]]], nurse)


def _ago(tale: Night, told: Mapping[str, Any]) -> datetime:
    return tale.now - timedelta(minutes=told["minutes_ago"])
