"""The life of a stay: admit, move, swap, discharge, readmit, merge; never two patients in one bed."""

from __future__ import annotations

from collections.abc import Callable
from threading import Barrier, Thread
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from mobicard.ledger import BedTaken, Ledger, LedgerError, LedgerRefused, NewEntry
from tests.ledger.places import START, Writer


def where(ledger: Ledger) -> dict[str, str]:
    return {state.stay: state.bed for state in ledger.beds()}


def swap(one: str, bed: str, other: str, other_bed: str) -> tuple[NewEntry, NewEntry]:
    return (
        NewEntry(one, "move", START, "CL", {"from": bed, "to": other_bed, "swap": other}),
        NewEntry(other, "move", START, "CL", {"from": other_bed, "to": bed, "swap": one}),
    )


@pytest.mark.parametrize("kind", ["admit", "record", "move", "readmit"])
def test_a_bed_that_is_held_is_refused(ledger: Ledger, write: Writer, kind: str) -> None:
    write.admit("s1", "4W-1")
    if kind in {"move", "readmit"}:
        write.admit("s2", "4W-2")
    if kind == "readmit":
        write("s2", "discharge")
    with pytest.raises(BedTaken, match="4W-1 is already taken"):
        write("s2", kind, {"bed": "4W-1", "record": {"bed": "4W-1"}})
    assert where(ledger)["s1"] == "4W-1"


def test_the_database_itself_holds_a_bed_for_one_stay(sql: Callable[[str], Any], write: Writer) -> None:
    """Past every check of the program."""
    write.admit("s1", "4W-1")
    write.admit("s2", "4W-2")
    with pytest.raises(IntegrityError):
        sql("UPDATE stay SET bed = '4W-1' WHERE stay = 's2'")


def test_of_two_who_admit_to_one_bed_at_once_one_wins(url: str, ledger: Ledger) -> None:
    with Ledger.open(url) as other:
        for number in range(10):
            outcomes: list[str] = []
            start = Barrier(2)

            def admit(here: Ledger, stay: str, n: int, start: Barrier, outcomes: list[str]) -> None:
                start.wait()
                try:
                    here.append(NewEntry(stay, "admit", START, "CL", {"bed": f"4W-{n}"}))
                    outcomes.append("in")
                except BedTaken:
                    outcomes.append("taken")

            args = (number, start, outcomes)
            both = [
                Thread(target=admit, args=(ledger, f"a{number}", *args)),
                Thread(target=admit, args=(other, f"b{number}", *args)),
            ]
            for one in both:
                one.start()
            for one in both:
                one.join()
            assert sorted(outcomes) == ["in", "taken"]


def test_two_patients_change_beds_in_one_save(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.admit("s2", "4W-2")
    ledger.append(*swap("s1", "4W-1", "s2", "4W-2"))
    assert where(ledger) == {"s1": "4W-2", "s2": "4W-1"}


def test_half_a_swap_is_refused(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.admit("s2", "4W-2")
    with pytest.raises(LedgerRefused, match="together or not at all"):
        ledger.append(swap("s1", "4W-1", "s2", "4W-2")[0])
    assert where(ledger) == {"s1": "4W-1", "s2": "4W-2"}


def test_a_discharged_patient_leaves_the_bed_to_the_next(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    gone = write("s1", "discharge")
    write.admit("s2", "4W-1")
    assert where(ledger) == {"s2": "4W-1"}
    state = ledger.latest("s1")
    assert state is not None
    assert (state.open, state.discharged_at, state.bed) == (False, gone.at, "4W-1")


def test_discharge_and_admit_to_that_bed_in_one_save(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    ledger.append(
        NewEntry("s1", "discharge", START, "CL"), NewEntry("s2", "admit", START, "CL", {"bed": "4W-1"})
    )
    assert where(ledger) == {"s2": "4W-1"}


def test_a_readmitted_patient_is_the_same_stay_in_a_new_bed(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1", weight_kg=80)
    write("s1", "discharge")
    write("s1", "readmit", {"bed": "4W-3"})
    (state,) = ledger.beds()
    assert state.record is not None
    assert (state.bed, state.record.bed, state.record.weight_kg) == ("4W-3", "4W-3", 80)
    assert state.discharged_at is None
    assert state.admitted_at == write.now
    assert state.recorded_at is not None
    assert state.recorded_at < state.admitted_at, (
        "so that nobody takes the old assessment for one of this admission"
    )


def test_admitting_twice_is_refused(write: Writer) -> None:
    write.admit("s1", "4W-1")
    with pytest.raises(LedgerRefused, match="already admitted"):
        write.admit("s1", "4W-2")


def test_a_double_ends_naming_the_stay_that_is_kept(ledger: Ledger, write: Writer) -> None:
    write.admit("keep", "4W-1")
    write.admit("double", "4W-2")
    write.record("double", "4W-2", weight_kg=80)
    write("double", "merge", {"into": "keep"})
    assert where(ledger) == {"keep": "4W-1"}
    ended = ledger.latest("double")
    assert ended is not None
    assert (ended.merged_into, ended.open) == ("keep", False)
    assert ledger.history("double")[1].body["record"]["weight_kg"] == 80
    write.admit("s3", "4W-2")


@pytest.mark.parametrize("body", [{}, {"bed": ""}, {"bed": "  "}, {"bed": None}, {"bed": 12}])
def test_an_admission_without_a_bed_is_refused(write: Writer, body: dict[str, Any]) -> None:
    with pytest.raises(LedgerError, match="needs the bed"):
        write("s1", "admit", body)


@pytest.mark.parametrize("kind", ["move", "discharge", "readmit", "correct", "hung", "fall"])
def test_nothing_happens_to_a_stay_that_was_never_admitted(ledger: Ledger, write: Writer, kind: str) -> None:
    with pytest.raises(LedgerRefused, match="not in the ledger"):
        write("nobody", kind, {"bed": "4W-1", "to": "4W-1"})
    assert list(ledger.entries()) == []
