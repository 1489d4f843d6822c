"""Practice: the same number the same patient, every move and level in reach, hard ones oftener, no score."""

from __future__ import annotations

from collections import Counter
from random import Random

from mobicard.derive import Policy
from mobicard.derive.brief.practice import (
    Answered,
    _hard,
    _whole,
    beside,
    case,
    derived,
    of_the_questions,
    told,
)
from mobicard.derive.brief.ways import Way
from mobicard.derive.conflicts import contradictions
from mobicard.facts.words import Level, Task
from tests.derive.brief.patients_known import NOW

POLICY = Policy()
CASES = [case(number, POLICY, NOW) for number in range(80)]


def test_the_same_number_gives_the_same_patient() -> None:
    assert case(7, POLICY, NOW) == CASES[7]
    assert len({str(one.record) for one in CASES}) == len(CASES)


def test_the_cases_reach_over_moves_and_levels() -> None:
    assert {one.task for one in CASES} == set(Task)
    levels = Counter(derived(one, POLICY, NOW)[0].tasks[one.task].level for one in CASES)
    assert set(levels) >= {Level.LINK, Level.TEAM, Level.HOIST, Level.REMAIN}


def test_hard_ones_come_oftener_than_they_would_by_chance() -> None:
    """Where one answer more or less changes level or people: the shown ones above any that are drawn."""
    draw = Random(1)
    any_drawn = [_hard(_whole(draw, Task.CHAIR, NOW), Task.CHAIR, POLICY, NOW) for _ in range(40)]
    shown = [case(number, POLICY, NOW, Task.CHAIR).hard for number in range(40)]
    assert sum(shown) > 1.2 * sum(any_drawn)


def test_no_case_contradicts_itself() -> None:
    """Nobody is asked what to do for one who cannot stand but walks."""
    assert [one.number for one in CASES if contradictions(one.record)] == []


def test_a_case_of_one_move_is_of_that_move() -> None:
    assert case(3, POLICY, NOW, Task.TURN).task is Task.TURN


def test_what_was_said_stands_beside_what_is_derived() -> None:
    """Five questions, in the order asked; what nobody answered is a dash, and nothing says right or wrong."""
    found = case(0, POLICY, NOW, Task.CHAIR)
    plan, brief = derived(found, POLICY, NOW)
    rows = list(beside(Answered(Level.SELF, 0), plan, brief))
    assert [name for name, _, _ in rows] == ["level", "people", "gear", "bed", "side"]
    assert [yours for _, yours, _ in rows] == ["SELF", "0", "-", "-", "-"]
    assert rows[0][2] == plan.tasks[Task.CHAIR].level.value


def test_the_patient_is_told_with_everything_that_decides() -> None:
    """Nothing that the derivation uses is kept from who practises."""
    for one in CASES:
        text = " ".join(told(one.record, one.task))
        assert text.count(":") >= 8
        for line in one.record.lines:
            assert line.kind in text
        for item in one.record.precautions:
            assert item.value.replace("_", " ") in text


def test_height_and_side_have_their_source_too() -> None:
    """Level and people have the plan's reasons; what the brief adds has its own, each by name."""
    for one in CASES:
        _, brief = derived(one, POLICY, NOW)
        sourced = of_the_questions(brief)
        assert all(line.rule and line.source for line in sourced)
        if brief.bed_height is not None and brief.way is not Way.LIFT:
            assert [line for line in sourced if line.rule.startswith("ready.height")], brief.way
        if brief.scene is not None and brief.scene.turn:
            assert [line for line in sourced if line.rule in ("do.turn", "do.aid_seat")]


def test_a_side_is_told_only_where_the_way_has_one() -> None:
    """Up in the chair has none; a turn has."""
    for one in CASES:
        plan, brief = derived(one, POLICY, NOW)
        (side,) = [ours for name, _, ours in beside(Answered(), plan, brief) if name == "side"]
        if brief.way in (Way.PUSH_BACK, Way.BOOST, Way.WALK):
            assert side == "either side"
        if brief.way in (Way.ROLL, Way.PIVOT):
            assert side.startswith("to the patient's ")
