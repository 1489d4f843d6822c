"""The whole question for the constraint solver: which move when, and by name who goes with which unit."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from typing import Any

from mobicard.hands.greedy import Seat, Seating
from mobicard.hands.grid import Grid
from mobicard.hands.solver.better_plan import Weights, kept_seats, most_load, owners, wants_own


class Named:
    """One model of a grid; jobs neither ``free`` nor ``held`` are left out. ``at`` fixes start slots."""

    def __init__(
        self,
        grid: Grid,
        weights: Weights,
        *,
        at: Mapping[int, int] | None = None,
        floor: int | None = None,
        held: Mapping[int, Seat] | None = None,
        free: set[int] | None = None,
    ) -> None:
        from ortools.sat.python import cp_model

        self.model: Any = cp_model.CpModel()
        self.grid, self.weights = grid, weights
        self.fixed = Seating(grid, held or {})
        self.open = [
            n for n in range(len(grid.jobs)) if n not in self.fixed.seats and (free is None or n in free)
        ]
        self.start: dict[int, Any] = {}
        self.there: dict[int, Any] = {}
        self.goes: dict[tuple[int, int], Any] = {}
        self.uses: dict[tuple[int, int, int], Any] = {}
        self._times(at)
        self._patients()
        self._units()
        self._numbers()
        self.peak = self._peak()
        extra = self._people()
        waiting = [weights.wait * grid.jobs[n].move.waits_last * (1 - self.there[n]) for n in self.open]
        total = sum(waiting) + weights.peak * self.peak + sum(extra)
        if floor is not None:
            self.model.add(total >= floor)
        self.model.minimize(total)

    def _times(self, at: Mapping[int, int] | None) -> None:
        for n in self.open:
            job = self.grid.jobs[n]
            self.there[n] = self.model.new_bool_var(f"there{n}")
            low, high = job.low, job.high
            if at is not None:
                low = high = at.get(n, job.low)
                if n not in at:
                    self.model.add(self.there[n] == 0)
            self.start[n] = self.model.new_int_var(low, high, f"start{n}")
        for up, back in self.grid.pairs:
            if up in self.there and back in self.there:
                self.model.add(self.there[up] == self.there[back])
                job, grid_min = self.grid.jobs[back], self.grid.policy.grid_min
                most = (self.grid.policy.sit_most_min - job.move.minutes) // grid_min
                self.model.add(self.start[back] - self.start[up] <= most).only_enforce_if(self.there[up])

    def _patients(self) -> None:
        """Two moves of one patient keep their distance, rest counted; what is fixed does not move."""
        for numbers in self.grid.by_bed.values():
            for n, m in combinations(numbers, 2):
                self._keep_apart(n, m, self.grid.bed_gap, [])

    def _keep_apart(self, n: int, m: int, gap: Any, given: list[Any]) -> None:
        """If both are planned and ``given`` holds, one starts at least ``gap`` after the other."""
        if not (self._counts(n) and self._counts(m)) or (n not in self.start and m not in self.start):
            return
        one, other = self.grid.jobs[n], self.grid.jobs[m]
        after, before = gap(one, other), gap(other, one)
        if self._last(n) + after <= self._first(m) or self._last(m) + before <= self._first(n):
            return
        first = self.model.new_bool_var(f"first{n}_{m}")
        both = [self.there[k] for k in (n, m) if k in self.there] + given
        self.model.add(self._slot(m) >= self._slot(n) + after).only_enforce_if([*both, first])
        self.model.add(self._slot(n) >= self._slot(m) + before).only_enforce_if([*both, first.negated()])

    def _counts(self, n: int) -> bool:
        """Whether the job is open here or has a seat that is held; the others are left out of this model."""
        return n in self.start or n in self.fixed.seats

    def _slot(self, n: int) -> Any:
        return self.start[n] if n in self.start else self.fixed.seats[n].slot

    def _first(self, n: int) -> int:
        return self.grid.jobs[n].low if n in self.start else self.fixed.seats[n].slot

    def _last(self, n: int) -> int:
        return self.grid.jobs[n].high if n in self.start else self.fixed.seats[n].slot

    def _units(self) -> None:
        """Each class a move needs is served by one rated unit; a unit serves one move at a time."""
        taken: dict[int, list[Any]] = {unit: [] for unit in range(len(self.grid.supply.units))}
        for n in self.open:
            job = self.grid.jobs[n]
            for k, units in enumerate(job.units):
                for unit in units:
                    used = self.model.new_bool_var(f"unit{n}_{k}_{unit}")
                    self.uses[n, k, unit] = used
                    taken[unit].append(self._stretch(n, self.grid.unit_slots(job), used))
                self.model.add(sum(self.uses[n, k, unit] for unit in units) == self.there[n])
        for unit, stretches in taken.items():
            blocked: set[int] = set()
            for m in self.fixed.of_unit[unit]:
                at = self.fixed.seats[m].slot
                blocked.update(range(at, at + self.grid.unit_slots(self.grid.jobs[m])))
            self.model.add_no_overlap([*stretches, *self._blocks(blocked)])

    def _stretch(self, n: int, slots: int, there: Any) -> Any:
        return self.model.new_optional_fixed_size_interval_var(self.start[n], slots, there, "")

    def _blocks(self, slots: set[int]) -> list[Any]:
        """Fixed intervals that cover these slots."""
        out, ordered = [], sorted(slots)
        while ordered:
            length = 1
            while length < len(ordered) and ordered[length] == ordered[0] + length:
                length += 1
            out.append(self.model.new_fixed_size_interval_var(ordered[0], length, ""))
            ordered = ordered[length:]
        return out

    def _numbers(self) -> None:
        """Never more people at work than are there: true of every plan, and it lifts the bound."""
        most = len(self.grid.staff)
        stretches = [self._stretch(n, self.grid.jobs[n].slots, self.there[n]) for n in self.open]
        needs = [self.grid.jobs[n].move.helpers for n in self.open]
        free = self._free_by_slot()
        for slot in range(self.grid.slots):
            if free[slot] < most:
                stretches.append(self.model.new_fixed_size_interval_var(slot, 1, ""))
                needs.append(most - free[slot])
        self.model.add_cumulative(stretches, needs, most)

    def _free_by_slot(self) -> list[int]:
        free = [0] * self.grid.slots
        for person in range(len(self.grid.staff)):
            blocked = self._away(person)
            for slot in range(self.grid.slots):
                free[slot] += slot not in blocked
        return free

    def _away(self, person: int) -> set[int]:
        """Slots in which a person is off duty or at a move that is fixed."""
        away = {slot for slot, on in enumerate(self.grid.there[person]) if not on}
        for m in self.fixed.of_person[person]:
            at = self.fixed.seats[m].slot
            away.update(range(at, at + self.grid.jobs[m].slots))
        return away

    def _peak(self) -> Any:
        """The most moves of two helpers or more at one time."""
        heavy = [n for n, job in enumerate(self.grid.jobs) if job.move.helpers >= 2 and self._counts(n)]
        peak = self.model.new_int_var(0, max(1, len(heavy)), "peak")
        stretches = [
            self._stretch(n, self.grid.jobs[n].slots, self.there[n])
            if n in self.start
            else self.model.new_fixed_size_interval_var(self._first(n), self.grid.jobs[n].slots, "")
            for n in heavy
        ]
        self.model.add_cumulative(stretches, [1] * len(heavy), peak)
        return peak

    def _people(self) -> list[Any]:
        """Who goes; returns the lesser terms of the objective."""
        for n in self.open:
            self._helpers(n)
        for person in range(len(self.grid.staff)):
            mine = [n for n in self.open if (n, person) in self.goes]
            stretches = [self._stretch(n, self.grid.jobs[n].slots, self.goes[n, person]) for n in mine]
            self.model.add_no_overlap([*stretches, *self._blocks(self._away(person))])
            self._walks(person, mine)
        return [self.weights.load * self._load(), *self._not_own(), *self._changes()]

    def _helpers(self, n: int) -> None:
        job = self.grid.jobs[n]
        for person in range(len(self.grid.staff)):
            if any(self.grid.can_go(person, job, slot) for slot in job.starts):
                self.goes[n, person] = self.model.new_bool_var(f"goes{n}_{person}")
        able = [person for person in range(len(self.grid.staff)) if (n, person) in self.goes]
        self.model.add(sum(self.goes[n, person] for person in able) == job.move.helpers * self.there[n])
        lead = [self.goes[n, person] for person in able if self.grid.may_lead(person)]
        self.model.add_bool_or([*lead, self.there[n].negated()])

    def _walks(self, person: int, mine: list[int]) -> None:
        """Where the walk to the next room costs a slot of its own, the two moves keep that distance too."""
        jobs = self.grid.jobs
        for n, m in combinations([*mine, *self.fixed.of_person[person]], 2):
            longer = (
                self.grid.gap(jobs[n], jobs[m]) > jobs[n].slots
                or self.grid.gap(jobs[m], jobs[n]) > jobs[m].slots
            )
            if longer:
                given = [self.goes[k, person] for k in (n, m) if (k, person) in self.goes]
                self._keep_apart(n, m, self.grid.gap, given)

    def _load(self) -> Any:
        load = self.model.new_int_var(0, most_load(self.grid), "load")
        for person, full in enumerate(self.fixed.full):
            own = [
                self.grid.jobs[n].move.minutes * self.goes[n, person]
                for n in self.open
                if (n, person) in self.goes
            ]
            self.model.add(100 * (sum(own) + self.fixed.busy[person]) <= full * load)
        return load

    def _not_own(self) -> list[Any]:
        terms = []
        for n in self.open:
            if wants_own(self.grid, n):
                mine = [self.goes[n, person] for person in owners(self.grid, n) if (n, person) in self.goes]
                missed = self.model.new_bool_var(f"missed{n}")
                self.model.add_bool_or([*mine, missed, self.there[n].negated()])
                terms.append(self.weights.own * missed)
        return terms

    def _changes(self) -> list[Any]:
        terms = []
        for n, old in kept_seats(self.grid).items():
            if n not in self.start:
                continue
            same = self.model.new_bool_var(f"same{n}")
            self.model.add(self.start[n] == old.slot).only_enforce_if(same)
            self.model.add_implication(same, self.there[n])
            for person in old.people:
                self.model.add_implication(same, self.goes[n, person])
            terms.append(self.weights.keep * (1 - same))
        return terms

    def hint(self, seats: Mapping[int, Seat]) -> None:
        """Begin the search at these seats."""
        for n in self.open:
            seat = seats.get(n)
            self.model.add_hint(self.there[n], seat is not None)
            if seat is not None:
                self.model.add_hint(self.start[n], seat.slot)
        for (n, person), var in self.goes.items():
            self.model.add_hint(var, n in seats and person in seats[n].people)
        for (n, _k, unit), var in self.uses.items():
            self.model.add_hint(var, n in seats and unit in seats[n].units)

    def seats(self, solver: Any) -> dict[int, Seat]:
        seats = dict(self.fixed.seats)
        for n in self.open:
            if solver.value(self.there[n]):
                people = tuple(p for p in range(len(self.grid.staff)) if self._yes(solver, self.goes, (n, p)))
                units = tuple(
                    unit
                    for k, fit in enumerate(self.grid.jobs[n].units)
                    for unit in fit
                    if self._yes(solver, self.uses, (n, k, unit))
                )
                seats[n] = Seat(solver.value(self.start[n]), people, units)
        return seats

    def _yes(self, solver: Any, table: dict[Any, Any], key: Any) -> bool:
        return key in table and bool(solver.value(table[key]))
