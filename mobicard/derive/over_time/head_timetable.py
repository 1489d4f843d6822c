"""Head observations as a timetable: which is due when, how often now, until who stops them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import chain, count, islice

from mobicard.derive.model import HeadObservations
from mobicard.facts import FallEvent, HeadWatch, Record
from mobicard.facts.text import hour_says
from mobicard.facts.words import HeadSeen, YesNoUnknown
from mobicard.rules.policy import HeadWatchPolicy, Policy
from mobicard.rules.rule import source_texts

SHOWN = 6
"""So many of the coming observations are named."""


def head_spared(fall: FallEvent) -> bool:
    """Whether someone saw that the head was not struck. Source: NPSA 2011; NICE CG176/NG232."""
    return fall.head_strike is YesNoUnknown.NO and fall.witnessed is True


def head_watch(record: Record) -> HeadWatch | None:
    """The observations as recorded, or as a fall begins them when the head is not surely spared."""
    return begun_by(record.fall_event, record.head_watch)


def begun_by(fall: FallEvent | None, watch: HeadWatch | None) -> HeadWatch | None:
    """The observations after this fall; one that came later, with the head not spared, begins them anew."""
    if fall is None or head_spared(fall) or (watch is not None and watch.at >= fall.at):
        return watch
    return HeadWatch(at=fall.at)


def carried_watch(before: Record, after: Record) -> HeadWatch | None:
    """The observations a new record carries on from the one before it: the one said last of any."""
    old, new = head_watch(before), head_watch(after)
    if new is None or (old is not None and (old.at, old.newest) > (new.at, new.newest)):
        new = old
    stopped_before = new is not None and not new.running and new == before.head_watch
    return None if stopped_before and after.fall_event is None else new


def due_times(watch: HeadWatch, policy: HeadWatchPolicy) -> Iterator[datetime]:
    """When the next observations are due, ward time, without an end.

    At once while there is none; half-hourly while the scale is below 15 or anything got worse; then by the
    timetable from ``clock_from``. One noted a few minutes early counts for its time; a late one moves none.
    """
    if watch.noted_at is None:
        yield watch.at
    often = timedelta(minutes=policy.every_min[0])
    if watch.seen is not HeadSeen.FIFTEEN or watch.clock_from is None:
        last = watch.noted_at or watch.at
        yield from (last + often * n for n in count(1))
        return
    done = (watch.noted_at or watch.at) + timedelta(minutes=policy.early_min)
    yield from (at for at in timetable(watch.clock_from, policy) if at > done)


def timetable(zero: datetime, policy: HeadWatchPolicy) -> Iterator[datetime]:
    """Every due time after ``zero``: half-hourly for 2 h, hourly for 4 h, two-hourly from then on.

    Source: NICE NG232, head injury: observations once the coma scale is 15.
    """
    at = zero
    for every, lasts in zip(policy.every_min, (*policy.lasts_min, None), strict=True):
        end = None if lasts is None else at + timedelta(minutes=lasts)
        while end is None or at < end:
            at += timedelta(minutes=every)
            yield at


def head_observations(record: Record, policy: Policy, now: datetime) -> HeadObservations | None:
    """What is due of the head observations at ``now``; None where none run."""
    watch = head_watch(record)
    if watch is None or not watch.running:
        return None
    times = due_times(watch, policy.head_watch)
    missed, times = before_and_after(times, now)
    due = missed[0] if missed else next(times)
    later = list(islice(times, SHOWN - 1))
    rest = f"{'next' if missed else 'then'} {', '.join(f'{at:%H:%M}' for at in later)}: {_STATE[watch.seen]}"
    source = source_texts()["nice_head"]
    found = (watch.at, due, bool(missed), (due, *later), rest, watch.noted_at, source)
    return HeadObservations(*found, len(missed), _gap(missed, now), hour_says(due, now))


def before_and_after(times: Iterator[datetime], now: datetime) -> tuple[list[datetime], Iterator[datetime]]:
    """The times before ``now``, and the others, without an end."""
    missed: list[datetime] = []
    for at in times:
        if at >= now:
            return missed, chain([at], times)
        missed.append(at)
    return missed, times


def _gap(missed: Sequence[datetime], now: datetime) -> str:
    """``3 missed since 01:10``: none is entered for them; that is all the record can say."""
    return f"{len(missed)} missed (not entered) since {hour_says(missed[0], now)}" if missed else ""


_STATE = {
    None: "none noted yet; until stopped by name",
    HeadSeen.FIFTEEN: "until stopped by name",
    HeadSeen.BELOW: "below 15 when last seen, half-hourly until 15",
    HeadSeen.WORSE: "got worse, begun again: half-hourly until 15",
}
