"""What stands for a stay: folded from its entries, and the same by the quick way the board takes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random
from typing import Any

import pytest

from mobicard.ledger import Entry, Ledger, LedgerError, NewEntry, StayState
from mobicard.ledger.database.queries import RECENT
from mobicard.ledger.state import fold
from tests.ledger.places import START, Writer


def only(states: Sequence[StayState]) -> StayState:
    (state,) = states
    return state


def test_an_admitted_patient_is_on_the_board_before_any_record(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1", label="RT")
    state = only(ledger.beds())
    assert (state.bed, state.label, state.record, state.recorded_at) == ("4W-1", "RT", None, None)
    assert state.admitted_at == write.now


def test_the_last_record_stands_and_says_who_and_when(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1", weight_kg=80, by="AB")
    write.record("s1", "4W-1", weight_kg=82, by="CD")
    state = only(ledger.beds())
    assert state.record is not None
    assert (state.record.weight_kg, state.recorded_by, state.recorded_at) == (82, "CD", write.now)
    assert (state.version, state.fact_version, state.record_version) == (3, 3, 3)


def test_the_board_as_of_a_time_is_what_stood_then(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1", weight_kg=80)
    then = write.now
    write.record("s1", "4W-1", weight_kg=82)
    write("s1", "discharge")
    write.admit("s2", "4W-1")
    before = only(ledger.beds(at=then))
    assert before.record is not None
    assert (before.stay, before.record.weight_kg) == ("s1", 80)
    assert only(ledger.beds()).stay == "s2"
    assert ledger.beds(at=START) == []


def test_a_moved_patient_keeps_the_record_with_the_new_bed(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1", weight_kg=80)
    write("s1", "move", {"from": "4W-1", "to": "4W-7"})
    state = only(ledger.beds())
    assert state.record is not None
    assert (state.bed, state.record.bed, state.record.weight_kg) == ("4W-7", "4W-7", 80)
    assert state.moved_at == write.now


def test_a_correction_stands_and_the_wrong_entry_stays_in_the_history(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    wrong = write.record("s1", "4W-1", weight_kg=170)
    body = {"corrects": wrong.version, "why": "pounds", "record": {"bed": "4W-1", "weight_kg": 77}}
    write("s1", "correct", body)
    state = only(ledger.beds())
    assert state.record is not None
    assert state.record.weight_kg == 77
    assert ledger.history("s1")[1].body["record"]["weight_kg"] == 170


def test_a_record_of_the_wrong_patient_can_be_taken_back_to_none(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    wrong = write.record("s1", "4W-1", weight_kg=170)
    write("s1", "correct", {"corrects": wrong.version, "why": "other patient", "record": None})
    assert only(ledger.beds()).record is None


def test_a_fall_taken_back_leaves_the_fall_before(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    first = write("s1", "fall", {"event": {"at": "2026-03-02T07:02"}})
    second = write("s1", "fall", {"event": {"at": "2026-03-02T07:03"}})
    assert only(ledger.beds()).fall_at == second.at
    write("s1", "correct", {"corrects": second.version, "why": "entered twice"})
    state = only(ledger.beds())
    assert (state.fall_at, state.fall["event"]["at"]) == (first.at, "2026-03-02T07:02")


@pytest.mark.parametrize("wrong", [0, 9, "2", None, True])
def test_a_correction_must_name_an_entry_that_is_there(ledger: Ledger, write: Writer, wrong: object) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1")
    with pytest.raises(LedgerError, match="names which entry"):
        write("s1", "correct", {"corrects": wrong, "why": "x"})


def test_the_door_says_what_is_prepared_and_what_hangs(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write("s1", "prepared", {"code": "7Q4MKD"})
    write("s1", "hung", {"code": "7Q4MKD"}, by="CL")
    write("s1", "prepared", {"code": "BBBBBB", "page": "bedside"})
    state = only(ledger.beds())
    assert (state.prepared_code, state.hung_code, state.hung_by) == ("7Q4MKD", "7Q4MKD", "CL")
    write("s1", "taken_down", {"code": "7Q4MKD"})
    assert only(ledger.beds()).hung_code is None


def test_ticks_and_readers_of_the_last_day_and_a_half_are_shown(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write("s1", "tick", {"task": "chair", "outcome": "reached"})
    old = write("s1", "read", by="KL").at
    late = old + RECENT + timedelta(minutes=1)
    write("s1", "tick", {"task": "walk", "outcome": "reached"}, at=late)
    write("s1", "read", by="MN", at=late)
    state = only(ledger.beds())
    assert [(tick["task"], tick["by"]) for tick in state.ticks] == [("walk", "JN")]
    assert dict(state.read_by) == {"MN": late}
    assert [tick["task"] for tick in only(ledger.beds(at=old)).ticks] == ["chair"]


def test_an_empty_ledger_has_no_beds(ledger: Ledger) -> None:
    assert ledger.beds() == []
    assert ledger.beds(at=START) == []
    assert ledger.latest("s1") is None


@pytest.mark.parametrize(
    "record", [{"bed": "4W-1", "from_the_future": 1}, {"bed": "4W-1", "weight_kg": -5}, "x", [], 7]
)
def test_a_record_that_cannot_be_read_hides_no_other_bed(
    ledger: Ledger, write: Writer, record: object
) -> None:
    """It counts as not assessed, says why, and stays in the history as it was saved."""
    write.admit("s1", "4W-1")
    write.admit("s2", "4W-2")
    write.record("s2", "4W-2", weight_kg=80)
    write("s1", "record", {"record": record})
    odd, other = ledger.beds()
    assert odd.record is None
    assert other.record is not None
    assert odd.unreadable is not None
    assert "assess again" in odd.unreadable
    assert other.unreadable is None
    assert ledger.history("s1")[1].body["record"] == record
    assert ledger.latest("s1") == odd


def random_entry(random: Random, stays: Sequence[str], now: datetime) -> NewEntry:
    stay = random.choice(stays)
    bed = f"4W-{random.randint(1, 8)}"
    record = {"bed": bed, "weight_kg": float(random.randint(40, 120))}
    kind, body = random.choice(
        [
            ("admit", {"bed": bed, "label": random.choice(["RT", None])}),
            ("record", {"record": record}),
            ("record", {"record": record}),
            ("same", {"record": record}),
            ("correct", {"corrects": random.randint(1, 5), "why": "x", "record": record}),
            ("correct", {"corrects": random.randint(1, 9), "why": "x"}),
            ("move", {"to": bed}),
            ("discharge", {}),
            ("readmit", {"bed": bed}),
            ("merge", {"into": random.choice(stays)}),
            ("procedure", {"what": "x"}),
            ("fall", {"event": {}, "record": record}),
            ("fall", {"event": {}}),
            ("assign", {"to": random.choice(["KL", None])}),
            ("prepared", {"code": f"{random.randint(0, 99):06}", "page": random.choice(["door", "bedside"])}),
            ("hung", {"code": f"{random.randint(0, 99):06}"}),
            ("taken_down", {}),
            ("tick", {"task": "chair"}),
            ("read", {}),
            ("seen", {}),
        ]
    )
    return NewEntry(stay, kind, now, random.choice(["AB", "CD"]), body)


def by_hand(entries: Sequence[Entry], at: datetime) -> list[StayState]:
    """The board the slow way: every entry of every stay up to a time, folded."""
    states = []
    for stay in {one.stay for one in entries}:
        mine = [one for one in entries if one.stay == stay and one.at <= at]
        newest = max(one.at for one in entries) if at == datetime.max.replace(tzinfo=START.tzinfo) else at
        kept = [one for one in mine if one.kind not in {"tick", "read"} or one.at >= newest - RECENT]
        state = fold(kept)
        if state and state.open and state.bed:
            states.append(state)
    return sorted(states, key=lambda state: state.bed)


def same_but_version(one: Sequence[StayState], other: Sequence[StayState]) -> None:
    """Equal in everything a board shows; ``version`` also counts what a board need not load."""

    def shown(state: StayState) -> dict[str, Any]:
        return {name: getattr(state, name) for name in state.__slots__ if name != "version"}

    assert [shown(state) for state in one] == [shown(state) for state in other]


@pytest.mark.parametrize("seed", range(6))
def test_the_quick_board_is_the_slow_board_now_and_then(ledger: Ledger, seed: int) -> None:
    """Two hundred random entries over six stays: the newest of each kind tells the same as all of them."""
    random = Random(seed)
    now, times = START, []
    for _ in range(200):
        now += timedelta(minutes=random.choice([1, 30, 400]))
        try:
            ledger.append(random_entry(random, [f"s{n}" for n in range(6)], now))
            times.append(now)
        except LedgerError:
            continue  # a taken bed, a second admission: refused, as it should be
    entries = list(ledger.entries())
    assert len(entries) > 100
    same_but_version(ledger.beds(), by_hand(entries, datetime.max.replace(tzinfo=START.tzinfo)))
    for at in random.sample(times, 8):
        same_but_version(ledger.beds(at=at), by_hand(entries, at))
    assert ledger.verify().ok


def test_somebodys_newest_entry_of_some_kinds(ledger: Ledger, write: Writer) -> None:
    """By whom, of which kinds, from when to before when; the newest, or the first."""
    write.admit("s1", "4W-1")
    first = write.record("s1", "4W-1", by="AB")
    write("s1", "read", by="AB")
    last = write.record("s1", "4W-1", by="AB")
    write.record("s1", "4W-1", by="CD")
    assert ledger.newest_by("AB", ("record",), START) == last
    assert ledger.newest_by("AB", ("record",), START, first=True) == first
    assert ledger.newest_by("AB", ("record",), START, before=last.at) == first
    assert ledger.newest_by("AB", ("record",), last.at) == last
    assert ledger.newest_by("AB", ("record",), last.at + timedelta(seconds=1)) is None
    assert ledger.newest_by("EF", ("record",), START) is None


def test_what_was_known_and_what_was_told_since_make_the_whole(ledger: Ledger) -> None:
    """Random lives, looked at after each few entries: the same as read anew."""
    random, now, known = Random(5), START, None
    for number in range(120):
        now += timedelta(minutes=random.choice([1, 30, 400]))
        try:
            ledger.append(random_entry(random, [f"s{n}" for n in range(6)], now))
        except LedgerError:
            continue
        if number % 3 == 0:
            known = ledger.standing(known)
            same = {one.stay: (one.version, one.bed, one.record, one.hung_code) for one in ledger.beds()}
            assert {one.stay: (one.version, one.bed, one.record, one.hung_code) for one in known.beds} == same
