"""What one who comes on shift must know: how grave, more or less, what is next, if it goes wrong."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from mobicard.derive import Policy, plan_for
from mobicard.derive.handing_over.direction import Direction, direction_of
from mobicard.derive.handing_over.gravity import Gravity, gravity_of
from mobicard.derive.handing_over.if_then import if_then
from mobicard.derive.handing_over.next_due import next_due
from mobicard.derive.model import Plan
from mobicard.facts import Record
from tests.records import INDEPENDENT, assessed

NOW = datetime(2026, 3, 2, 8, 0)
SEEN: dict[str, Any] = {"assessed_at": "2026-03-02T07:10", "help": INDEPENDENT}
LIFTED = {
    "standing": "unable",
    "stepping": "unable",
    "weight_kg": 80,
    "help": dict.fromkeys(INDEPENDENT, "total"),
}


def planned(**facts: Any) -> tuple[Record, Plan]:
    record = assessed("1", **SEEN | facts)
    return record, plan_for(record, Policy(), NOW)


@pytest.mark.parametrize(
    ("facts", "grave"),
    [
        ({"fall_event": {"at": "2026-03-02T07:40"}}, Gravity.FALLEN),
        ({"assessed_at": None}, Gravity.UNSEEN),
        ({"assessed_at": "2026-03-01T07:10"}, Gravity.EXPIRED),
        ({"precautions": ["bed_rest"]}, Gravity.STAYS),
        (LIFTED, Gravity.LIFT),
        ({}, Gravity.REST),
    ],
)
def test_the_gravest_group_wins(facts: dict[str, Any], grave: Gravity) -> None:
    assert gravity_of(planned(**facts)[1]) is grave


def test_more_less_and_what_never_was_here() -> None:
    well, lifted = planned()[1], planned(**LIFTED)[1]
    assert direction_of(well, lifted) is Direction.MORE
    assert direction_of(lifted, well) is Direction.LESS
    assert direction_of(well, well) is Direction.SAME
    assert direction_of(None, well) is Direction.NEW


def test_an_ended_assessment_asks_for_more_never_for_less() -> None:
    assert direction_of(planned(**LIFTED)[1], planned(assessed_at="2026-03-01T07:10")[1]) is Direction.MORE


def test_who_hits_is_told_before_the_sling() -> None:
    record, plan = planned(**LIFTED, behavior="combative")
    assert [one.happens for one in if_then(plan, record)][:2] == [
        "Grabs or hits",
        "Slips, loop off, restless",
    ]


def test_a_turn_is_due_from_the_last_one_noted_with_its_people() -> None:
    record, plan = planned(**LIFTED, turn_every_h=2)
    [turn] = next_due(plan, record, NOW, datetime(2026, 3, 2, 5, 30))
    assert (turn.at, turn.late) == (datetime(2026, 3, 2, 7, 30), True)
    assert turn.people == plan.tasks["turn"].helpers  # type: ignore[index]
    [unknown] = next_due(plan, record, NOW)
    assert unknown.at is None
    assert "last turn: not noted" in unknown.what
