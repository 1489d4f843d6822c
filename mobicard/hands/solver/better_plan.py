"""What makes one plan better than another, as one number; solver, plain order and proofs share it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mobicard.hands.greedy import Seat, Seating, old_seat
from mobicard.hands.grid import Grid

LOAD_WEIGHT = 3


@dataclass(frozen=True, slots=True)
class Weights:
    """Weights that put moves waiting first, then what a re-plan should keep, then the peak, then the rest."""

    wait: int
    keep: int
    peak: int
    load: int = LOAD_WEIGHT
    own: int = 1

    @classmethod
    def of(cls, grid: Grid) -> Weights:
        """Weights large enough that no sum of lesser terms can outweigh one step of a greater one."""
        peak = 1 + len(grid.jobs) + LOAD_WEIGHT * most_load(grid)
        heavy = sum(job.move.helpers >= 2 for job in grid.jobs)
        keep = 1 + peak * (heavy + 1)
        return cls(wait=keep * (1 + len(grid.keep)), keep=keep, peak=peak)


def most_load(grid: Grid) -> int:
    """The highest load in percent anybody could reach: 100, or more where what is fixed exceeds it."""
    board = Seating(grid)
    return max([100, *(-(-100 * busy // full) for busy, full in zip(board.busy, board.full, strict=True))])


@dataclass(frozen=True, slots=True)
class Score:
    """The parts of a plan's worth; less is better in each.

    ``waiting``: ``waits_last`` summed over moves not placed. ``peak``: most two-helper moves at once.
    ``load``: busiest person's share of their time, percent. ``not_own``: moves without the patient's own
    nurse or aide though one is named. ``changed``: earlier placements not kept.
    """

    waiting: int
    peak: int
    load: int
    not_own: int
    changed: int

    def value(self, weights: Weights) -> int:
        """One number: the weighted sum."""
        light = weights.keep * self.changed + weights.load * self.load + weights.own * self.not_own
        return weights.wait * self.waiting + weights.peak * self.peak + light


def score(grid: Grid, seats: Mapping[int, Seat]) -> Score:
    """The parts of what these seats are worth."""
    board = Seating(grid, seats)
    waiting = sum(job.move.waits_last for n, job in enumerate(grid.jobs) if n not in board.seats)
    load = max((-(-100 * busy // full) for busy, full in zip(board.busy, board.full, strict=True)), default=0)
    not_own = sum(not _own(grid, n, seat) for n, seat in board.seats.items() if wants_own(grid, n))
    return Score(waiting, max(board.together, default=0), load, not_own, _changed(grid, board.seats))


def owners(grid: Grid, n: int) -> list[int]:
    """People who may lead and whose own patient this is."""
    job = grid.jobs[n]
    return [person for person in range(len(grid.staff)) if grid.owns(person, job) and grid.may_lead(person)]


def wants_own(grid: Grid, n: int) -> bool:
    """Whether the move is still open and somebody on the list has the patient as their own."""
    return grid.jobs[n].fixed is None and bool(owners(grid, n))


def _own(grid: Grid, n: int, seat: Seat) -> bool:
    return any(person in seat.people for person in owners(grid, n))


def kept_seats(grid: Grid) -> dict[int, Seat]:
    """Earlier placements that are still possible on their own, by job number."""
    out = {}
    for move_id, placed in grid.keep.items():
        n = grid.number.get(move_id)
        seat = old_seat(grid, n, placed) if n is not None and not grid.jobs[n].fixed else None
        if n is not None and seat and all(grid.can_go(p, grid.jobs[n], seat.slot) for p in seat.people):
            out[n] = seat
    return out


def _changed(grid: Grid, seats: Mapping[int, Seat]) -> int:
    kept = kept_seats(grid)
    return sum(
        n not in seats or seats[n].slot != old.slot or set(seats[n].people) != set(old.people)
        for n, old in kept.items()
    )
