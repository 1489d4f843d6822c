"""Once an assessment has ended, no level and no method come from it anywhere; it is history."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

sys.path.insert(0, str(Path(__file__).parent))
from cases import patient
from patients import NOW, patients

from mobicard.derive import Plan, Policy, plan_for
from mobicard.derive.why import explain, what_if
from mobicard.facts import read_record
from mobicard.facts.words import Level, Task

LATE = datetime(2026, 3, 2, 19, 31)
ON_TIME = datetime(2026, 3, 2, 19, 30)
few = settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))


def plan(now: datetime = LATE, **facts: Any) -> Plan:
    return plan_for(patient(facts), Policy(), now)


def test_a_minute_after_its_end_no_move_has_a_level_or_a_method_of_its_own() -> None:
    held, gone = plan(ON_TIME).as_json(), plan().as_json()
    assert (held["level"], held["expired"], held["last_known"]) == ("SELF", False, None)
    assert (gone["level"], gone["derived_level"], gone["helpers"]) == ("REMAIN", "REMAIN", None)
    assert {move["level"] for move in gone["tasks"].values()} == {"REMAIN"}
    assert {move["helpers"] for move in gone["tasks"].values()} == {None}
    assert not any(move["equipment"] or move["share_kg"] for move in gone["tasks"].values())
    assert "moves without help" not in str(gone)


def test_what_was_last_known_is_history_with_its_time() -> None:
    gone = plan(standing="supported").as_json()
    assert gone["last_known"] == {"level": "LINK", "at": "2026-03-02T07:10", "by": "JN"}


def test_what_a_named_person_raised_was_the_last_known() -> None:
    over = {"level": "TEAM", "reason": "tired", "by": "KM", "at": "2026-03-02T08:00"}
    gone = plan(override=over)
    assert gone.last_known is not None
    assert gone.last_known.level is Level.TEAM
    assert gone.override is None
    assert gone.conflicts == ()


def test_only_reasons_that_keep_a_patient_in_bed_or_warn_are_left() -> None:
    facts = {"standing": "supported", "lines": [{"kind": "drain", "side": "left"}]}
    gone = plan(**facts)
    rules = {reason.rule for reason in gone.headline.reasons}
    assert "time.out_of_date" in rules
    assert "chair.partial_weight_bearing" not in rules
    assert gone.headline.cautions == plan(ON_TIME, **facts).headline.cautions


def test_a_record_without_a_time_keeps_its_plan() -> None:
    """It cannot end; that nobody can say how old it is, is said."""
    bare = plan(assessed_at="none")
    assert (bare.level, bare.tasks[Task.CHAIR].helpers, bare.last_known) == (Level.SELF, 0, None)
    assert "no time" in explain(bare, "chair").lower()


def test_dated_ahead_has_no_level_and_no_history_either() -> None:
    gone = plan(datetime(2026, 3, 1, 8, 0))
    assert (gone.level, gone.expired, gone.last_known) == (Level.REMAIN, True, None)


@pytest.mark.parametrize("task", list(Task))
def test_why_says_it_ended_and_what_was_last_known(task: Task) -> None:
    said = explain(plan(standing="supported"), task)
    assert "holds no longer" in said
    assert "last known LINK, 02 Mar 07:10 by JN" in said


def test_with_one_fact_changed_it_says_why_no_level_does() -> None:
    *_, told = what_if(patient({}), {"standing": "supported"}, Policy(), LATE)
    assert "nobody stands behind this plan" in told


@few
@given(patients())
def test_an_ended_assessment_asks_for_no_less_and_keeps_every_caution(facts: dict[str, Any]) -> None:
    """Whoever it is: adding time takes no caution away and lowers no move."""
    if facts.get("assessed_at") is None:
        return
    record = read_record({name: value for name, value in facts.items() if value is not None})
    fresh, late = plan_for(record, Policy(), NOW), plan_for(record, Policy(), datetime(2026, 3, 9, 8, 0))
    for task in Task:
        assert late.tasks[task].level_rank >= fresh.tasks[task].level_rank
        if not {"Pressure", "dizzy"} & set(" ".join(fresh.tasks[task].cautions).split()):
            assert set(fresh.tasks[task].cautions) <= set(late.tasks[task].cautions)
    assert late.expired
    if late.after_fall is None:
        assert {move.level for move in late.tasks.values()} == {Level.REMAIN}
