"""The staff list and the inventory: what cannot be taken is named, the rest is planned with."""

from __future__ import annotations

from datetime import timedelta

import pytest

from mobicard.derive.equipment import Inventory
from mobicard.facts.words import Equipment
from mobicard.hands.supply import Span, SupplyRefused, read_staff, supply_of, units_of
from tests.hands.made import SHIFT, at

GOOD = """
[[staff]]
initials = "JN"
role = "nurse"
beds = ["4W-01A", "4W-02A"]
from = "07:00"
to = "19:30"
breaks = [["10:00", "10:15"], ["13:00", "13:30"]]
"""


def test_a_person_is_there_but_for_breaks() -> None:
    """07:00-19:30 in a shift that ends 19:00, 45 min of breaks: 11 h 15 min."""
    (jn,) = read_staff(GOOD, SHIFT).staff
    assert jn.minutes() == 12 * 60 - 45
    assert jn.is_there(Span(at("09:50"), at("10:00")))
    assert not jn.is_there(Span(at("09:55"), at("10:05")))
    assert jn.beds == ("4W-01A", "4W-02A")


def test_night_hours_run_past_midnight() -> None:
    """19:00 to 07:00 with a break at 02:00 on the next day."""
    night = Span(at("19:00"), at("19:00") + timedelta(hours=12))
    text = '[[staff]]\ninitials = "AB"\nfrom = "18:45"\nto = "07:15"\nbreaks = [["02:00", "02:30"]]\n'
    (ab,) = read_staff(text, night).staff
    assert ab.there == (
        Span(night.start, at("02:00") + timedelta(days=1)),
        Span(at("02:30") + timedelta(days=1), night.end),
    )


def test_overlapping_shifts_of_one_person_count_once() -> None:
    """07:00-15:00 and 13:00-19:00: named, one pair of hands all day, and a break in either is a break."""
    text = """
    [[staff]]
    initials = "JN"
    from = "07:00"
    to = "15:00"
    [[staff]]
    initials = "JN"
    from = "13:00"
    to = "19:00"
    breaks = [["14:00", "14:30"]]
    """
    file = read_staff(text, SHIFT)
    (jn,) = file.staff
    assert jn.minutes() == 12 * 60 - 30
    assert not jn.is_there(Span(at("14:00"), at("14:05")))
    assert file.problems == ("JN: two entries overlap at 13:00-15:00; one person counts once",)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (('from = "07:00"', 'from = "7 am"'), "needs “from” and “to”"),
        (('to = "19:30"', ""), "needs “from” and “to”"),
        (('from = "07:00"', 'from = "19:00"'), "outside this shift"),
        (('initials = "JN"', ""), "has no initials"),
    ],
)
def test_a_line_that_cannot_be_taken_is_named(change: tuple[str, str], named: str) -> None:
    """One bad entry: named and left out; the other person stands."""
    other = '[[staff]]\ninitials = "KM"\nfrom = "07:00"\nto = "19:00"\n'
    file = read_staff(GOOD.replace(*change) + other, SHIFT)
    assert [person.initials for person in file.staff] == ["KM"]
    assert any(named in line for line in file.problems)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (('"10:15"]', '"10:15", "x"]'), "a break needs two times"),
        (("beds =", "bed ="), "did you mean beds?"),
        (('["10:00", "10:15"]', '["20:00", "20:15"]'), "outside their hours"),
    ],
)
def test_a_detail_that_cannot_be_taken_is_named_and_the_person_stands(
    change: tuple[str, str], named: str
) -> None:
    """A wrong break or key does not take the person off the plan."""
    file = read_staff(GOOD.replace(*change), SHIFT)
    assert [person.initials for person in file.staff] == ["JN"]
    assert any(named in line for line in file.problems)


def test_an_empty_list_says_nobody_is_there() -> None:
    assert "names nobody on duty" in read_staff("", SHIFT).problems[0]


def test_text_that_is_no_list_is_refused_in_words() -> None:
    with pytest.raises(SupplyRefused, match="the staff list cannot be read"):
        read_staff("[[staff]\ninitials=", SHIFT)


def test_the_inventory_piece_by_piece() -> None:
    """Two of one lift are two units; a count of zero is named and gives none."""
    text = """
    [[item]]
    class = "full_body_lift"
    count = 2
    safe_load_kg = 200
    [[item]]
    class = "powered_standing_aid"
    count = 0
    safe_load_kg = 180
    """
    units, problems = units_of(Inventory.from_toml(text))
    assert [(unit.name, unit.swl_kg) for unit in units] == [
        ("full-body lift 1", 200),
        ("full-body lift 2", 200),
    ]
    assert problems == ("inventory: powered standing aid has a count of 0; none can be planned",)


def test_equipment_out_of_use_is_taken_off_and_said() -> None:
    """One of two lifts out with a flat battery: one left, and the list says so; a misspelt class is named."""
    text = (
        GOOD
        + '[[out]]\nequipment = "full_body_lift"\nwhy = "flat battery"\n[[out]]\nequipment = "full_lift"\n'
    )
    lifts = '[[item]]\nclass = "full_body_lift"\ncount = 2\nsafe_load_kg = 200\n'
    units, _ = units_of(Inventory.from_toml(lifts))
    supply = supply_of(read_staff(text, SHIFT), units)
    assert [unit.kind for unit in supply.units] == [Equipment.FULL_BODY_LIFT]
    assert "out of use: 1 full-body lift (flat battery)" in supply.problems
    assert any("did you mean full_body_lift?" in line for line in supply.problems)


@pytest.mark.parametrize(("told", "cm"), [('"165 cm"', 165.0), ("165", 165.0), ('"5 ft 5 in"', 165.1)])
def test_a_stature_is_read_in_either_unit(told: str, cm: float) -> None:
    (jn,) = read_staff(GOOD + f"stature = {told}\n", SHIFT).staff
    assert jn.stature_cm == pytest.approx(cm)


def test_a_stature_that_is_a_slip_is_named_and_left_out() -> None:
    """Somebody 17 cm tall is still on duty."""
    found = read_staff(GOOD + 'stature = "17 cm"\n', SHIFT)
    assert [one.stature_cm for one in found.staff] == [None]
    assert "JN: 17 cm is not a grown person's height" in found.problems[0]
