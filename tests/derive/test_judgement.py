"""A judgement has a floor: what the record shows of the patient and of the move is not judged away."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
from cases import WELL, patient
from patients import NOW, patients

from mobicard.derive import Plan, Policy, plan_for, why_not_judged
from mobicard.facts import read_record
from mobicard.facts.words import Help, Level, Task

SAME_KIND = (Task.STAND, Task.CHAIR, Task.TOILET)
UNSTEADY = {"sitting": "supported", "standing": "supported"}
"""TEAM by the table, though every move was seen to take no help: the one kind of level to judge lower."""

few = settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))


def judged(level: str, at: str = "2026-03-02T07:30") -> dict[str, str]:
    return {"level": level, "reason": "own judgement", "by": "JN", "at": at}


def plan(now: datetime = NOW, **facts: Any) -> Plan:
    return plan_for(patient(facts), Policy(), now)


@pytest.mark.parametrize(
    ("facts", "asked", "why"),
    [
        ({"sitting": "unable"}, "TEAM", "cannot sit"),
        ({"standing": "unable"}, "SELF", "cannot stand"),
        ({"standing": "unable", "arms": "one"}, "LINK", "cannot stand"),
        ({"behavior": "combative", "standing": "supported"}, "LINK", "combative"),
        ({"operation": {"at": "2026-03-02T07:20"}}, "SELF", "operation"),
        ({"fall_event": {"at": "2026-03-02T07:20"}}, "SELF", "fall"),
        ({"precautions": ["bed_rest"]}, "SELF", "ed rest"),
        ({"help": {"chair": "total"}}, "LINK", "three quarters of the work"),
        ({"help": {"toilet": "total"}, **UNSTEADY}, "LINK", "three quarters of the work"),
        ({"help": {"stand": "contact_guard"}, **UNSTEADY}, "NEARBY", "a hand on the patient"),
        ({"help": {"chair": "moderate"}, "standing": "supported"}, "LINK", "what the most helpers may lift"),
        ({"help": {"chair": "minimal"}}, "LINK", "one helper's limit"),
        ({"help": {"chair": "minimal"}, "weight_kg": 150}, "LINK", "what the most helpers may lift"),
        ({"help": {"chair": "minimal"}, "weight_kg": "none"}, "LINK", "what the most helpers may lift"),
        ({"helpers_used": {"toilet": 2}, **UNSTEADY}, "LINK", "More than one helper was used"),
        ({"alertness": "voice"}, "LINK", "Wakes only to voice"),
        ({"stepping": "unable", "arms": "one", "precautions": ["sternal"]}, "POWER", "not safe here"),
    ],
)
def test_a_lowering_the_record_contradicts_is_refused_with_the_reason(
    facts: dict[str, Any], asked: str, why: str
) -> None:
    """Both before it is made and where a record carries it: not lowered, and the plan says why."""
    bare, found = plan(**facts), plan(**facts, override=judged(asked))
    assert Level(asked).rank < bare.level_rank
    assert why in why_not_judged(patient(facts), Level(asked), Policy(), NOW)
    assert (found.level, found.override) == (bare.level, None)
    (said,) = [conflict.says for conflict in found.conflicts if conflict.fields == ("override",)]
    assert why in said
    assert f"No override lowers {bare.level} to {asked} (JN)" in said


def test_what_the_record_does_not_deny_may_be_lowered() -> None:
    assert why_not_judged(patient(UNSTEADY), Level.LINK, Policy(), NOW) == ""
    assert plan(**UNSTEADY, override=judged("LINK")).level is Level.LINK


def test_raising_is_never_refused() -> None:
    for facts in ({}, UNSTEADY, {"standing": "unable"}, {"precautions": ["bed_rest"]}):
        above = [level for level in Level if level.rank >= plan(**facts).level_rank]
        assert [why_not_judged(patient(facts), level, Policy(), NOW) for level in above] == [""] * len(above)


def test_nothing_is_judged_lower_on_an_assessment_that_has_ended() -> None:
    late = datetime(2026, 3, 2, 19, 31)
    assert "assess again" in why_not_judged(patient(UNSTEADY), Level.LINK, Policy(), late).lower()


def test_the_people_seen_to_be_needed_stay() -> None:
    """Two were used for the toilet: TEAM stands with two, however few the level itself takes."""
    used = {**UNSTEADY, "helpers_used": {"toilet": 3}, "lines": [{"kind": "a"}] * 1, "arms": "one"}
    found = plan(**used, stepping="unable", override=judged("TEAM"))
    assert found.override is not None
    assert (found.level, found.helpers) == (Level.TEAM, 3)


def test_a_lowering_ends_with_the_next_assessment() -> None:
    """Judged at 07:30, looked at again at 07:45: the level is the derived one, and the plan says so."""
    before = plan(**UNSTEADY, override=judged("LINK"))
    again = plan(**UNSTEADY, override=judged("LINK"), assessed_at="2026-03-02T07:45")
    assert (before.level, again.level) == (Level.LINK, Level.TEAM)
    assert any("ended with the next look" in conflict.says for conflict in again.conflicts)


def test_a_lowering_in_the_minute_of_the_assessment_stands() -> None:
    facts = {**UNSTEADY, "assessed_at": "2026-03-02T07:30:40"}
    assert plan(**facts, override=judged("LINK")).level is Level.LINK


DONE = [answer.value for answer in Help if answer.was_done]
LOWERED = st.fixed_dictionaries(
    {
        "bed": st.just("4W-12A"),
        "assessed_at": st.just("2026-03-02T07:10"),
        "alertness": st.just("alert"),
        "directions": st.sampled_from(["reliable", "with_cues", "unable"]),
        "behavior": st.sampled_from(["calm", "fearful", "unpredictable", "combative"]),
        "sitting": st.sampled_from(["steady", "supported"]),
        "standing": st.just("supported"),
        "stepping": st.sampled_from(["walks", "pivots", "unable"]),
        "arms": st.sampled_from(["both", "one"]),
        "help": st.fixed_dictionaries(
            {task.value: st.sampled_from(DONE) for task in SAME_KIND}
            | {task.value: st.just("independent") for task in Task if task not in SAME_KIND}
        ),
        "helpers_used": st.sampled_from([{}, {}, {"toilet": 2}, {"chair": 3}]),
        "weight_kg": st.sampled_from([None, 45, 70, 140, 200]),
        "override": st.sampled_from([judged(level.value) for level in Level if level is not Level.REMAIN]),
    }
)
"""Patients up and about whose level asks for more than every move was seen to take: most lowerings."""


def observed(facts: dict[str, Any]) -> tuple[int, int]:
    """Rank and people of a well patient whose moves took the help, the people and the load recorded here."""
    seen = {task: facts.get("help", {}).get(task.value) for task in SAME_KIND}
    done = {task.value: answer for task, answer in seen.items() if answer and Help(answer).was_done}
    weight = {name: facts[name] for name in ("weight_kg", "height_cm") if facts.get(name) is not None}
    bare = {key: value for key, value in WELL.items() if key != "weight_kg"}
    well = {**bare, **weight, "help": {**WELL["help"], **done}, "helpers_used": facts.get("helpers_used", {})}
    found = plan_for(read_record(well), Policy(), NOW)
    moves = [found.tasks[task] for task in SAME_KIND]
    return max(move.level_rank for move in moves), max(move.helpers or 0 for move in moves)


@few
@given(st.one_of(patients(), LOWERED))
@example(
    {
        "bed": "1",
        **UNSTEADY,
        "help": dict.fromkeys(("stand", "chair", "toilet"), "standby"),
        "helpers_used": {},
        "override": judged("SELF"),
    }
)
def test_no_override_goes_below_what_was_seen(facts: dict[str, Any]) -> None:
    """Whatever the record and whatever is judged: the level and the people seen for moves of its kind."""
    assume(facts.get("override"))
    record = read_record({name: value for name, value in facts.items() if value is not None})
    found = plan_for(record, Policy(), NOW)
    rank, people = observed(facts)
    assert found.level_rank >= min(rank, found.derived_level.rank)
    if found.helpers is not None and found.override is not None and found.override.lowers:
        assert found.helpers >= people


@few
@given(patients())
def test_the_plan_and_the_question_before_it_give_one_answer(facts: dict[str, Any]) -> None:
    """What is refused when asked is not in force when carried, and what is allowed is."""
    bare = {name: value for name, value in facts.items() if value is not None and name != "override"}
    record = read_record(bare)
    for level in Level:
        over = {"level": level, "reason": "own judgement", "by": "JN", "at": NOW}
        found = plan_for(record.changed(override=over), Policy(), NOW)
        refused = bool(why_not_judged(record, level, Policy(), NOW))
        if found.last_known is None and not (found.expired and found.assessed_at):
            assert refused is (found.override is None)
