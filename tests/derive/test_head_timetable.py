"""Head observations: the published timetable, what is late, what begins it again, what alone ends it."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import islice

import pytest

from mobicard.derive import Policy, plan_for
from mobicard.derive.over_time.head_timetable import carried_watch, due_times, timetable
from mobicard.facts import HeadWatch, Record, RecordRefused, read_record
from mobicard.facts.words import HeadSeen
from tests.records import assessed

FELL = datetime(2026, 3, 2, 7, 40)
ZERO = datetime(2026, 3, 2, 8, 0)
TIMES = Policy().head_watch


def after(minutes: int) -> datetime:
    return ZERO + timedelta(minutes=minutes)


def hours(times: list[datetime]) -> list[float]:
    return [(at - ZERO) / timedelta(hours=1) for at in times]


def watched(*notes: tuple[int, HeadSeen]) -> HeadWatch:
    """Observations since the fall, each noted so many minutes after eight."""
    watch = HeadWatch(at=FELL)
    for minutes, seen in notes:
        watch = watch.noted(seen, after(minutes), "AB")
    return watch


def due(watch: HeadWatch, many: int = 1) -> list[float]:
    return hours(list(islice(due_times(watch, TIMES), many)))


def test_the_published_timetable() -> None:
    """0:30, 1:00, 1:30, 2:00, 3, 4, 5, 6 h, then 8, 10, 12: 8 sets in 6 h, 17 in 24 h.

    Source: NICE, Observations of patients with head injury in hospital (CG176; kept in NG232, section 1.9).
    """
    first = hours(list(islice(timetable(ZERO, TIMES), 11)))
    assert first == [0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12]
    day = [at for at in hours(list(islice(timetable(ZERO, TIMES), 40))) if at <= 24]
    assert (len([at for at in day if at <= 6]), len(day)) == (8, 17)


def test_the_clock_starts_with_the_first_fifteen_not_with_the_fall() -> None:
    """Before anything is noted the first is due at once. Source: NICE, as above."""
    assert due(watched()) == [-1 / 3]
    assert due(watched((0, HeadSeen.FIFTEEN)), 3) == [0.5, 1, 1.5]


def test_below_fifteen_stays_half_hourly_however_long() -> None:
    """Source: NICE, as above: 30 min until the coma scale is 15."""
    watch = watched(*[(30 * n, HeadSeen.BELOW) for n in range(20)])
    assert due(watch, 3) == [10, 10.5, 11]
    assert due(watch.noted(HeadSeen.FIFTEEN, after(600), "AB"), 5) == [10.5, 11, 11.5, 12, 13]


@pytest.mark.parametrize("how", [HeadSeen.BELOW, HeadSeen.WORSE])
def test_a_deterioration_begins_the_whole_timetable_again(how: HeadSeen) -> None:
    """Worse at 5 h: half-hourly, then from the next 15 on 2 h and 4 h anew. Source: NICE, as above."""
    notes = [(m, HeadSeen.FIFTEEN) for m in (0, 30, 60, 90, 120, 180, 240)]
    watch = watched(*notes, (300, how))
    assert due(watch) == [5.5]
    again = watch.noted(HeadSeen.FIFTEEN, after(330), "AB")
    assert due(again, 6) == [6, 6.5, 7, 7.5, 8.5, 9.5]


@pytest.mark.parametrize(
    ("noted", "next_"), [(24, 0.5), (25, 1.0), (30, 1.0), (55, 1.5), (40, 1.0), (59, 1.5)]
)
def test_a_little_early_counts_and_late_moves_nothing(noted: int, next_: float) -> None:
    """Five minutes early count for the time (common practice, no source); late, the next keeps its hour."""
    assert due(watched((0, HeadSeen.FIFTEEN), (noted, HeadSeen.FIFTEEN))) == [next_]


def test_one_left_out_stays_due() -> None:
    """Nothing noted since eight: at noon the one of half past eight is what is due, and late."""
    record = assessed("5N-01", head_watch=watched((0, HeadSeen.FIFTEEN)).model_dump(mode="json"))
    found = plan_for(record, Policy(), after(240)).head_observations
    assert found is not None
    assert (found.due, found.late) == (after(30), True)


def fallen(**facts: object) -> Record:
    return assessed("5N-01", fall_event={"at": FELL, **facts})


@pytest.mark.parametrize(
    ("facts", "runs"),
    [
        ({"head_strike": "yes", "witnessed": True}, True),
        ({"head_strike": "unknown", "witnessed": True}, True),
        ({"witnessed": True}, True),
        ({"head_strike": "no", "witnessed": False}, True),
        ({"head_strike": "no"}, True),
        ({"head_strike": "no", "witnessed": True}, False),
    ],
)
def test_they_begin_unless_somebody_saw_that_the_head_was_spared(
    facts: dict[str, object], runs: bool
) -> None:
    """Source: NPSA 2011: observations for head injury or where it cannot be excluded, e.g. unwitnessed."""
    assert (plan_for(fallen(**facts), Policy(), ZERO).head_observations is not None) is runs


def test_only_a_name_ends_them() -> None:
    """A look, a silent record, the end of the fall: none of them; stopped by name, they are over."""
    before = fallen(head_strike="yes", witnessed=True)
    silent = assessed("5N-01")
    carried = carried_watch(before, silent)
    assert carried == HeadWatch(at=FELL)
    stopped = carried.model_copy(update={"stopped_by": "Dr NN", "stopped_at": ZERO})
    over = assessed("5N-01", head_watch=stopped.model_dump(mode="json", exclude_none=True))
    assert plan_for(over, Policy(), ZERO).head_observations is None
    assert carried_watch(over, silent) is None


@pytest.mark.parametrize(("minutes", "says"), [(2, "LATE since 23:55"), (10, "LATE since Mon 23:55")])
def test_an_hour_of_another_day_has_its_day(minutes: int, says: str) -> None:
    """Fell on Monday five minutes before midnight: read on Tuesday it is no hour of that day."""
    fell = datetime(2026, 3, 2, 23, 55)
    record = assessed("5N-01", head_watch=HeadWatch(at=fell).model_dump(mode="json", exclude_none=True))
    head = plan_for(record, Policy(), fell + timedelta(minutes=minutes)).head_observations
    assert head is not None
    assert says in head.brief


def test_an_older_statement_does_not_undo_a_newer_one() -> None:
    """A form opened before the last observation, saved after it: the observation stands."""
    newer, older = watched((0, HeadSeen.FIFTEEN), (30, HeadSeen.WORSE)), watched((0, HeadSeen.FIFTEEN))
    records = [
        assessed("5N-01", head_watch=w.model_dump(mode="json", exclude_none=True)) for w in (newer, older)
    ]
    assert carried_watch(records[0], records[1]) == newer


def test_a_second_blow_begins_them_anew() -> None:
    """Stopped in the morning, fallen again at ten: due at once."""
    stopped = watched((0, HeadSeen.FIFTEEN)).model_copy(
        update={"stopped_by": "Dr NN", "stopped_at": after(60)}
    )
    record = assessed(
        "5N-01",
        fall_event={"at": after(120), "head_strike": "unknown"},
        head_watch=stopped.model_dump(mode="json", exclude_none=True),
    )
    found = plan_for(record, Policy(), after(121)).head_observations
    assert found is not None
    assert found.due == after(120)


@pytest.mark.parametrize(
    "wrong",
    [
        {"stopped_by": "NN"},
        {"stopped_at": "2026-03-02T09:00"},
        {"seen": "fifteen"},
        {"seen": "fifteen", "noted_at": "2026-03-02T07:00"},
    ],
)
def test_half_said_is_refused(wrong: dict[str, str]) -> None:
    with pytest.raises(RecordRefused):
        read_record({"bed": "1", "head_watch": {"at": "2026-03-02T07:40", **wrong}})
