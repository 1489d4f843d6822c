"""Cautions as they are shown: of what was seen only, the worst harm first, a limit with its figure."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from mobicard.derive import Plan, Policy, plan_for
from mobicard.derive.join.cautions import by_caution, told
from mobicard.facts import read_record
from mobicard.facts.words import Task
from tests.records import SEEN

KNEES = "Legs may give way: a seat within reach at all times"


def plan(**facts: Any) -> Plan:
    record = {"bed": "5N-01", **SEEN, "weight_kg": 80, "assessed_at": "2026-03-02T07:10", **facts}
    return plan_for(read_record(record), Policy(), datetime(2026, 3, 2, 8, 0))


def test_what_nobody_looked_at_raises_the_level_and_is_no_caution() -> None:
    """Standing not tried: it may be that the knees give way, which no card may say of the patient."""
    unseen = plan(standing=None)
    assert KNEES in unseen.tasks[Task.CHAIR].cautions
    assert KNEES not in told(unseen, unseen.tasks[Task.CHAIR])
    seen = plan(standing="supported")
    assert KNEES in told(seen, seen.tasks[Task.CHAIR])


def test_one_seen_for_a_fact_that_is_known_is_told_though_another_is_not() -> None:
    """Cues are needed; whether fearful nobody asked: one step at a time all the same."""
    found = plan(directions="with_cues", behavior=None)
    assert "Say each step first, one at a time" in told(found, found.tasks[Task.CHAIR])


def test_the_worst_harm_stands_first() -> None:
    """A spine before a breastbone, that before the knees; what is only slow, last."""
    found = plan(precautions=["spinal_cleared", "sternal"], standing="supported", directions="with_cues")
    cautions = told(found, found.tasks[Task.CHAIR])
    places = [
        next(n for n, one in enumerate(cautions) if word in one)
        for word in ("Log roll", "Breast", "Legs may give")
    ]
    assert places == sorted(places)
    assert cautions[-1] == "Say each step first, one at a time"
    assert next(iter(by_caution(found))).startswith("Log roll")


def test_a_limit_is_said_with_its_figure() -> None:
    """20 % of 80 kg is 16 kg, 35.2 lb: arithmetic."""
    found = plan(weight_bearing={"left_leg": {"status": "PWB", "percent": 20}})
    assert "Left leg: at most 16.0 kg (35 lb)" in told(found, found.tasks[Task.CHAIR])


def test_a_leg_that_may_bear_nothing_says_what_is_done_when_it_does() -> None:
    """“Keep to its weight limit” beside “foot off the floor”: which limit, and who holds the leg?"""
    found = plan(weight_bearing={"left_leg": {"status": "NWB"}}, standing="supported", weight_kg=90)
    cautions = told(found, found.tasks[Task.CHAIR])
    assert "Left leg: no weight; foot down: sit again" in cautions


def test_a_leg_that_is_not_there_has_no_limit_to_keep_to() -> None:
    found = plan(weight_bearing={"left_leg": {"status": "absent_limb"}}, standing="supported")
    assert not any("Left leg" in one for move in found.tasks.values() for one in told(found, move))


def test_a_numb_leg_keeps_its_own_caution_beside_its_limit() -> None:
    """It began as the order's does, and was replaced by the order's figure."""
    legs = {"left_leg": {"straight_leg_raise": False}}
    found = plan(legs=legs, weight_bearing={"left_leg": {"status": "PWB", "percent": 20}})
    cautions = told(found, found.tasks[Task.CHAIR])
    assert "Left leg numb or weak: no weight on it" in cautions
    assert "Left leg: at most 16.0 kg (35 lb)" in cautions


def test_a_move_nobody_makes_now_has_no_caution_of_people_gear_or_how() -> None:
    """The moves made keep theirs; what is true whatever is done, and what holds the patient back, stays."""
    lines = [{"kind": kind} for kind in ("chest tube", "drip", "Foley", "feeding tube")]
    found = plan(precautions=["bed_rest", "spinal"], lines=lines, weight_kg=None, standing="supported")
    chair, turn = (told(found, found.tasks[task]) for task in (Task.CHAIR, Task.TURN))
    assert found.tasks[Task.CHAIR].helpers is None
    assert not [one for one in chair if "people" in one or "seat" in one or "Weigh" in one or "arm" in one]
    assert "Log roll: the patient does not bend, lift or twist the back" in chair
    assert "1 of these people only watches the tubes" in turn
    after = plan(operation={"at": "2026-03-02T07:40"})
    assert "Back from an operation: look again before getting up" in told(after, after.tasks[Task.CHAIR])
