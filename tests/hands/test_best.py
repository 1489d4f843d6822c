"""Trying every plan of small cases proves that the solver's plan is the best and its bound is true."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.hands.day import planned
from mobicard.hands.grid import Grid, make_grid
from mobicard.hands.moves_asked import MovesAsked
from mobicard.hands.schedule import DayPlan, Move, Placed, Quality
from mobicard.hands.solver.better_plan import Weights
from mobicard.hands.solver.crowded import least_waiting
from mobicard.hands.supply import Supply
from tests.hands.made import LIFT, POLICY, SHIFT, START, broken, lift, move, person, together

CASES: dict[str, tuple[Sequence[Move], Supply]] = {
    "three moves, two people, one window": (
        [move(f"m{n}", f"4W-0{n}A", "09:00", "09:20") for n in (1, 2, 3)],
        Supply((person("A"), person("B")), ()),
    ),
    "two pairs of hands wanted twice, room to stagger": (
        [move(f"m{n}", f"4W-0{n}A", "09:00", "09:30", helpers=2) for n in (1, 2)],
        Supply(tuple(person(x) for x in "ABCD"), ()),
    ),
    "no room to stagger": (
        [move(f"m{n}", f"4W-0{n}A", "09:00", "09:10", helpers=2) for n in (1, 2)],
        Supply(tuple(person(x) for x in "ABCD"), ()),
    ),
    "one lift for two": (
        [move(f"m{n}", f"4W-0{n}A", "09:00", "09:15", helpers=2, equipment=(LIFT,)) for n in (1, 2)],
        Supply(tuple(person(x) for x in "ABCD"), (lift("lift"),)),
    ),
    "the heavy patient needs the strong lift": (
        [
            move("light", "4W-01A", "09:00", "09:10", helpers=2, equipment=(LIFT,), weight_kg=60.0),
            move("heavy", "4W-02A", "09:00", "09:10", helpers=2, equipment=(LIFT,), weight_kg=220.0),
        ],
        Supply(tuple(person(x) for x in "ABCD"), (lift("small", 200.0), lift("large", 300.0))),
    ),
    "own patients before others": (
        [move("m1", "4W-01A", "09:00", "09:20"), move("m2", "4W-09A", "09:00", "09:20")],
        Supply((person("A", "nurse", ["4W-09A"]), person("B", "aide", ["4W-01A"])), ()),
    ),
    "the walk costs a slot": (
        [move(f"m{n}", f"4W-0{n}A", "09:00", "09:20", minutes=10) for n in (1, 9)],
        Supply((person("A"), person("B", "student")), ()),
    ),
    "short of hands: the lesser move waits": (
        [
            move("walk", "4W-01A", "09:00", "09:10", helpers=2, waits_last=2),
            move("turn", "4W-02A", "09:00", "09:10", helpers=2, waits_last=6),
        ],
        Supply((person("A"), person("B"), person("C")), ()),
    ),
    "one patient twice": (
        [move("m1", "4W-01A", "09:00", "09:25"), move("m2", "4W-01A", "09:00", "09:25", helpers=2)],
        Supply((person("A", "nurse", ["4W-01A"]), person("B")), ()),
    ),
    "up and back together": (
        [
            move("up", "4W-01A", "09:00", "09:10", helpers=2),
            move("back", "4W-01A", "09:30", "09:40", helpers=2, part="back", with_move="up"),
            move("other", "4W-02A", "09:30", "09:40", waits_last=5),
        ],
        Supply((person("A"), person("B")), ()),
    ),
}


def every_plan(grid: Grid) -> Iterator[list[Placed]]:
    """Every way to place or leave each job: all starts, all groups of people, all units."""
    options = []
    for job in grid.jobs:
        seats: list[Placed | None] = [None]
        for slot, group in product(job.starts, combinations(grid.staff, job.move.helpers)):
            for units in product(*job.units):
                names = tuple(grid.supply.units[unit].name for unit in units)
                seats.append(Placed(job.move, grid.at(slot), tuple(p.initials for p in group), names))
        options.append(seats)
    for chosen in product(*options):
        yield [item for item in chosen if item]


def sound(placed: list[Placed], moves: Sequence[Move], supply: Supply) -> bool:
    """Whether a plan keeps every rule, by the tests' own reading of the rules."""
    ids = {item.move.id for item in placed}
    roles = {p.initials: p.role for p in supply.staff}
    led = all(any(roles[name] in POLICY.lead_roles for name in item.people) for item in placed)
    whole = all((m.id in ids) == (m.with_move in ids) for m in moves if m.with_move)
    empty = DayPlan(
        START, SHIFT.end, START, SHIFT.end, tuple(placed), (), (), (), (), (), Quality("test", 0, 0)
    )
    return led and whole and not broken(empty, supply, POLICY)


def cost(placed: list[Placed], moves: Sequence[Move], supply: Supply, weights: Weights) -> int:
    """The worth of a plan, counted here anew from its definition."""
    done = {item.move.id for item in placed}
    waiting = sum(m.waits_last for m in moves if m.id not in done)
    busy = {p.initials: 0 for p in supply.staff}
    for item in placed:
        for name in item.people:
            busy[name] += item.move.minutes
    load = max(-(-100 * busy[p.initials] // p.minutes()) for p in supply.staff)
    leaders = [p for p in supply.staff if p.role in POLICY.lead_roles]  # a student is nobody's own nurse
    own = {m.bed: {p.initials for p in leaders if m.bed in p.beds} for m in moves}
    missed = sum(bool(own[i.move.bed]) and not own[i.move.bed] & set(i.people) for i in placed)
    return (
        weights.wait * waiting + weights.peak * together(placed) + weights.load * load + weights.own * missed
    )


@pytest.mark.parametrize("name", CASES)
def test_no_plan_beats_the_solver(name: str) -> None:
    """The solver's value equals the least of all plans, and it says so: value = bound."""
    moves, supply = CASES[name]
    grid = make_grid(moves, supply, POLICY, SHIFT)
    weights = Weights.of(grid)
    least = min(
        cost(placed, moves, supply, weights) for placed in every_plan(grid) if sound(placed, moves, supply)
    )
    plan = planned(MovesAsked(list(moves)), supply, POLICY, SHIFT, START)
    assert sound(list(plan.placed), moves, supply)
    assert cost(list(plan.placed), moves, supply, weights) == least
    assert plan.quality.value == plan.quality.bound == least
    assert plan.quality.gap == 0


@st.composite
def tiny(draw: st.DrawFn) -> tuple[list[Move], Supply]:
    """Two or three moves in half an hour, one to three people, none to two lifts."""
    moves = []
    for n in range(draw(st.integers(2, 3))):
        start = draw(st.sampled_from(["09:00", "09:05", "09:10"]))
        moves.append(
            move(
                f"m{n}",
                draw(st.sampled_from(["4W-01A", "4W-01B", "4W-09A"])),
                start,
                draw(st.sampled_from(["09:20", "09:25"])),
                helpers=draw(st.integers(1, 2)),
                minutes=draw(st.sampled_from([5, 8, 10])),
                equipment=(LIFT,) if draw(st.booleans()) else (),
                weight_kg=draw(st.sampled_from([80.0, 250.0])),
                waits_last=draw(st.integers(1, 6)),
                rests=draw(st.booleans()),
            )
        )
    role = st.sampled_from(["nurse", "aide", "student"])
    beds = st.sets(st.sampled_from(["4W-01A", "4W-09A"]))
    people = tuple(person(f"P{n}", draw(role), sorted(draw(beds))) for n in range(draw(st.integers(1, 3))))
    lifts = tuple(
        lift(f"lift {n}", draw(st.sampled_from([200.0, 300.0]))) for n in range(draw(st.integers(0, 2)))
    )
    return moves, Supply(people, lifts)


@settings(max_examples=25, deadline=None)
@given(tiny())
def test_no_plan_beats_the_solver_on_anything_tiny(case: tuple[list[Move], Supply]) -> None:
    """Random small cases, every plan tried: the solver's value is the least there is, and its bound too."""
    moves, supply = case
    grid = make_grid(moves, supply, POLICY, SHIFT)
    weights = Weights.of(grid)
    possible = [job.move for job in grid.jobs]
    least = min(
        cost(placed, possible, supply, weights) for placed in every_plan(grid) if sound(placed, moves, supply)
    )
    plan = planned(MovesAsked(list(moves)), supply, POLICY, SHIFT, START)
    assert sound(list(plan.placed), moves, supply)
    assert cost(list(plan.placed), possible, supply, weights) == least
    assert not grid.jobs or plan.quality.value == plan.quality.bound == least


@pytest.mark.parametrize("name", CASES)
def test_the_plain_order_never_claims_less_than_the_best(name: str) -> None:
    """The plain plan keeps every rule and is no better than the proven best."""
    moves, supply = CASES[name]
    best = planned(MovesAsked(list(moves)), supply, POLICY, SHIFT, START)
    plain = planned(MovesAsked(list(moves)), supply, POLICY, SHIFT, START, solver=False)
    assert sound(list(plain.placed), moves, supply)
    assert (plain.quality.waiting, plain.quality.peak) >= (best.quality.waiting, best.quality.peak)
    assert plain.quality.bound is None


def test_what_the_cases_come_to() -> None:
    """Read off the cases by hand: a stagger brings the peak to 1, one of two waits for the lift."""
    got = {
        name: planned(MovesAsked(list(moves)), supply, POLICY, SHIFT, START)
        for name, (moves, supply) in CASES.items()
    }
    assert got["two pairs of hands wanted twice, room to stagger"].quality.peak == 1
    assert got["no room to stagger"].quality.peak == 2
    assert len(got["one lift for two"].waiting) == 1
    assert [w.move.id for w in got["short of hands: the lesser move waits"].waiting] == ["walk"]
    heavy = {p.move.id: p.units for p in got["the heavy patient needs the strong lift"].placed}
    assert heavy == {"light": ("small",), "heavy": ("large",)}
    assert all(p.own for p in got["own patients before others"].placed)
    # two people cannot do "back" (2) and "other" (1) in the same ten minutes; "other" gives way last
    assert {w.move.id for w in got["up and back together"].waiting} == {"up", "back"}


@settings(max_examples=60, deadline=None)
@given(tiny())
def test_what_counting_proves_holds_of_every_plan(case: tuple[list[Move], Supply]) -> None:
    moves, supply = case
    grid = make_grid(moves, supply, POLICY, SHIFT)
    done = [{item.move.id for item in placed} for placed in every_plan(grid) if sound(placed, moves, supply)]
    least = min(sum(job.move.waits_last for job in grid.jobs if job.move.id not in ids) for ids in done)
    assert least_waiting(grid) <= least


@pytest.mark.parametrize(
    ("helpers", "people", "lifts", "least"),
    [(1, 2, 5, 1 + 2 + 3), (1, 5, 1, 1 + 2 + 3 + 4), (2, 5, 5, 1 + 2 + math.ceil(3 / 2)), (1, 5, 5, 0)],
    ids=["two people", "one lift", "two pairs and a half", "enough"],
)
def test_what_must_wait_is_counted(helpers: int, people: int, lifts: int, least: int) -> None:
    """Five moves of a quarter hour, all at nine, of weight 1 to 5: the lightest wait; the half pair is left
    out, so that with five people for pairs the third move counts in part."""
    moves = [
        move(
            f"m{n}",
            f"4W-0{n}A",
            "09:00",
            "09:15",
            helpers=helpers,
            minutes=15,
            equipment=(LIFT,),
            waits_last=n,
        )
        for n in range(1, 6)
    ]
    supply = Supply(
        tuple(person(x) for x in "ABCDE"[:people]), tuple(lift(f"lift {n}") for n in range(lifts))
    )
    assert least_waiting(make_grid(moves, supply, POLICY, SHIFT)) == least


def test_two_crowded_hours_add_up() -> None:
    supply = Supply((person("A"),), ())
    moves = [
        move(f"m{n}", f"4W-0{n}A", start, end, minutes=30, waits_last=2)
        for n, (start, end) in enumerate([("09:00", "09:30")] * 2 + [("11:00", "11:30")] * 3)
    ]
    assert least_waiting(make_grid(moves, supply, POLICY, SHIFT)) == 2 + 4


def test_a_search_that_proved_nothing_still_says_what_no_plan_can_beat(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of twelve moves of half an hour, all at nine, two people do two; the bound was 0."""
    monkeypatch.setattr("mobicard.hands.solver.solve._run", lambda *_: (None, 0))
    moves = [move(f"m{n}", f"4W-{n:02}A", "09:00", "09:30", minutes=30) for n in range(1, 13)]
    quality = planned(MovesAsked(moves), Supply((person("A"), person("B")), ()), POLICY, SHIFT, START).quality
    assert quality.waiting_bound == quality.waiting == sum(one.waits_last for one in moves[:10])
    assert quality.bound
