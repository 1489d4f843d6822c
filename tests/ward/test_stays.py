"""The life of a stay: beds are never held twice, and every step is refused or whole."""

from __future__ import annotations

import pytest

from mobicard.facts import RecordRefused
from mobicard.ledger import LedgerError
from mobicard.ward import Ward, WardRefused, bed_order
from tests.records import assessed


def test_a_bed_is_held_by_one_stay(ward: Ward) -> None:
    """A second admission to the same bed is refused, however it is written."""
    ward.stays.admit("5N-01")
    with pytest.raises((WardRefused, LedgerError), match="taken"):
        ward.stays.admit("5n-01")


def test_a_bed_needs_a_name_that_can_be_read(ward: Ward) -> None:
    """An empty or endless bed name is refused before anything is written."""
    for bad in ("", "   ", "x" * 17, "a\nb"):
        with pytest.raises(RecordRefused):
            ward.stays.admit(bad)
    assert ward.board() == []


def test_a_move_takes_the_record_along_and_frees_the_bed(ward: Ward) -> None:
    """The facts follow the patient; the old bed can be given again."""
    view = ward.stays.admit("5N-01", "RA")
    ward.save(view.stay, assessed("5N-01", weight_kg=66), view.version)
    moved = ward.stays.move(ward.bed(view.stay), "5N-09")
    assert (moved.bed, moved.record.bed, moved.record.weight_kg) == ("5N-09", "5N-09", 66)
    ward.stays.admit("5N-01", "EV")
    assert [one.bed for one in ward.board()] == ["5N-01", "5N-09"]


def test_a_swap_is_one_step(ward: Ward) -> None:
    """Two patients change places though neither bed is ever free."""
    one, other = ward.stays.admit("5N-01", "RA"), ward.stays.admit("5N-02", "EV")
    ward.stays.swap(one, other)
    assert {view.bed: view.label for view in ward.board()} == {"5N-01": "EV", "5N-02": "RA"}


def test_a_discharged_stay_can_come_back_with_its_history(ward: Ward) -> None:
    """Nothing is deleted by a discharge."""
    view = ward.stays.admit("5N-01", "RA")
    ward.stays.discharge(view)
    assert ward.board() == []
    back = ward.stays.readmit(view.stay, "5N-03")
    assert (back.bed, back.label) == ("5N-03", "RA")


def test_a_double_ends_and_names_the_stay_that_is_kept(ward: Ward) -> None:
    """One patient entered twice: one stay goes on, both histories remain."""
    keep, double = ward.stays.admit("5N-01"), ward.stays.admit("5N-02")
    ward.stays.merge_double(keep, double)
    assert [view.stay for view in ward.board()] == [keep.stay]
    assert ward.ledger.history(double.stay)[-1].body["into"] == keep.stay


def test_beds_are_listed_as_a_person_counts() -> None:
    """Bed 2 comes before bed 12, with letters and without."""
    beds = ["4W-12A", "4W-2", "4W-12", "10", "9", "4W-2B"]
    assert sorted(beds, key=bed_order) == ["4W-2", "4W-2B", "4W-12", "4W-12A", "9", "10"]
