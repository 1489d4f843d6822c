"""Equipment against the unit's inventory: present, rated for the weight, never silently changed."""

import pytest

from mobicard.derive.equipment import (
    UNRATED,
    EquipmentCheck,
    Inventory,
    InventoryRefused,
    check,
    words,
)
from mobicard.facts.units import kg_from_lb
from mobicard.facts.words import Equipment

LIFT = Equipment.FULL_BODY_LIFT
UNIT = Inventory.from_toml(
    """
[[item]]
class = "full_body_lift"
name = "hall lift"
safe_load_kg = 200
where = "hall"

[[item]]
class = "full_body_lift"
name = "pool lift"
safe_load = "800 lb"
where = "equipment pool"
bariatric = true

[[item]]
class = "powered_standing_aid"
count = 0
safe_load_kg = 180

[[item]]
class = "wheelchair"
name = "old wheelchair"

[[item]]
class = "gait_belt"
count = 12
"""
)


def for_lift(weight_kg: float | None) -> EquipmentCheck:
    return check([LIFT], weight_kg, UNIT)


def test_the_usual_item_serves_up_to_its_rating() -> None:
    """FDA patient-lift page: never above the lowest rated part."""
    found = for_lift(200)
    assert found.chosen[LIFT].name == "hall lift"
    assert (found.conflicts, found.notes) == ((), ())


def test_above_it_the_higher_rated_one_is_named_aloud() -> None:
    found = for_lift(200.1)
    assert found.chosen[LIFT].name == "pool lift"
    assert found.conflicts == ()
    assert found.notes == (
        "Too heavy for the usual full-body lift: "
        "use the pool lift, rated 362.8 kg (800 lb) (equipment pool).",
    )


@pytest.mark.parametrize(("weight_kg", "rated"), [(kg_from_lb(800), True), (kg_from_lb(800.1), False)])
def test_both_sides_of_the_highest_rating(weight_kg: float, rated: bool) -> None:
    found = for_lift(weight_kg)
    assert (LIFT in found.chosen) == rated
    assert (found.conflicts == ()) == rated


def test_too_heavy_for_all_says_what_to_ask_for() -> None:
    (conflict,) = for_lift(400).conflicts
    assert "rated only to 362.8 kg (800 lb)" in conflict.says
    assert "the patient weighs 400.0 kg (881 lb)" in conflict.says
    assert "ask for a bariatric full-body lift" in conflict.says
    assert conflict.fields == ("weight_kg", "inventory")


def test_without_a_weight_the_rating_could_not_be_checked() -> None:
    found = for_lift(None)
    assert found.notes == ("Weight not recorded: the rating of the full-body lift was not checked.",)
    assert LIFT in found.chosen


def test_what_the_unit_does_not_have_is_a_conflict_that_says_what_to_ask_for() -> None:
    absent = check([Equipment.AIR_ASSISTED_LATERAL_DEVICE], 90, UNIT)
    assert absent.chosen == {}
    assert "ask for one rated for at least 90.0 kg (198 lb)" in absent.conflicts[0].says


def test_a_count_of_none_is_not_here() -> None:
    assert "No powered standing aid" in check([Equipment.POWERED_STANDING_AID], 90, UNIT).conflicts[0].says


def test_no_recorded_rating_is_never_taken_as_enough() -> None:
    found = check([Equipment.WHEELCHAIR], 50, UNIT)
    assert found.chosen == {}
    assert "of no recorded rating" in found.conflicts[0].says


def test_a_rated_item_comes_before_one_without_a_rating() -> None:
    unit = Inventory.from_toml(
        "[[item]]\nclass = 'cane'\nname = 'a cane'\n"
        "[[item]]\nclass = 'cane'\nname = 'z cane'\nsafe_load_kg = 90\n"
    )
    found = check([Equipment.CANE], 90, unit)
    assert found.chosen[Equipment.CANE].name == "z cane"
    assert found.notes == ()


def test_a_gait_belt_carries_nobody() -> None:
    found = check([Equipment.GAIT_BELT], 300, UNIT)
    assert (found.conflicts, found.notes) == ((), ())
    assert check([Equipment.GAIT_BELT], None, UNIT).notes == ()


def test_each_class_is_asked_once_in_a_fixed_order() -> None:
    found = check([Equipment.WHEELCHAIR, LIFT, LIFT], 90, UNIT)
    assert list(found.chosen) == [LIFT]
    assert len(found.conflicts) == 1
    assert check([LIFT, Equipment.WHEELCHAIR], 90, UNIT) == found


def test_nothing_chosen_is_ever_below_the_weight() -> None:
    for weight in range(20, 500, 7):
        found = check(list(Equipment), weight, Inventory.default())
        for item in found.chosen.values():
            assert item.equipment in UNRATED or (item.safe_load_kg or 0) >= weight
        assert len(found.chosen) + len(found.conflicts) == len(Equipment)


def test_the_packaged_inventory_has_every_class_with_a_rating_and_a_place() -> None:
    have = Inventory.default()
    assert {item.equipment for item in have.items} == set(Equipment)
    assert all(item.where for item in have.items)
    assert all(item.safe_load_kg or item.equipment in UNRATED for item in have.items)


def test_every_class_has_its_ward_words() -> None:
    assert all(words(equipment) for equipment in Equipment)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[[item]]\nclass = 'hoist'", "item 1: “hoist” is no class"),
        ("[[item]]\ncount = 1", "item 1: “None” is no class"),
        ("[[item]]\nclass = 'cane'\nsafe_load = '300'", "item 1: “300” is not a weight with its unit"),
        ("[[item]]\nclass = 'cane'\nsafe_load_kg = 0", "cannot be"),
        ("[[item]]\nclass = 'cane'\nsafe_load_kg = true", "cannot be"),
        ("[[item]]\nclass = 'cane'\nsafe_load_kg = 100\nsafe_load = '220 lb'", "keep one"),
        ("[[item]]\nclass = 'cane'\ncount = -1", "whole number"),
        ("[[item]]\nclass = 'cane'\ncount = 1.5", "whole number"),
        ("[[item]]\nclass = 'cane'\nplace = 'hall'", "“place” is unknown"),
        ("[[item]]\nclass = 'cane'\nwhere = 3", "text in quotes"),
        ("[[item]]\nclass = 'cane'\nbariatric = 'yes'", "true or false"),
        ("[[items]]\nclass = 'cane'", "holds only"),
        ("[item]\nclass = 'cane'", "two brackets"),
        ("item = [3]", "not a set of named facts"),
        ("[[item", "not readable as TOML"),
    ],
)
def test_an_inventory_that_cannot_be_read_names_the_entry(text: str, says: str) -> None:
    with pytest.raises(InventoryRefused, match=says):
        Inventory.from_toml(text)


def test_an_empty_inventory_has_nothing() -> None:
    assert check([LIFT], 80, Inventory.from_toml("")).conflicts
