"""The day plan: demand against supply, by the solver where it is installed, by the plain order where not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from time import perf_counter

from mobicard.derive.over_time.validity import shift_start, start_after
from mobicard.hands.greedy import Seat, greedy, placed_of
from mobicard.hands.grid import Grid, make_grid
from mobicard.hands.moves_asked import BedNeed, MovesAsked, moves_asked
from mobicard.hands.schedule import DayPlan, Move, Placed, Quality, Shortfall, Waiting
from mobicard.hands.sharing import shared
from mobicard.hands.shortfalls import shortfalls
from mobicard.hands.solver import solve as solver_module
from mobicard.hands.solver.better_plan import Weights, score
from mobicard.hands.supply import Span, Supply
from mobicard.rules.policy import ShiftPolicy
from mobicard.rules.policy_hands import HandsPolicy


def shift_at(now: datetime, policy: ShiftPolicy) -> Span:
    """The shift ``now`` lies in, wall clock; the lead time before a shift belongs to the coming one."""
    start = shift_start(now, policy)
    return Span(start, start_after(start, policy))


def plan_day(
    beds: Iterable[BedNeed],
    supply: Supply,
    policy: HandsPolicy,
    shift: Span,
    now: datetime,
    *,
    solver: bool = True,
    limit_s: float | None = None,
) -> DayPlan:
    """The day plan of one shift, made at ``now``; a move whose time is past is named as waiting.

    ``solver=False``, or the extra ``solver`` absent: the plain plan, which says so. ``limit_s``: seconds for
    all of it, the policy's where None. Same input, same plan.
    """
    wanted = moves_asked(beds, policy, shift)
    wanted.problems += unknown_beds(supply, wanted)
    return planned(wanted, supply, policy, shift, now, solver=solver, limit_s=limit_s)


def planned(
    wanted: MovesAsked,
    supply: Supply,
    policy: HandsPolicy,
    shift: Span,
    now: datetime,
    *,
    fixed: Mapping[str, Placed] | None = None,
    keep: Mapping[str, Placed] | None = None,
    solver: bool = True,
    limit_s: float | None = None,
) -> DayPlan:
    """The plan of a demand: what is ``fixed`` stays, what is in ``keep`` stays where it can."""
    began = perf_counter()
    held = fixed or {}
    moves = [move if move.id in held else move.clipped(now) for move in wanted.moves]
    grid = make_grid(moves, supply, policy, shift, fixed=held, keep=keep)
    plain = greedy(grid)
    # What came before the search counts, and what follows it costs about as much again.
    left = (policy.time_limit_s if limit_s is None else limit_s) - 2 * (perf_counter() - began)
    seats, quality = _seats(grid, plain, solver, left)
    waiting, short = shortfalls(grid, seats, now)
    true = {move.id: move for move in wanted.moves}
    told = tuple(_told_late(item, true, now) for item in waiting)
    return DayPlan(
        start=shift.start,
        end=shift.end,
        made_at=now,
        holds_until=shift.end,
        placed=tuple(_as_wanted(item, true) for item in placed_of(grid, seats)),
        waiting=told,
        short=short,
        problems=(*supply.problems, *wanted.problems, *_named(told, short)),
        not_asked=tuple(wanted.not_asked),
        on_their_own=tuple(wanted.on_their_own),
        quality=replace(quality, seconds=perf_counter() - began),
        staff_at=_staff_at(grid),
    )


def _seats(
    grid: Grid, plain: dict[int, Seat], solver: bool, limit_s: float
) -> tuple[dict[int, Seat], Quality]:
    """The solver's seats where it is there and has time, else those of the plain order."""
    if solver and grid.jobs and limit_s > 0 and solver_module.available():
        found = solver_module.solve(grid, plain, limit_s)
        even = shared(grid, found.seats)
        value = score(grid, even).value(Weights.of(grid))
        return even, _solved_quality(grid, replace(found, seats=even, value=value))
    plain = shared(grid, plain)
    worth_of = score(grid, plain)
    waiting = worth_of.waiting + _never_weight(grid)
    absent = "; the solver is not installed (pip install 'mobicard[solver]')"
    if solver_module.available():
        absent = "; the time ended before the search began"
    absent = absent if solver else ""
    says = f"made in plain order; no bound is known{absent}"
    return plain, Quality("plain order", waiting, worth_of.peak, says=says)


def _solved_quality(grid: Grid, found: solver_module.Solved) -> Quality:
    of, never = score(grid, found.seats), _never_weight(grid)
    quality = Quality(
        "solver",
        of.waiting + never,
        of.peak,
        found.waiting_bound + never,
        found.peak_bound,
        found.value,
        found.bound,
    )
    by_clock = "; the clock ended the search, another run may differ" if found.by_clock else ""
    return replace(quality, says=_quality_says(quality) + by_clock)


def _quality_says(quality: Quality) -> str:
    if quality.waiting > (quality.waiting_bound or 0):
        least = f"no plan can have less than {quality.waiting_bound}"
        return f"the solver's time ran out: waiting {quality.waiting}; {least}"
    if quality.peak > (quality.peak_bound or 0):
        return f"peak {quality.peak}; no plan can have less than {quality.peak_bound}"
    best = "proven best in every point" if quality.gap == 0 else f"whole gap at most {quality.gap or 0:.2%}"
    return f"no plan leaves less waiting or has a lower peak (proven); {best}"


def _never_weight(grid: Grid) -> int:
    return sum(never.move.waits_last for never in grid.impossible)


def _as_wanted(item: Placed, true: Mapping[str, Move]) -> Placed:
    """The placement with the move's own window, not the one clipped to now."""
    return item if item.fixed else replace(item, move=true.get(item.move.id, item.move))


def _told_late(item: Waiting, true: Mapping[str, Move], now: datetime) -> Waiting:
    move = true.get(item.move.id, item.move)
    says = item.says
    if move.latest - timedelta(minutes=move.minutes) < now <= move.latest or move.latest <= now:
        says = f"not done in its time, {move.earliest:%H:%M}-{move.latest:%H:%M}"
    late = replace(item.instead, move=move) if item.instead else None
    return Waiting(move, says, late)


def _named(waiting: Sequence[Waiting], short: Sequence[Shortfall]) -> list[str]:
    """Moves that wait for another reason than hands or lifts: each named among the problems."""
    told = {move for item in short for move in item.moves}
    waits = {item.move.id for item in waiting}
    return [
        f"{item.move.bed} {item.move.says}: {item.says}"
        for item in waiting
        if item.move.id not in told and item.move.with_move not in waits
    ]


def unknown_beds(supply: Supply, wanted: MovesAsked) -> list[str]:
    lone = sorted({bed for person in supply.staff for bed in person.beds} - wanted.beds)
    return [f"{bed}: assigned on the staff list, but no such bed is taken on the unit" for bed in lone]


def _staff_at(grid: Grid) -> tuple[int, ...]:
    """People on duty slot by slot."""
    return tuple(sum(own[slot] for own in grid.there) for slot in range(grid.slots))
