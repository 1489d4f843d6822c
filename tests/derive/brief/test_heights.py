"""Heights, forces and counts against the published values, each with its source beside it."""

from __future__ import annotations

import pytest

from mobicard.derive.brief import Helper
from mobicard.derive.brief.heights import getting_up, handling, shared_band, waist
from mobicard.derive.brief.pushing import people_for_a_bed, people_for_a_stretcher, people_to_push
from mobicard.derive.brief.values import figure
from tests.derive.brief.patients_known import brief, told


@pytest.mark.parametrize(
    ("stature", "hip", "navel", "elbow"),
    [
        (150, 77, 90, 92),
        (160, 82, 96, 98),
        (165, 85, 99, 101),
        (170, 88, 102, 104),
        (180, 93, 108, 111),
        (190, 98, 114, 117),
    ],
)
def test_one_helpers_band(stature: int, hip: int, navel: int, elbow: int) -> None:
    """ANSUR II (US Army 2012): hip .515, waist .60, elbow .614 of stature, cm as worked from the file."""
    assert shared_band([stature]) == (hip, elbow)
    assert waist(stature) == navel


def test_two_helpers_share_a_band_up_to_a_fifth_taller() -> None:
    """ANSUR II: taller over shorter at most .614/.515 = 1.19: 150 and 178 share one, 150 and 180 none."""
    assert shared_band([150, 178]) == (92, 92)
    assert shared_band([150, 180]) is None


def test_without_a_shared_band_the_shorter_ones_waist_counts() -> None:
    """BCcampus 3.7, checklist 25: the waist of the shortest; 90 cm at a stature of 150 cm (ANSUR II)."""
    found = handling([Helper("JN", 150), Helper("AB", 180)])
    assert (found.low_cm, found.says) == (90, "Mattress 90 cm: the shorter one's waist; better regroup")


def test_who_is_not_measured_gets_the_rule_in_words() -> None:
    assert handling([Helper("JN")]).low_cm is None


@pytest.mark.parametrize(("stature", "mattress"), [(150, 47), (165, 52), (180, 57), (230, 66)])
def test_the_bed_to_rise_from(stature: int, mattress: int) -> None:
    """ANSUR II sitting knee height .315: 150 -> 47, 165 -> 52, 180 -> 57; CDC stacks 230528: at most 66."""
    assert getting_up(stature).low_cm == mattress


def test_the_bed_to_rise_from_where_no_stature_is_known() -> None:
    """CDC stacks 230528: 51 to 66 cm; never down to the 38 of Merryweather 2015."""
    found = getting_up(None)
    assert (found.low_cm, found.high_cm) == (51, 66)
    assert figure("getting_up_cm", "too_low") == 38


def test_two_push_an_occupied_bed() -> None:
    """Leban 2019, 222 N to start, against UK HSE 15 kg (147 N); AORN: an occupied bed at least two."""
    assert people_for_a_bed() == 2
    assert people_for_a_stretcher() == 2
    assert people_to_push(147, 69) == 1
    assert people_to_push(148, 69) == 2
    assert people_to_push(147, 70) == 2


@pytest.mark.parametrize(
    ("group", "name", "value", "origin"),
    [
        ("chair", "angle", 45, "BCcampus checklist 30"),
        ("chair", "most_turn_on_one_leg", 90, "no published figure"),
        ("push_n", "bed_start", 222, "Leban 2019"),
        ("push_n", "stretcher_start", 195, "AORN Tool 7, 43.8 lbf"),
        ("push_n", "bed_rolling", 92, "Backhaus, 50 to 92 N"),
        ("push_n", "start_women", 147, "UK HSE, 15 kg"),
        ("push_n", "start_men", 196, "UK HSE, 20 kg"),
        ("push_n", "rolling_women", 69, "UK HSE, 7 kg"),
        ("push_n", "rolling_men", 98, "UK HSE, 10 kg"),
        ("push_n", "two_hands_36_in", 231, "Ohio State, 52 lb"),
        ("size_cm", "bed_width", 91, "Wiggermann 2017"),
    ],
)
def test_figures_as_published(group: str, name: str, value: float, origin: str) -> None:
    assert origin
    assert figure(group, name) == value


def test_the_brief_says_the_height_of_these_helpers() -> None:
    """165 and 180: hip of the taller 93, elbow of the shorter 101."""
    assert "Mattress 93-101 cm, hip to elbow." in told(brief("turn"))
    assert "Mattress 52-57 cm, feet flat." in told(brief("stand"))
