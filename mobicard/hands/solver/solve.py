"""The best plan a constraint solver finds in its time, with a bound no plan can beat (OR-Tools CP-SAT)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.util import find_spec
from time import monotonic
from typing import Any

from mobicard.hands.greedy import Seat, Seating, fill
from mobicard.hands.grid import Grid
from mobicard.hands.solver.better_plan import Weights, kept_seats, score
from mobicard.hands.solver.crowded import least_waiting
from mobicard.hands.solver.unbeatable import Rough
from mobicard.hands.solver.who_goes import Named

SEED = 7
WORK = 0.5
"""The solver's own count of work for each second of the limit: below what an idle core does."""
SMALL = 700
"""Most yes-or-no choices of who goes where for which everything is solved at once."""
LARGE = 6000
"""Choices from which on no model of the whole with names is built: that alone would outlast the limit."""


@dataclass(frozen=True, slots=True)
class Solved:
    """The solver's answer: seats, worth as one number, the proven bound, the bounds of its chief parts.

    ``peak_bound`` is the least peak of any plan that leaves no more waiting than the best rough one.
    ``by_clock``: the wall clock ended it before its work was done, so another run may differ.
    """

    seats: dict[int, Seat]
    value: int
    bound: int
    waiting_bound: int
    peak_bound: int
    by_clock: bool = False


def available() -> bool:
    """Whether the optional extra ``solver`` is installed."""
    return find_spec("ortools") is not None


def solve(grid: Grid, first: Mapping[int, Seat], limit_s: float) -> Solved:
    """Improve on ``first`` within ``limit_s`` seconds of work; the same input gives the same plan.

    1. Times only, people as a number: the least waiting and the least peak any plan can have.
    2. People for those times. 3. Stretch after stretch of the shift planned anew while it helps.
    4. Where it is small, everything at once, begun at the best plan so far.
    Where it is large, 3 comes first, corridor by corridor, then 1. The building of the models counts; what is
    reached by then is the answer. Raises ImportError without the extra ``solver``.
    """
    clock, weights = _Clock(limit_s), Weights.of(grid)
    if is_large(grid):
        best = _by_stretches(grid, weights, dict(first), clock, 0.4)
        least = _least(grid, best, clock)
        return _solved(grid, weights, best, least, least.floor(weights), clock)
    least = _least(grid, first, clock)
    floor = least.floor(weights)
    best = dict(first)
    if grid.keep:
        best = _around_what_is_kept(grid, weights, best, clock)
    elif least.starts:
        timed = Named(grid, weights, at=least.starts)
        best = _better(grid, weights, best, _named(timed, clock, 0.4)[0])
    reached = score(grid, best)
    if reached.waiting > least.waiting or (reached.peak > least.peak and not grid.keep):
        best = _by_stretches(grid, weights, best, clock)
    if len(grid.jobs) * len(grid.staff) <= SMALL:
        whole = Named(grid, weights, floor=floor)
        whole.hint(best)
        found, bound = _named(whole, clock, 1.0)
        best, floor = _better(grid, weights, best, found), max(floor, bound)
    return _solved(grid, weights, best, least, floor, clock)


def is_large(grid: Grid) -> bool:
    """Whether one model of who goes where would take longer to build than there is time."""
    return len(grid.jobs) * len(grid.staff) >= LARGE


def _solved(
    grid: Grid, weights: Weights, best: dict[int, Seat], least: _Least, floor: int, clock: _Clock
) -> Solved:
    best = _filled(grid, weights, best)
    value = _value(grid, best, weights)
    return Solved(best, value, min(floor, value), least.waiting_bound, least.peak_bound, clock.out)


class _Clock:
    """Work left, by the solver's own count, the same on every machine; the wall clock as last resort."""

    def __init__(self, limit_s: float) -> None:
        self.limit = self.left = limit_s * WORK
        self.whole, self.end = limit_s, monotonic() + limit_s
        self.out = False

    def share(self, part: float) -> float:
        """This part of the whole work, or what is left of it."""
        return max(0.0, min(part * self.limit, self.left))

    def seconds(self, part: float = 1.0) -> float:
        """Wall-clock seconds left, at most half as much again as this part of the whole."""
        return max(0.0, min(self.end - monotonic(), 1.5 * part * self.whole))

    def goes_on(self, leave: float = 0.1) -> bool:
        """Whether there is time to build and solve one more small model, and to leave this part of it."""
        self.out = self.out or self.seconds() <= leave * self.whole
        return self.left > 0.2 * self.limit and self.seconds() > leave * self.whole


@dataclass(frozen=True, slots=True)
class _Least:
    """What the rough model reached and proved. ``peak_bound`` holds for plans that leave no more waiting."""

    starts: dict[int, int]
    waiting: int
    waiting_bound: int
    peak: int
    peak_bound: int

    def floor(self, weights: Weights) -> int:
        """The least worth of any plan; the peak counts only where the least waiting is proven."""
        peak = self.peak_bound if self.waiting == self.waiting_bound else 0
        return weights.wait * self.waiting_bound + weights.peak * peak


def _least(grid: Grid, first: Mapping[int, Seat], clock: _Clock) -> _Least:
    """First the least waiting, by counting and by search; then with no more than that the least peak."""
    from ortools.sat.python import cp_model

    counted, model = least_waiting(grid), cp_model.CpModel()
    rough = Rough(grid, model)
    starts = {n: seat.slot for n, seat in first.items()}
    start_worth = score(grid, first)
    rough.hint(starts)
    model.minimize(rough.waiting)
    solver, waiting_bound = _run(model, clock, 0.3)
    waiting_bound = max(waiting_bound, counted)
    waiting = start_worth.waiting
    if solver:
        starts, waiting = rough.starts(solver), round(solver.objective_value)
    model.add(rough.waiting <= waiting)
    rough.hint(starts)
    model.minimize(rough.peak)
    solver, peak_bound = _run(model, clock, 0.2)
    peak = round(solver.objective_value) if solver else start_worth.peak
    return _Least(rough.starts(solver) if solver else starts, waiting, waiting_bound, peak, peak_bound)


def _run(model: Any, clock: _Clock, part: float) -> tuple[Any, int]:
    """The solver once it has found something (else None), and the proven lower bound."""
    from ortools.sat.python import cp_model

    limit, seconds = clock.share(part), clock.seconds(part)
    if limit <= 0 or seconds <= 0:
        clock.out = clock.out or seconds <= 0
        return None, 0
    solver = cp_model.CpSolver()
    solver.parameters.random_seed = SEED
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = limit
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    clock.left -= solver.response_proto.deterministic_time
    clock.out = clock.out or solver.wall_time >= seconds
    bound = math.ceil(solver.best_objective_bound - 1e-6) if status != cp_model.INFEASIBLE else 0
    return (solver if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None), max(0, bound)


def _named(model: Named, clock: _Clock, part: float) -> tuple[dict[int, Seat] | None, int]:
    """Seats found (None if none) and the proven lower bound, in this part of the clock's work."""
    solver, bound = _run(model.model, clock, part)
    return (model.seats(solver) if solver else None), bound


def _better(
    grid: Grid, weights: Weights, best: dict[int, Seat], found: dict[int, Seat] | None
) -> dict[int, Seat]:
    if found is None or _value(grid, found, weights) >= _value(grid, best, weights):
        return best
    return found


def _around_what_is_kept(
    grid: Grid, weights: Weights, best: dict[int, Seat], clock: _Clock
) -> dict[int, Seat]:
    """Leave every earlier placement that stands where it is; plan the others around them."""
    kept = kept_seats(grid)
    held = {n: seat for n, seat in best.items() if n in kept and seat.slot == kept[n].slot}
    free = set(range(len(grid.jobs))) - set(held)
    model = Named(grid, weights, held=held, free=free)
    model.hint(best)
    return _better(grid, weights, best, _named(model, clock, 0.3)[0])


def _by_stretches(
    grid: Grid, weights: Weights, best: dict[int, Seat], clock: _Clock, leave: float = 0.1
) -> dict[int, Seat]:
    """Plan one stretch of the shift anew, the rest held, then the next, until a round gains nothing."""
    width = 180 // grid.policy.grid_min
    if grid.slots <= width:
        return best
    while clock.goes_on(leave):
        before = _value(grid, best, weights)
        for free in _stretches(grid, best, width):
            if not clock.goes_on(leave):
                break
            held = {n: seat for n, seat in best.items() if n not in free}
            part = Named(grid, weights, held=held, free=free)
            part.hint(best)
            best = _better(grid, weights, best, _named(part, clock, 0.15 if is_large(grid) else 0.05)[0])
        if _value(grid, best, weights) >= before:
            break
    return best


def _stretches(grid: Grid, best: Mapping[int, Seat], width: int) -> list[set[int]]:
    """Jobs to plan anew together: stretch after stretch; where large each corridor's, most waiting first."""
    parts = grid.corridors if is_large(grid) else (frozenset(range(len(grid.jobs))),)
    found = []
    for start in range(0, grid.slots, width // 2):
        now = {n for n, job in enumerate(grid.jobs) if start <= (job.low + job.high) // 2 < start + width}
        found += [
            free | {grid.partner[n] for n in free if n in grid.partner} for free in map(now.__and__, parts)
        ]
    if len(parts) > 1:
        found.sort(key=lambda free: -sum(grid.jobs[n].move.waits_last for n in free - best.keys()))
    return [free for free in found if free]


def _filled(grid: Grid, weights: Weights, best: dict[int, Seat]) -> dict[int, Seat]:
    """The best plan with whatever still fits put in, where that makes it better."""
    board = Seating(grid, best)
    fill(
        board,
        sorted(set(range(len(grid.jobs))) - set(best), key=lambda n: (-grid.jobs[n].move.waits_last, n)),
    )
    return _better(grid, weights, best, board.seats)


def _value(grid: Grid, seats: Mapping[int, Seat], weights: Weights) -> int:
    return score(grid, seats).value(weights)
