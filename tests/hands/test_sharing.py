"""Moves by hand are shared out; a large unit's plan is found corridor by corridor, within its time."""

from __future__ import annotations

from collections import Counter

import pytest

from mobicard.facts.words import Level
from mobicard.hands.day import plan_day, planned
from mobicard.hands.grid import Grid, make_grid
from mobicard.hands.moves_asked import MovesAsked
from mobicard.hands.schedule import DayPlan
from mobicard.hands.sharing import BY_HAND
from mobicard.hands.solver import solve as solver_module
from mobicard.hands.supply import Span, Supply
from tests.hands.made import POLICY, SHIFT, START, at, broken, move, need, person

BEDS = [f"4W-{n:02}A" for n in range(1, 9)]
MOVES = [move(f"{bed}{hour}", bed, f"{hour:02}:00", f"{hour:02}:50") for bed in BEDS for hour in range(8, 11)]


def counts(plan: DayPlan) -> Counter[str]:
    return Counter(name for item in plan.placed if item.move.level in BY_HAND for name in item.people)


@pytest.mark.parametrize("solver", [False, True])
def test_who_owns_all_patients_does_not_do_all_moves_by_hand(solver: bool) -> None:
    """One nurse has every patient as her own; with three others there nobody has many more than another."""
    lunch = Span(at("09:00"), at("09:30"))
    staff = (person("A", "nurse", BEDS), person("B", "nurse", (), lunch), person("C"), person("D"))
    supply = Supply(staff, ())
    plan = planned(MovesAsked(MOVES), supply, POLICY, SHIFT, START, solver=solver, limit_s=1)
    assert broken(plan, supply, POLICY) == []
    assert not plan.waiting
    by_hand = [counts(plan)[name] for name in "ABCD"]
    assert max(by_hand) - min(by_hand) <= POLICY.manual_spread


def test_each_pair_of_beds_is_measured_once(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, str]] = []
    measure = Grid._walk
    monkeypatch.setattr(Grid, "_walk", lambda self, *pair: asked.append(pair) or measure(self, *pair))
    supply = Supply(tuple(person(name) for name in "AB"), ())
    planned(MovesAsked(MOVES), supply, POLICY, SHIFT, START, limit_s=1)
    assert asked
    assert len(asked) == len(set(asked))


def test_a_large_unit_is_planned_corridor_by_corridor(monkeypatch: pytest.MonkeyPatch) -> None:
    """No model holds the whole: each holds a stretch of one corridor; the plan is sound and no worse."""
    monkeypatch.setattr(solver_module, "LARGE", 1)
    monkeypatch.setattr("mobicard.hands.grid.CORRIDOR", 2)
    open_at_once: list[int] = []

    class Noted(solver_module.Named):
        def __init__(self, *args: object, **more: object) -> None:
            super().__init__(*args, **more)  # type: ignore[arg-type]
            open_at_once.append(len({self.grid.jobs[n].move.bed for n in self.open}))

    monkeypatch.setattr(solver_module, "Named", Noted)
    beds = [need(bed, Level.TEAM, turn_every_h=2) for bed in BEDS]
    supply = Supply(tuple(person(name, "nurse") for name in "ABC"), ())
    plain = plan_day(beds, supply, POLICY, SHIFT, START, solver=False)
    found = plan_day(beds, supply, POLICY, SHIFT, START, limit_s=2)
    assert broken(found, supply, POLICY) == []
    assert open_at_once
    assert max(open_at_once) <= 2
    assert found.quality.waiting <= plain.quality.waiting
    assert found.quality.gap is not None


def test_corridors_are_neighbouring_rooms() -> None:
    grid = make_grid(
        [move(f"m{bed}", bed, "09:00", "10:00") for bed in ("5W-30A", "4W-02A", "4W-01A")],
        Supply((person("A"),), ()),
        POLICY,
        SHIFT,
    )
    (only,) = grid.corridors
    assert only == {0, 1, 2}


def test_without_time_the_plain_order_answers_and_says_so() -> None:
    supply = Supply((person("A"), person("B")), ())
    plan = planned(MovesAsked(MOVES), supply, POLICY, SHIFT, START, limit_s=1e-9)
    assert plan.placed
    assert "the time ended before the search began" in plan.quality.says
