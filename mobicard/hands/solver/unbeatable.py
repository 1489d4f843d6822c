"""What no plan can beat: the shift by slots with people as a number, which leaves out only who goes where."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from mobicard.hands.greedy import Seating
from mobicard.hands.grid import Grid
from mobicard.hands.solver.crowded import by_units, free_people, free_units


class Rough:
    """A model with one yes-or-no for each possible start of each job.

    It keeps every rule but the names of the people and the walks between rooms, so the least waiting and the
    least peak it proves hold for every plan.
    """

    def __init__(self, grid: Grid, model: Any) -> None:
        self.grid, self.model = grid, model
        self.fixed = Seating(grid)
        self.open = [n for n in range(len(grid.jobs)) if n not in self.fixed.seats]
        self.at = {(n, s): model.new_bool_var(f"at{n}_{s}") for n in self.open for s in grid.jobs[n].starts}
        for n in self.open:
            model.add_at_most_one(self.at[n, s] for s in grid.jobs[n].starts)
        self._pairs()
        self._people()
        self._patients()
        self._units()
        self._measures()

    def _there(self, n: int) -> Any:
        return sum(self.at[n, s] for s in self.grid.jobs[n].starts)

    def _running(self, n: int, slot: int, length: int) -> list[Any]:
        """The starts at which the job is still going on at ``slot`` when it takes ``length`` slots."""
        job = self.grid.jobs[n]
        low, high = max(job.low, slot - length + 1), min(job.high, slot)
        return [self.at[n, s] for s in range(low, high + 1)]

    def _pairs(self) -> None:
        """Up and back together, and no sitting too long."""
        for up, back in self.grid.pairs:
            if up not in self.open or back not in self.open:
                continue
            job = self.grid.jobs[back]
            self.model.add(self._there(up) == self._there(back))
            for slot in self.grid.jobs[up].starts:
                late = [self.at[back, s] for s in job.starts if self.grid.sits_too_long(slot, job, s)]
                for one in late:
                    self.model.add_at_most_one([self.at[up, slot], one])

    def _people(self) -> None:
        """Never more people at work than are there; nor, across changes, than stay for the whole move."""
        fewer = free_people(self.grid, self.fixed)
        for slot, people in enumerate(fewer):
            self._at_most(slot, 1, people)
        for wide in range(2, 1 + max((self.grid.jobs[n].slots for n in self.open), default=0)):
            free = free_people(self.grid, self.fixed, wide)
            for slot in range(self.grid.slots - 1):
                if free[slot] < min(fewer[slot], fewer[slot + 1]):
                    self._at_most(slot, wide, free[slot])
            fewer = free

    def _at_most(self, slot: int, wide: int, people: int) -> None:
        """Helpers of the jobs that go on through ``wide`` slots from ``slot``: at most so many."""
        terms = [
            self.grid.jobs[n].move.helpers * start
            for n in self.open
            if self.grid.jobs[n].slots >= wide
            for start in self._running(n, slot, self.grid.jobs[n].slots - wide + 1)
        ]
        if terms:
            self.model.add(sum(terms) <= people)

    def _patients(self) -> None:
        """One move of a patient at a time; getting up again only after the rest."""
        for numbers in self.grid.by_bed.values():
            mine = [n for n in numbers if n in self.open]
            tiring = [n for n in mine if self.grid.jobs[n].move.rests]
            for group, extra in ((mine, 0), (tiring, self.grid.policy.rest_min)):
                for slot in range(self.grid.slots):
                    running = [s for n in group for s in self._running(n, slot, self._length(n, extra))]
                    if len(running) > 1:
                        self.model.add_at_most_one(running)
            for n in mine:
                for s in self.grid.jobs[n].starts:
                    if not self.fixed.patient_free(n, s):
                        self.model.add(self.at[n, s] == 0)

    def _length(self, n: int, extra_min: int) -> int:
        return -(-(self.grid.jobs[n].move.minutes + extra_min) // self.grid.policy.grid_min)

    def _units(self) -> None:
        """For each class and each rating: no more moves that need it than units that carry it."""
        for fit, numbers in by_units(self.grid, self.open):
            for slot, free in enumerate(free_units(self.grid, self.fixed, fit)):
                running = [
                    start
                    for n in numbers
                    for start in self._running(n, slot, self.grid.unit_slots(self.grid.jobs[n]))
                ]
                if running:
                    self.model.add(sum(running) <= free)

    def _measures(self) -> None:
        """The two things made small: what waits, and the most two-helper moves at once."""
        heavy = [n for n in self.open if self.grid.jobs[n].move.helpers >= 2]
        already = self.fixed.together
        low = max(already, default=0)
        self.peak = self.model.new_int_var(low, low + len(heavy), "peak")
        for slot in range(self.grid.slots):
            running = [s for n in heavy for s in self._running(n, slot, self.grid.jobs[n].slots)]
            if running:
                self.model.add(sum(running) + already[slot] <= self.peak)
        self.waiting = sum(self.grid.jobs[n].move.waits_last * (1 - self._there(n)) for n in self.open)

    def hint(self, starts: Mapping[int, int]) -> None:
        """Begin the search at these start slots."""
        self.model.clear_hints()
        for (n, slot), var in self.at.items():
            self.model.add_hint(var, starts.get(n) == slot)

    def starts(self, solver: Any) -> dict[int, int]:
        """The start slot of every job the solver placed."""
        return {n: slot for (n, slot), var in self.at.items() if solver.value(var)}
