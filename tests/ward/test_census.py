"""The bed list against the unit: previewed, then all of it in one step or none, assessments untouched."""

from __future__ import annotations

import pytest

from mobicard.ward import Ward, WardRefused
from mobicard.ward.census import census_apply, census_preview
from tests.records import assessed


def test_a_bed_list_of_600_beds_goes_in_as_one_step(ward: Ward) -> None:
    """600 admissions, one transaction; read again, everything is unchanged."""
    lines = ["Bed,Initials,Weight"] + [
        f"6N-{number:03},A{number % 26},{120 + number % 90} lb" for number in range(600)
    ]
    data = "\n".join(lines).encode()
    assert census_apply(ward, census_preview(ward, data)) == 600
    assert len(ward.ledger.beds()) == 600
    again = census_preview(ward, data)
    assert (len(again.unchanged), again.admit, again.cannot_read) == (600, (), ())


def test_a_bed_list_never_touches_an_assessment(ward: Ward) -> None:
    """Who moved keeps what was recorded; who is not in the list stays."""
    view = ward.stays.admit("5N-01", "RA")
    ward.save(view.stay, assessed("5N-01", label="RA", weight_kg=66), view.version)
    ward.stays.admit("5N-02", "EV")
    census_apply(ward, census_preview(ward, b"Bed,Initials,Prior Bed\n5N-07,RA,5N-01\n"))
    moved = ward.find("5N-07")
    assert moved is not None
    assert (moved.stay, moved.record.weight_kg, moved.record.standing) == (view.stay, 66, "steady")
    assert ward.find("5N-02") is not None


def test_two_patients_who_changed_beds_are_swapped(ward: Ward) -> None:
    """A ring of two is one step, though neither bed is ever free."""
    one, other = ward.stays.admit("5N-01", "RA"), ward.stays.admit("5N-02", "EV")
    data = b"Bed,Initials,Prior Bed\n5N-02,RA,5N-01\n5N-01,EV,5N-02\n"
    census_apply(ward, census_preview(ward, data))
    assert {view.bed: view.stay for view in ward.board()} == {"5N-01": other.stay, "5N-02": one.stay}


def test_a_list_with_lines_that_cannot_be_read_is_not_applied_at_all(ward: Ward) -> None:
    """Half a list is worse than none: the line is named, nothing is written."""
    seen = census_preview(ward, b"Bed,Initials\n5N-01,RA\n5N-02,EV\n5N-02,OF\n")
    assert {one.bed for one in seen.cannot_read} == {"5N-02"}
    with pytest.raises(WardRefused, match="5N-02"):
        census_apply(ward, seen)
    assert ward.board() == []


def adt(event: str, at: str, bed: str, visit: str = "V1", prior: str = "") -> bytes:
    """One HL7 v2 ADT message of an invented patient."""
    lines = [
        f"MSH|^~\\&|A|B|C|D|{at}||ADT^{event}|{at}{event}|P|2.5",
        f"EVN|{event}|{at}",
        "PID|1||||Roe^Ann",
        f"PV1|1|I|5N^{bed}|||{prior}|||||||||||||{visit}",
    ]
    return "\r".join(lines).encode()


def told(ward: Ward, *messages: bytes) -> list[str]:
    for one in messages:
        census_apply(ward, census_preview(ward, one))
    return sorted(view.bed for view in ward.board())


def test_an_old_message_moves_nobody_back(ward: Ward) -> None:
    """Admitted at 08:00, moved at 09:00; the admission is sent again: the patient stays in the second bed."""
    first, moved = adt("A01", "202603020800", "01"), adt("A02", "202603020900", "02", prior="5N^01")
    assert told(ward, first, moved) == told(ward, first)
    (view,) = ward.board()
    assert view.bed.endswith("02")
    assert "older than what is known" in census_preview(ward, first).unchanged[0].says


def test_an_old_message_brings_nobody_back_who_went(ward: Ward) -> None:
    first, gone = adt("A01", "202603020800", "01"), adt("A03", "202603020900", "01")
    assert told(ward, first, gone, first) == []
    assert len(told(ward, adt("A01", "202603020901", "01"))) == 1


def test_a_message_of_what_was_entered_late_still_counts(ward: Ward) -> None:
    """The ward's clock says later than both events; what happened is compared, not when it was taken."""
    late = adt("A02", "202603020601", "02", prior="5N^01")
    assert told(ward, adt("A01", "202603020600", "01"), late)[0].endswith("02")


def message_of(event: str, visit: str, bed: str) -> str:
    """One message by HL7 v2.5.1 chapter 3: bed in PV1-3, visit in PV1-19."""
    return (
        f"MSH|^~\\&|S|H|M|4W|202603020700||ADT^{event}|{visit}|P|2.5.1\rPID|1||M||DOE^JANE\r"
        f"PV1|1|I|{bed}{'|' * 16}{visit}\r"
    )


def test_one_bad_message_stops_only_itself_unless_asked(ward: Ward) -> None:
    """Of a list a torn line stops everything; each message stands for itself."""
    bad = (message_of("A01", "V1", "") + message_of("A01", "V2", "4W^2^A")).encode()
    seen = census_preview(ward, bad)
    assert len(seen.cannot_read) == 1
    with pytest.raises(WardRefused):
        census_apply(ward, seen, all_or_nothing=True)
    assert ward.board() == []
    assert census_apply(ward, seen) == 1
    assert [view.bed for view in ward.board()] == ["4W-2A"]
