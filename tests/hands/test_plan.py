"""Whatever the unit, a day plan keeps every rule and drops nothing; same input, same plan."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mobicard.facts.words import Level, Task
from mobicard.hands.day import plan_day, shift_at
from mobicard.hands.moves_asked import BedNeed, moves_asked
from mobicard.hands.replan import replan
from mobicard.hands.schedule import DayPlan, on_the_hour, peak_together
from mobicard.hands.supply import Span, Supply
from mobicard.hands.ticks import HowFar, Tick
from mobicard.rules.policy import Policy
from tests.hands.made import (
    POLICY,
    SHIFT,
    START,
    at,
    broken,
    clash,
    lift,
    need,
    person,
    policy,
    together,
    without_staff,
    without_unit,
)

LEVELS = [level for level in Level if level is not Level.POWER]


@st.composite
def beds(draw: st.DrawFn, most: int = 8) -> list[BedNeed]:
    """A few beds with any mix of levels, goals and rounds."""
    out = []
    for n in range(draw(st.integers(1, most))):
        facts: dict[str, object] = {"weight_kg": draw(st.sampled_from([None, 60, 150, 230]))}
        goals = [{"task": "chair", "times_per_shift": draw(st.integers(1, 4))}] if draw(st.booleans()) else []
        if draw(st.booleans()):
            goals.append({"task": "walk", "times_per_shift": draw(st.integers(1, 3))})
        facts["goals"] = goals
        facts["turn_every_h"] = draw(st.sampled_from([None, 1, 2, 4]))
        facts["toilet_every_h"] = draw(st.sampled_from([None, 3]))
        if draw(st.booleans()):
            facts["appointments"] = [
                {"task": "stretcher", "at": f"2026-03-02T{draw(st.integers(7, 18)):02d}:20"}
            ]
        turn = draw(st.sampled_from([Level.LINK, Level.TEAM]))
        out.append(need(f"4W-{n + 1:02d}A", draw(st.sampled_from(LEVELS)), {Task.TURN: turn}, **facts))
    return out


@st.composite
def supplies(draw: st.DrawFn) -> Supply:
    """Up to six people with breaks and part shifts, and up to two lifts."""
    people = []
    for n in range(draw(st.integers(0, 6))):
        start = START + timedelta(minutes=30 * draw(st.integers(0, 8)))
        pause = START + timedelta(minutes=10 * draw(st.integers(12, 48)))
        role = draw(st.sampled_from(["nurse", "aide", "student"]))
        own = [f"4W-{k:02d}A" for k in draw(st.sets(st.integers(1, 8), max_size=3))]
        on = Span(start, SHIFT.end)
        people.append(person(f"P{n}", role, own, Span(pause, pause + timedelta(minutes=25)), on=on))
    rated = draw(st.lists(st.sampled_from([None, 100.0, 200.0, 300.0]), max_size=2))
    return Supply(tuple(people), tuple(lift(f"lift {n}", swl) for n, swl in enumerate(rated, 1)))


def nothing_dropped(plan: DayPlan, needs: list[BedNeed]) -> None:
    """Every move asked for is placed or waits, once."""
    wanted = sorted(move.id for move in moves_asked(needs, POLICY, SHIFT).moves)
    assert sorted(move.id for move in plan.moves) == wanted


@settings(max_examples=50, deadline=None, suppress_health_check=list(HealthCheck))
@given(beds(), supplies(), st.sampled_from(["07:00", "09:12", "14:00"]))
def test_the_plain_plan_keeps_every_rule(needs: list[BedNeed], supply: Supply, now: str) -> None:
    """No double booking, windows kept, helpers as the plan says, lifts rated; nothing dropped."""
    plan = plan_day(needs, supply, POLICY, SHIFT, at(now), solver=False)
    assert broken(plan, supply, POLICY) == []
    nothing_dropped(plan, needs)
    assert all(item.start >= at(now) for item in plan.by_time())
    assert all(item.says for item in plan.waiting)
    assert plan.quality.peak == together(plan.placed) == peak_together(plan.placed)


@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
@given(beds(4), supplies())
def test_the_solved_plan_keeps_every_rule(needs: list[BedNeed], supply: Supply) -> None:
    """So does the solver's plan; it never leaves more waiting than the plain one, nor beats its bound."""
    plan = plan_day(needs, supply, POLICY, SHIFT, START, limit_s=1.0)
    plain = plan_day(needs, supply, POLICY, SHIFT, START, solver=False)
    assert broken(plan, supply, POLICY) == []
    nothing_dropped(plan, needs)
    assert plan.quality.waiting <= plain.quality.waiting
    assert plan.quality.waiting_bound is None or plan.quality.waiting >= plan.quality.waiting_bound


@settings(max_examples=25, deadline=None)
@given(beds(5), supplies())
def test_every_waiting_move_is_accounted_for(needs: list[BedNeed], supply: Supply) -> None:
    """A move that waits stands in a shortfall, or is named among the problems with its bed."""
    plan = plan_day(needs, supply, POLICY, SHIFT, START, solver=False)
    told = {move for item in plan.short for move in item.moves}
    told |= {
        item.move.id for item in plan.waiting for line in plan.problems if line.startswith(item.move.bed)
    }
    for item in plan.waiting:
        assert item.move.id in told or item.move.with_move in told  # a way back is told with its way up


def a_small_unit() -> tuple[list[BedNeed], Supply]:
    """Six beds that take two people each for turns and meals, four people, one lift."""
    needs = [
        need(
            f"4W-{n:02d}A",
            Level.HOIST if n == 1 else Level.TEAM,
            turn_every_h=2,
            goals=[{"task": "chair", "times_per_shift": 1}],
        )
        for n in range(1, 7)
    ]
    people = tuple(person(f"P{n}", "nurse" if n < 3 else "aide") for n in range(1, 5))
    return needs, Supply(people, (lift("lift"),))


def test_same_input_same_plan() -> None:
    """Two runs on the same unit agree in every placement and figure."""
    needs, supply = a_small_unit()
    first = plan_day(needs, supply, POLICY, SHIFT, START, limit_s=30)
    again = plan_day(needs, supply, POLICY, SHIFT, START, limit_s=30)
    assert first == again


def test_the_plan_beats_the_round_on_the_hour() -> None:
    """Six two-person turns at the even hours come to a peak of 6 on the hour; spread, far less."""
    needs, supply = a_small_unit()
    plan = plan_day(needs, supply, POLICY, SHIFT, START, limit_s=30)
    assert peak_together(on_the_hour(plan.moves)) == together(on_the_hour(plan.moves)) >= 5
    assert plan.quality.peak <= 2
    assert plan.waiting == ()


def test_a_plan_survives_being_written_down() -> None:
    """From JSON comes the plan that was written, for a later re-plan."""
    needs, supply = a_small_unit()
    plan = plan_day(needs, Supply(supply.staff[:2], ()), POLICY, SHIFT, START, solver=False)
    assert plan.waiting
    assert plan.short
    assert DayPlan.from_json(plan.as_json()) == plan


def test_a_removed_lift_shows_at_once() -> None:
    """Without its only lift the patient's chair waits, and the half-hour and the lift are named."""
    needs, supply = a_small_unit()
    plan = plan_day(needs, without_unit(supply, "lift"), POLICY, SHIFT, START, solver=False)
    waits = {item.move.id for item in plan.waiting}
    assert "4W-01A chair 1" in waits
    assert any(
        "1 full-body lift short" in item.says and "4W-01A up to chair" in item.says for item in plan.short
    )
    assert not [item for item in plan.placed if item.move.bed == "4W-01A" and item.move.task is Task.CHAIR]


def test_too_few_hands_are_counted() -> None:
    """Three two-person moves in the same ten minutes and two people: four people short, by hand."""
    told = policy(turn_early_min=10, unknown_round_by_min=10)
    needs = [need(f"4W-0{n}A", Level.TEAM, turn_every_h=24) for n in (1, 2, 3)]
    people = (person("A"), person("B"))
    plan = plan_day(needs, Supply(people, ()), told, SHIFT, START)
    assert len(plan.placed) == 1
    assert [(item.at, item.people) for item in plan.short] == [(at("07:30"), 4)]
    late = [item.instead for item in plan.waiting]
    assert [item.start for item in late if item] == [at("07:40"), at("07:50")]
    assert "07:30-08:00: 4 people short; waits: 4W-0" in plan.short[0].says


def test_without_the_extra_the_plain_plan_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """No solver installed: a plan all the same, no bound claimed, and how to get the solver."""
    monkeypatch.setattr("mobicard.hands.solver.solve.find_spec", lambda _name: None)
    needs, supply = a_small_unit()
    plan = plan_day(needs, supply, POLICY, SHIFT, START)
    assert plan.placed
    assert plan.quality.bound is None
    assert "mobicard[solver]" in plan.quality.says


@pytest.mark.parametrize(
    ("now", "start", "end"),
    [
        ("07:00", "02T07", "02T19"),
        ("18:29", "02T07", "02T19"),
        ("18:30", "02T19", "03T07"),
        ("03:00", "01T19", "02T07"),
    ],
)
def test_the_shift_a_moment_lies_in(now: str, start: str, end: str) -> None:
    """The half-hour before a shift belongs to it; the night shift runs past midnight."""
    span = shift_at(at(now), Policy().shift)
    assert (f"{span.start:%dT%H}", f"{span.end:%dT%H}") == (start, end)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(beds(5), supplies(), st.sampled_from(["08:32", "11:10", "16:00"]), st.randoms(use_true_random=False))
def test_a_re_plan_keeps_what_has_begun_and_drops_nothing(
    needs: list[BedNeed], supply: Supply, now: str, dice: random.Random
) -> None:
    """Ticks and a leaving: begun moves as they were, the rest by every rule from now on, none lost."""
    before = plan_day(needs, supply, POLICY, SHIFT, START, solver=False)
    ticks = [
        Tick.of(item.move, dice.choice(list(HowFar)), item.end, "why")
        for item in before.placed
        if item.end <= at(now) and dice.random() < 0.7
    ]
    names = [one.initials for one in supply.staff]
    left = without_staff(supply, dice.choice(names), at(now)) if names else supply
    after = replan(before, needs, left, POLICY, at(now), ticks=ticks, solver=False)
    told = {tick.move: tick for tick in ticks}
    for item in before.by_time():
        tick = told.get(item.move.id)
        begun = item.start <= at(now) if tick is None else tick.outcome is not HowFar.NOT
        same = [one for one in after.placed if one.move.id == item.move.id and one.people == item.people]
        assert not begun or [one.start for one in same] == [item.start]
    fresh = replace(after, placed=tuple(item for item in after.placed if not item.fixed))
    assert broken(fresh, left, POLICY) == []
    assert all(item.start >= at(now) for item in fresh.by_time())
    stays = [item for item in after.placed if item.fixed]
    assert [text for one in stays for new in fresh.by_time() for text in clash(one, new, POLICY)] == []
    held = {item.move.id for item in stays}
    missing = {move.id for move in before.moves} - {move.id for move in after.moves} - held
    assert all(told[name.removesuffix(" back")].outcome is HowFar.NOT for name in missing)


@pytest.mark.parametrize(
    ("staff", "leads"),
    [
        ([("PO", "porter", ["4W-01A"]), ("ZN", "nurse", [])], "ZN"),
        ([("AN", "nurse", []), ("ZN", "nurse", ["4W-01A"])], "ZN"),
        ([("AN", "nurse", []), ("ZA", "aide", [])], "AN"),
        ([("AP", "porter", []), ("BP", "porter", ["4W-01A"])], None),
    ],
)
def test_who_leads_may_lead_and_is_the_patients_own_where_they_can(
    staff: list[tuple[str, str, list[str]]], leads: str | None
) -> None:
    """The first named leads: of a role that may, the patient's own before others; else nobody goes."""
    supply = Supply(tuple(person(*one) for one in staff), ())
    found = plan_day([need("4W-01A", Level.TEAM, turn_every_h=6)], supply, POLICY, SHIFT, START, solver=False)
    assert {item.people[0] for item in found.placed} == ({leads} if leads else set())
    assert bool(found.placed) is (leads is not None)
