"""A list or feed of the whole house and one unit meant: only its beds, and who leaves it leaves the board."""

from __future__ import annotations

from datetime import datetime

import pytest

from mobicard.exchange.census.cells import stay_of
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.hl7_messages import read_hl7
from mobicard.exchange.census.mapping import CensusMapping
from mobicard.exchange.census.preview import Preview, preview
from mobicard.exchange.census.rows import CurrentStay
from mobicard.facts.text import in_unit

SALT, NOW = b"salt", datetime(2026, 3, 2, 12, 0)
HERE = [
    CurrentStay(stay_of("V1", SALT), "5N-1A", "JD"),
    CurrentStay(stay_of("V2", SALT), "5N-2A", "RB"),
    CurrentStay("by-hand", "5N-3A", "KL"),
]


def listed(text: str, *, absent: str = "keep", only: str | None = "5N") -> Preview:
    census = read_census(text.encode(), CensusMapping(only=only), salt=SALT)
    return preview(census, HERE, absent="discharge" if absent == "discharge" else "keep", now=NOW, only=only)


def told(*messages: str, only: str = "5N") -> Preview:
    return preview(read_hl7("".join(messages).encode(), salt=SALT, only=only), HERE, now=NOW, only=only)


def adt(event: str, visit: str, bed: str, before: str = "") -> str:
    """HL7 v2.5.1 chapter 3: PV1-3 assigned, PV1-6 prior location, PV1-19 visit."""
    return (
        f"MSH|^~\\&|S|H|M|5N|202603020700||ADT^{event}|C{event}{visit}|P|2.5.1\rEVN|{event}|202603020700\r"
        f"PID|1||M||DOE^JANE\rPV1|1|I|{bed}|||{before}{'|' * 13}{visit}\r"
    )


@pytest.mark.parametrize(
    ("bed", "inside"),
    [("5N-1A", True), ("5n 1A", True), ("5N", True), ("5N/1", True), ("5NE-1", False), ("15N-1", False)],
)
def test_a_bed_is_of_the_unit_whose_name_ends_where_the_beds_begins(bed: str, *, inside: bool) -> None:
    assert in_unit(bed, "5N") is inside


def test_lines_of_other_units_are_passed_over_and_counted_whatever_their_beds_are_called() -> None:
    text = (
        "Bed,Initials,Visit,Status\n5N-1A,JD,V1,\n5N-4A,NN,V9,\n"
        "EMERGENCY DEPARTMENT HALLWAY 12,XY,V7,unheard of\nICU-1,JD,V8,\n"
    )
    seen = listed(text)
    assert [one.says for one in seen.admit] == ["5N-4A: new patient NN, not assessed yet"]
    assert (seen.move, seen.discharge, seen.cannot_read) == ((), (), ())
    assert "passed over, not of 5N: 2" in seen.notes


def test_who_the_list_has_elsewhere_leaves_the_board() -> None:
    seen = listed("Bed,Initials,Visit,Prior Bed\nICU-1,JD,V1,\nHALL,KL,,5N-3A\n5N-2A,RB,V2,\n")
    assert [one.says for one in seen.discharge] == [
        "5N-1A: JD leaves the unit",
        "5N-3A: KL leaves the unit",
    ]
    assert seen.admit == seen.move == ()


def test_a_bed_is_free_for_the_next_once_its_patient_is_elsewhere() -> None:
    seen = listed("Bed,Initials,Visit\n5N-1A,NN,V9\nICU-1,JD,V1\n")
    assert [one.bed for one in seen.discharge] == ["5N-1A"]
    assert [one.bed for one in seen.admit] == ["5N-1A"]
    assert seen.cannot_read == ()


def test_other_initials_elsewhere_with_this_prior_bed_are_a_question() -> None:
    seen = listed("Bed,Initials,Prior Bed\nICU-1,ZZ,5N-3A\n")
    assert seen.discharge == ()
    assert ["holds another patient" in bad.why for bad in seen.cannot_read] == [True]


def test_absent_discharge_takes_only_this_units_beds() -> None:
    """A ledger of two units: the other one's patients are not in the list of this."""
    census = read_census(b"Bed,Initials,Visit\n5N-1A,JD,V1\n", CensusMapping(only="5N"), salt=SALT)
    both = [*HERE, CurrentStay("other", "6S-1A", "AB")]
    seen = preview(census, both, absent="discharge", now=NOW, only="5N")
    assert [one.bed for one in seen.discharge] == ["5N-2A", "5N-3A"]


def test_without_a_unit_named_every_line_counts() -> None:
    seen = listed("Bed,Initials,Visit\nICU-1,JD,V1\n", only=None)
    assert [one.says for one in seen.move] == ["5N-1A: JD moves to ICU-1"]


@pytest.mark.parametrize("place", ["ICU^1^A", "ICU", "EMERGENCYDEPARTMENT^HALLWAY^12"])
def test_a_transfer_out_is_a_leaving_though_no_bed_is_named_there(place: str) -> None:
    seen = told(adt("A02", "V1", place, "5N^1^A"))
    assert [one.says for one in seen.discharge] == ["5N-1A: JD leaves the unit"]


def test_messages_of_other_units_do_nothing() -> None:
    seen = told(
        adt("A01", "V7", "ICU^1^A"), adt("A02", "V7", "6S^2^A", "ICU^1^A"), adt("A03", "V8", "6S^1^A")
    )
    assert seen.summary() == "0 admitted, 0 moved, 0 discharged, 0 unchanged, 0 cannot be read"


def test_a_transfer_in_is_an_admission() -> None:
    seen = told(adt("A02", "V7", "5N^4^A", "ICU^1^A"))
    assert [(one.bed, one.says) for one in seen.admit] == [
        ("5N-4A", "5N-4A: new patient JD, not assessed yet")
    ]
