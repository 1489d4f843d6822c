"""A newer weight that a message tells of a patient who is here: taken, and never over a later look."""

from __future__ import annotations

from datetime import datetime

import pytest

from mobicard.exchange.census.preview import Preview
from mobicard.ward import Ward
from mobicard.ward.census import census_apply, census_preview
from tests.feed.sender import adt
from tests.records import assessed


def weighed(kg: float, event: str = "A08", at: str = "202603020730") -> bytes:
    """An update with a measured weight: LOINC 29463-7 in kg, final."""
    return (adt(event, "V1", "5N^1^A", at=at) + f"OBX|1|NM|29463-7||{kg}|kg|||||F\r").encode()


def taken(ward: Ward, message: bytes) -> Preview:
    seen = census_preview(ward, message)
    if not seen.cannot_read:
        census_apply(ward, seen)
    return seen


@pytest.fixture
def unit(ward: Ward) -> Ward:
    """Admitted by message at seven with 80 kg, at eight in the morning."""
    taken(ward, weighed(80, "A01", "202603020700"))
    return ward


def weight(ward: Ward) -> float | None:
    view = ward.find("5N-1A")
    assert view is not None
    return view.record.weight_kg


def test_a_later_weight_is_taken_and_the_preview_shows_old_beside_new(unit: Ward) -> None:
    """82 kg / 0.45359237 = 180.8 lb, 80 kg = 176.4 lb: NIST SP 811 (2008), B.8; shown rounded down."""
    seen = taken(unit, weighed(82))
    assert [one.says for one in seen.weigh] == ["5N-1A: weight 80.0 kg (176 lb) -> 82.0 kg (180 lb)"]
    assert seen.summary() == "0 admitted, 0 moved, 0 discharged, 1 weighed, 0 unchanged, 0 cannot be read"
    assert weight(unit) == 82


def test_a_weight_where_none_was_known_is_taken(ward: Ward) -> None:
    taken(ward, adt("A01", "V1", "5N^1^A").encode())
    assert weight(ward) is None
    taken(ward, weighed(82))
    assert weight(ward) == 82


def test_what_was_seen_at_the_last_look_stays_with_its_time(unit: Ward) -> None:
    view = unit.find("5N-1A")
    assert view is not None
    look = datetime(2026, 3, 2, 7, 10)
    record = assessed("5N-1A", assessed_at=look, assessed_by="JN", weight_kg=80, standing="supported")
    unit.save(view.stay, record, view.version)
    taken(unit, weighed(82, at="202603020730"))
    after = unit.find("5N-1A")
    assert after is not None
    assert after.record == record.changed(weight_kg=82)


def test_a_weight_told_before_the_last_look_never_stands_over_it(unit: Ward) -> None:
    view = unit.find("5N-1A")
    assert view is not None
    record = assessed("5N-1A", assessed_at=datetime(2026, 3, 2, 7, 40), assessed_by="JN", weight_kg=78)
    unit.save(view.stay, record, view.version)
    seen = taken(unit, weighed(82, at="202603020730"))
    assert seen.weigh == ()
    assert weight(unit) == 78


@pytest.mark.parametrize(("kg", "is_asked"), [(100, False), (100.2, True), (60, False), (59.8, True)])
def test_an_unlikely_change_is_asked_about(unit: Ward, kg: float, *, is_asked: bool) -> None:
    """More than a quarter of 80 kg: 181 lb read as kg would be 181 kg."""
    seen = taken(unit, weighed(kg))
    assert bool(seen.cannot_read) is is_asked
    assert weight(unit) == (80 if is_asked else kg)
