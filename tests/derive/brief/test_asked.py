"""Nothing is asked that the record forbids or does not know; worse facts only take asks away, add checks."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from mobicard.derive import Policy
from mobicard.derive.brief import Phase, brief_for
from mobicard.derive.brief.asked import CAN, Asked, may_be_asked
from mobicard.derive.brief.compose import WRITTEN
from mobicard.derive.brief.ways import Way
from mobicard.facts import read_record
from mobicard.facts.words import Task
from tests.derive.brief.patients_known import NOW, brief, told
from tests.derive.patients import patients, worse

POLICY = Policy()
few = settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
CHECKS = (Phase.MIND, Phase.STOP, Phase.READY)
KINDS = ["urinary catheter", "chest tube", "drip", "fistula", "tracheostomy", "feeding tube"]
ASKING = {one.id for one in WRITTEN if one.asks}
"""Lines that would ask: they may stand only with something that may be asked."""

NOT_CHECKS = {"ready.flat", "ready.belt", "ready.aid"}
"""What an order forbids goes with it: a flat bed, a belt, an aid the orders rule out."""

HANDS = {Asked.A_HAND, Asked.LEFT_HAND, Asked.RIGHT_HAND}


@st.composite
def with_lines(draw: st.DrawFn) -> dict[str, Any]:
    """Any patient, with lines of the kinds a brief knows."""
    facts = draw(patients())
    sides = st.sampled_from([{}, {"side": "left"}, {"side": "right"}])
    kinds = draw(st.lists(st.sampled_from(KINDS), max_size=3, unique=True))
    return {**facts, "lines": [{"kind": kind, **draw(sides)} for kind in kinds]}


def asked_of(facts: dict[str, Any], task: Task) -> set[Asked]:
    return set(brief_for(read_record(facts), task, POLICY, NOW).asked)


@few
@given(with_lines(), st.sampled_from(list(Task)), st.data())
def test_a_worse_fact_takes_asks_away_and_adds_none(
    facts: dict[str, Any], task: Task, data: st.DataObject
) -> None:
    """One fact worse or taken away, whatever way the move is then done."""
    _, then = data.draw(st.sampled_from(worse(facts)))
    assert asked_of(then, task) <= asked_of(facts, task)


@few
@given(with_lines(), st.sampled_from(list(Task)), st.data())
def test_a_worse_fact_adds_checks_while_the_way_is_the_same(
    facts: dict[str, Any], task: Task, data: st.DataObject
) -> None:
    """What was to be made ready, minded or stopped for still stands; a fact taken away says nothing."""
    steps = [then for says, then in worse(facts) if not says.endswith("away")]
    before = brief_for(read_record(facts), task, POLICY, NOW)
    after = brief_for(read_record(data.draw(st.sampled_from(steps))), task, POLICY, NOW)
    if before.way is after.way and before.way not in (Way.ALONE, Way.NOT_NOW):
        kept = {line.rule for line in before.lines if line.phase in CHECKS}
        now = {line.rule for line in after.lines if line.phase in CHECKS}
        assert kept - now <= NOT_CHECKS


@few
@given(with_lines(), st.sampled_from(list(Task)))
@example({"bed": "1"}, Task.CHAIR)
def test_an_ask_stands_on_recorded_facts(facts: dict[str, Any], task: Task) -> None:
    """Each line that asks says on which facts of the record, and every one of its asks holds."""
    record = read_record(facts)
    found = brief_for(record, task, POLICY, NOW)
    for line in found.lines:
        assert set(line.asks) <= may_be_asked(record, task)
        assert line.asks or line.rule not in ASKING, line.rule
        if line.asks:
            assert {"alertness", "directions", "behavior"} <= set(line.because), line.rule


@pytest.mark.parametrize("fact", ["alertness", "directions", "behavior"])
@pytest.mark.parametrize("task", list(Task))
def test_nothing_is_asked_of_one_whose_following_nobody_recorded(fact: str, task: Task) -> None:
    assert brief(task, **{fact: None}).asked == ()


@pytest.mark.parametrize(
    ("facts", "gone"),
    [
        ({"precautions": ["sternal"]}, HANDS),
        ({"arms": "neither"}, HANDS),
        ({"arms": None}, HANDS),
        ({"arms": "one"}, {Asked.LEFT_HAND, Asked.RIGHT_HAND}),
        ({"weight_bearing": None}, HANDS | {Asked.LEFT_LEG, Asked.RIGHT_LEG, Asked.STEP}),
        ({"weight_bearing": {"left_arm": "NWB"}}, {Asked.LEFT_HAND, Asked.A_HAND}),
        ({"lines": [{"kind": "fistula", "side": "right"}]}, {Asked.RIGHT_HAND, Asked.A_HAND}),
        ({"lines": [{"kind": "fistula"}]}, HANDS),
        ({"weight_bearing": {"left_leg": "NWB"}}, {Asked.LEFT_LEG, Asked.STEP}),
        ({"weight_bearing": {"right_leg": {"status": "PWB", "percent": 50}}}, {Asked.RIGHT_LEG}),
        ({"precautions": ["groin_left"]}, {Asked.LEFT_LEG, Asked.LEAN, Asked.ROLL}),
        ({"precautions": ["hip_posterior_left"]}, {Asked.LEAN, Asked.ROLL}),
        ({"precautions": ["spinal_cleared"]}, {Asked.LEAN, Asked.ROLL, Asked.CHIN, Asked.STEP}),
        ({"sitting": "unable"}, {Asked.LEAN}),
        ({"standing": "unable"}, {Asked.LEFT_LEG, Asked.RIGHT_LEG, Asked.STEP}),
        ({"stepping": None}, {Asked.STEP}),
        ({"help": {"chair": "total"}}, set(Asked) - {Asked.FOLLOW, Asked.TELL}),
        ({"directions": "unable"}, set(Asked)),
        ({"behavior": "unpredictable"}, set(Asked)),
        ({"alertness": "voice"}, set(Asked)),
    ],
)
def test_what_the_record_forbids_is_not_asked(facts: dict[str, Any], gone: set[Asked]) -> None:
    """Against the same patient without it, of whom all of it may be asked for a chair."""
    from tests.derive.brief.patients_known import patient

    assert may_be_asked(patient(), Task.CHAIR) == set(Asked)
    assert not may_be_asked(patient(**facts), Task.CHAIR) & gone


def test_no_arms_are_asked_with_a_healing_breastbone() -> None:
    found = brief("chair", precautions=["sternal"])
    assert "hand" not in " ".join(line.says for line in found.lines if line.asks)
    assert "Breastbone" in told(found)


def test_where_nothing_may_be_asked_the_patient_is_told() -> None:
    found = brief("turn", directions="unable")
    assert found.asked == ()
    assert "Say each step first" in told(found)
    assert "“Ready, steady, move.” Ask no effort." in told(found)
    unable = brief("turn", alertness="pain")
    assert "“Ready, steady, move.” Tell each step; ask no effort." in told(unable)


def test_every_ask_says_what_it_stands_on() -> None:
    assert set(CAN) == set(Asked)
