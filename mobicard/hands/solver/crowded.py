"""What must wait in any plan, by counting alone: where more is asked within some hours than there is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from mobicard.hands.greedy import Seating
from mobicard.hands.grid import Grid

HALF_HOUR_MIN, MANY = 30, 300
"""With so many moves hours are cut at half hours only: finer takes longer than it finds more."""

Asked = Sequence[tuple[int, int, int, int]]
"""First slot, end, slots of the thing, and what it weighs to leave it waiting; one for each move."""


@dataclass(frozen=True, slots=True)
class Counted:
    """One thing that moves share, people or the units of a class: what is asked, what there is by slot."""

    asked: Asked
    there: Sequence[int]


def least_waiting(grid: Grid) -> int:
    """The least ``waits_last``, summed, of any plan: true of every plan, however many hours it takes to find.

    A move whose whole time lies within some hours needs its slots there; what is over has to wait, the
    lightest first and the last one in part (the relaxed knapsack). Hours that do not overlap add up. Walks,
    single people's breaks and up and back as a pair are left out, so the true least may be higher.
    """
    half_hour = max(1, HALF_HOUR_MIN // grid.policy.grid_min)
    return max((math.ceil(_over(one, grid.slots, half_hour) - 1e-6) for one in _counted(grid)), default=0)


def _over(counted: Counted, slots: int, half_hour: int) -> float:
    """The most that separate stretches of the shift prove together."""
    step = half_hour if len(counted.asked) >= MANY else 1
    cuts = [*range(0, slots, step), slots]
    best = [0.0] * len(cuts)
    for end in range(1, len(cuts)):
        inside = [one for one in counted.asked if one[1] <= cuts[end]]
        over = _needed_from(inside, slots)
        for start in range(end):
            more = over[cuts[start]] - sum(counted.there[cuts[start] : cuts[end]])
            left = _left([one for one in inside if one[0] >= cuts[start]], more) if more > 0 else 0.0
            best[end] = max(best[end], best[start] + left)
    return best[-1]


def _needed_from(asked: Asked, slots: int) -> list[int]:
    """What moves need that begin at a slot or later, by slot."""
    needed = [0] * (slots + 1)
    for low, _, need, _ in asked:
        needed[low] += need
    return list(accumulate(reversed(needed)))[::-1]


def _left(asked: Asked, over: float) -> float:
    """The least weight of moves that need so much together."""
    left = 0.0
    for light, need in sorted((weight / need, need) for _, _, need, weight in asked):
        left += light * min(need, over)
        over -= need
        if over <= 0:
            break
    return left


def _counted(grid: Grid) -> Iterator[Counted]:
    """People first; then each set of units that some move depends on."""
    fixed = Seating(grid)
    open_jobs = [job for n, job in enumerate(grid.jobs) if n not in fixed.seats]
    asked = [
        (job.low, job.high + job.slots, job.slots * job.move.helpers, job.move.waits_last)
        for job in open_jobs
        if job.move.helpers
    ]
    yield Counted(asked, free_people(grid, fixed))
    for fit, numbers in by_units(grid, [n for n in range(len(grid.jobs)) if n not in fixed.seats]):
        users = [grid.jobs[n] for n in numbers]
        needs = [(job.low, job.high + job.slots, job.slots, job.move.waits_last) for job in users]
        yield Counted(needs, free_units(grid, fixed, fit))


def by_units(grid: Grid, numbers: Sequence[int]) -> Iterator[tuple[frozenset[int], list[int]]]:
    """Each set of units that some move depends on, with the moves that nothing outside it could serve."""
    own = {n: [frozenset(units) for units in grid.jobs[n].units if units] for n in numbers}
    for fit in dict.fromkeys(units for sets in own.values() for units in sets):
        yield fit, [n for n, sets in own.items() if any(units <= fit for units in sets)]


def free_people(grid: Grid, fixed: Seating, wide: int = 1) -> list[int]:
    """People on duty and not at a fixed move for ``wide`` slots on end, by the first slot."""
    counts = [0] * grid.slots
    for person, numbers in enumerate(fixed.of_person):
        busy = {
            slot
            for n in numbers
            for slot in range(fixed.seats[n].slot, fixed.seats[n].slot + grid.jobs[n].slots)
        }
        on = [own and slot not in busy for slot, own in enumerate(grid.there[person])]
        for slot in range(grid.slots):
            counts[slot] += all(on[slot : slot + wide])
    return counts


def free_units(grid: Grid, fixed: Seating, fit: frozenset[int]) -> list[int]:
    """Units of the set that no fixed move has, by slot, bringing them to the next bed counted."""
    there = [len(fit)] * grid.slots
    for n in (n for unit in fit for n in fixed.of_unit[unit]):
        at = fixed.seats[n].slot
        for slot in range(at, min(at + grid.unit_slots(grid.jobs[n]), grid.slots)):
            there[slot] -= 1
    return [max(0, free) for free in there]
