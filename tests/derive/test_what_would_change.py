"""For a wish, the smallest sets of facts that would have to be otherwise: enough, and not one too many."""

from __future__ import annotations

import sys
from datetime import datetime
from itertools import combinations
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from cases import cases

from mobicard.derive import Policy, plan_for
from mobicard.derive.what_would_change import Needed, Wish, read_wish, what_would_change
from mobicard.facts import Record, read_record
from mobicard.facts.words import Level, Task
from tests.records import assessed

NOW = datetime(2026, 3, 2, 8, 0)


@pytest.mark.parametrize(
    ("text", "wish"),
    [
        ("walk with 1", Wish(Task.WALK, helpers=1)),
        ("walk with two", Wish(Task.WALK, helpers=2)),
        ("toilet or commode alone", Wish(Task.TOILET, helpers=0)),
        ("up_in_chair by team", Wish(Task.UP_IN_CHAIR, level=Level.TEAM)),
    ],
)
def test_a_wish_as_people_write_it(text: str, wish: Wish) -> None:
    assert read_wish(text) == wish


@pytest.mark.parametrize("text", ["fly with 1", "walk", "walk with many", "chair by MAGIC", ""])
def test_what_is_no_wish_is_refused_in_words(text: str) -> None:
    with pytest.raises(ValueError, match="is no"):
        read_wish(text)


def test_one_fact_in_its_nearest_answer() -> None:
    """Helped with half of the walk: a hand on the patient would be enough, independent is not asked."""
    record = assessed("1", weight_kg=70, help={"walk": "moderate"})
    found = what_would_change(record, Wish(Task.WALK, helpers=1), Policy(), NOW)
    assert found == ((Needed("help.walk", "moderate", "contact guard"),),)


def test_an_order_is_over_by_order_and_what_holds_already_asks_for_nothing() -> None:
    resting = assessed("1", weight_kg=70, precautions=["bed_rest"])
    wish = Wish(Task.CHAIR, helpers=0)
    assert what_would_change(resting, wish, Policy(), NOW) == (
        (Needed("precautions.bed_rest", "stands", "over, by order"),),
    )
    assert what_would_change(assessed("1", weight_kg=70), wish, Policy(), NOW) == ((),)


def test_a_fall_is_not_wished_away() -> None:
    fallen = assessed("1", weight_kg=70, fall_event={"at": NOW})
    assert what_would_change(fallen, Wish(Task.WALK, helpers=1), Policy(), NOW) == ()


def changed(record: Record, needed: tuple[Needed, ...]) -> Record:
    """The record with a set applied, by the other way of changing facts."""
    data = record.as_json()
    for one in needed:
        top, _, inner = one.fact.partition(".")
        if top == "assessed_at":
            data[top] = NOW.isoformat()
        elif top in ("precautions", "lines"):
            data[top] = [item for item in data[top] if top == "precautions" and item != inner]
        elif top == "legs":
            data[top] = {leg: {"straight_leg_raise": True} for leg in ("left_leg", "right_leg")}
        elif top in ("weight_bearing", "vitals"):
            data.get(top, {}).pop(inner, None) if inner else data.pop(top)
        elif inner:
            data.setdefault(top, {})[inner] = (
                int(one.then) if one.then.isdecimal() else one.then.replace(" ", "_")
            )
        else:
            data[top] = one.then.replace(" ", "_")
    return read_record(data)


@pytest.mark.parametrize("case", cases()[::7], ids=lambda case: case.id)
def test_every_set_is_enough_and_no_part_of_it_is(case) -> None:  # type: ignore[no-untyped-def]
    """Over the published cases: a set applied grants the wish, each part of it does not."""
    record, policy = case.record(), Policy()
    wish = Wish(case.task, helpers=0)
    for needed in what_would_change(record, wish, policy, NOW):
        assert wish.holds(changed(record, needed), policy, NOW, None)
        for part in combinations(needed, max(len(needed) - 1, 0)):
            assert not needed or not wish.holds(changed(record, part), policy, NOW, None)


def test_of_an_ended_assessment_the_findings_are_what_is_asked_about() -> None:
    record = assessed("1", weight_kg=70, assessed_at="2026-03-01T07:10", help={"walk": "moderate"})
    assert plan_for(record, Policy(), NOW).expired
    (needed,) = what_would_change(record, Wish(Task.WALK, helpers=1), Policy(), NOW)
    assert [one.fact for one in needed] == ["assessed_at", "help.walk"]


def test_an_absent_leg_is_not_wished_back() -> None:
    record = assessed("1", weight_kg=70, weight_bearing={"left_leg": "absent_limb"})
    for needed in what_would_change(record, Wish(Task.WALK, helpers=0), Policy(), NOW):
        assert "weight_bearing.left_leg" not in [one.fact for one in needed]


def test_what_nobody_asked_is_asked_first() -> None:
    """An instrument never opened holds up walking alone as much as a high score does."""
    record = assessed("1", weight_kg=70, fall_risk=None)
    found = what_would_change(record, Wish(Task.WALK, helpers=0), Policy(), NOW)
    assert found == ((Needed("fall_risk", "not assessed", "asked, and not high"),),)
