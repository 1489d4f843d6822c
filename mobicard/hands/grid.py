"""The shift on its time grid: each move's possible starts, who could go, how far apart two moves must lie."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cached_property

from mobicard.derive.equipment import words
from mobicard.facts.words import Equipment
from mobicard.hands.schedule import Move, Placed
from mobicard.hands.supply import OnDuty, Span, Supply, Unit
from mobicard.rules.policy_hands import HandsPolicy

CORRIDOR = 24
"""Beds planned together where there are too many for one model: a usual unit's."""

_DIGITS = re.compile(r"\d+")


@dataclass(frozen=True, slots=True)
class Job:
    """A move on the grid: first and last start, length in slots, and the units that could serve each class.

    ``fixed`` is a placement that stays as it is, because it has begun or is done.
    """

    move: Move
    low: int
    high: int
    slots: int
    units: tuple[tuple[int, ...], ...] = ()
    fixed: Placed | None = None

    @property
    def starts(self) -> range:
        return range(self.low, self.high + 1)


@dataclass(frozen=True, slots=True)
class Never:
    """A move no plan could place: why, and what it lacks at its best (people, or equipment classes)."""

    move: Move
    says: str
    people: int = 0
    kinds: tuple[Equipment, ...] = ()


@dataclass(frozen=True)
class Grid:
    """Jobs and supply of one shift with slots of ``policy.grid_min`` minutes counted from its start.

    ``impossible`` are moves no plan could place, each with the reason; they wait, they are not dropped.
    ``keep`` are earlier placements a re-plan should hold to where it can.
    """

    shift: Span
    policy: HandsPolicy
    supply: Supply
    jobs: tuple[Job, ...]
    impossible: tuple[Never, ...] = ()
    keep: Mapping[str, Placed] = field(default_factory=dict)

    @cached_property
    def staff(self) -> tuple[OnDuty, ...]:
        return self.supply.staff

    @cached_property
    def slots(self) -> int:
        """Slots in the shift."""
        return self.slot_down(self.shift.end)

    def at(self, slot: int) -> datetime:
        """The clock time of a slot."""
        return self.shift.start + timedelta(minutes=slot * self.policy.grid_min)

    def slot_up(self, at: datetime) -> int:
        """The first slot at or after ``at``."""
        return -self.slot_down(self.shift.start - (at - self.shift.start))

    def slot_down(self, at: datetime) -> int:
        """The last slot at or before ``at``."""
        return int((at - self.shift.start) // timedelta(minutes=self.policy.grid_min))

    def span(self, job: Job, slot: int) -> Span:
        """The stretch a job takes when it starts at ``slot``."""
        start = self.at(slot)
        return Span(start, start + timedelta(minutes=job.move.minutes))

    @cached_property
    def there(self) -> tuple[tuple[bool, ...], ...]:
        """For each person, slot by slot, whether they are on duty for the whole slot."""
        spans = [Span(self.at(n), self.at(n + 1)) for n in range(self.slots)]
        return tuple(tuple(person.is_there(span) for span in spans) for person in self.staff)

    def can_go(self, person: int, job: Job, slot: int) -> bool:
        """Whether the person is on duty for the whole of the job started at ``slot``."""
        return all(self.there[person][slot : slot + job.slots]) and slot + job.slots <= self.slots

    def owns(self, person: int, job: Job) -> bool:
        """Whether the patient is this nurse's or aide's own."""
        return job.move.bed in self.staff[person].beds

    def may_lead(self, person: int) -> bool:
        return self.staff[person].role in self.policy.lead_roles

    def gap(self, first: Job, then: Job) -> int:
        """Slots between two starts by the same person, ``first`` before ``then``: walk counted."""
        return -(-(first.move.minutes + self.walk(first.move.bed, then.move.bed)) // self.policy.grid_min)

    @cached_property
    def longest(self) -> tuple[int, ...]:
        """For each job the slots after its start from which on its people are anywhere: the farthest walk."""
        far, grid_min = self.policy.walk_far_min, self.policy.grid_min
        return tuple(
            -(-(job.move.minutes + max(far, self.policy.walk_near_min)) // grid_min) for job in self.jobs
        )

    def unit_slots(self, job: Job) -> int:
        """Slots a unit is away for a job: bringing it to the next bed counted."""
        return -(-(job.move.minutes + self.policy.lift_fetch_min) // self.policy.grid_min)

    def bed_gap(self, first: Job, then: Job) -> int:
        """Slots between two starts for the same patient, ``first`` before ``then``: rest counted."""
        rest = self.policy.rest_min if first.move.rests and then.move.rests else 0
        return -(-(first.move.minutes + rest) // self.policy.grid_min)

    def sits_too_long(self, up: int, back: Job, slot: int) -> bool:
        """Whether going back at ``slot`` makes a sitting begun by getting up at slot ``up`` too long."""
        return (slot - up) * self.policy.grid_min + back.move.minutes > self.policy.sit_most_min

    @cached_property
    def partner(self) -> dict[int, int]:
        """For each half of up-and-back the other half."""
        return dict(self.pairs) | {back: up for up, back in self.pairs}

    def walk(self, here: str, there: str) -> int:
        """Minutes between two beds: none within a room, by the difference of room numbers, else far."""
        minutes = self._walks.get((here, there))
        if minutes is None:
            minutes = self._walks[here, there] = self._walk(here, there)
        return minutes

    @cached_property
    def _walks(self) -> dict[tuple[str, str], int]:
        """Each pair of beds is measured once: the search asks for the same ones millions of times."""
        return {}

    def _walk(self, here: str, there: str) -> int:
        a, b = place_of(here), place_of(there)
        if a == b:
            return 0
        if a[0] == b[0] and a[1] is not None and b[1] is not None:
            near = abs(a[1] - b[1]) <= self.policy.near_rooms
            return self.policy.walk_near_min if near else self.policy.walk_far_min
        return self.policy.walk_far_min

    @cached_property
    def by_bed(self) -> dict[str, list[int]]:
        """Job numbers of each bed."""
        beds: dict[str, list[int]] = {}
        for n, job in enumerate(self.jobs):
            beds.setdefault(job.move.bed, []).append(n)
        return beds

    @cached_property
    def corridors(self) -> tuple[frozenset[int], ...]:
        """Job numbers by stretches of neighbouring rooms, so many beds each as one unit has."""
        beds = sorted(self.by_bed, key=lambda bed: (place_of(bed)[0], place_of(bed)[1] or 0, bed))
        parts = [beds[start : start + CORRIDOR] for start in range(0, len(beds), CORRIDOR)]
        return tuple(frozenset(n for bed in part for n in self.by_bed[bed]) for part in parts)

    @cached_property
    def person_number(self) -> dict[str, int]:
        """Each person's number by initials."""
        return {person.initials: n for n, person in enumerate(self.staff)}

    @cached_property
    def unit_number(self) -> dict[str, int]:
        """Each unit's number by name."""
        return {unit.name: n for n, unit in enumerate(self.supply.units)}

    @cached_property
    def number(self) -> dict[str, int]:
        """Job number by move id."""
        return {job.move.id: n for n, job in enumerate(self.jobs)}

    @cached_property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Moves that go together: up to the chair and back; one is never planned without the other."""
        told = ((self.number.get(job.move.with_move or ""), n) for n, job in enumerate(self.jobs))
        return tuple((up, n) for up, n in told if up is not None)


def place_of(bed: str) -> tuple[str, int | None]:
    """Unit and room number of a bed written unit-room-bed ("4W-12A": 4W, 12); None without a number."""
    unit, dash, room = bed.rpartition("-")
    digits = _DIGITS.search(room)
    return (unit if dash else "", int(digits.group()) if digits else None) if digits else (bed, None)


def make_grid(
    moves: Sequence[Move],
    supply: Supply,
    policy: HandsPolicy,
    shift: Span,
    *,
    fixed: Mapping[str, Placed] | None = None,
    keep: Mapping[str, Placed] | None = None,
) -> Grid:
    """The moves on the grid. Moves that can never be placed are set apart, with the reason."""
    empty = Grid(shift, policy, supply, ())
    jobs, never = [], []
    for move in moves:
        held = (fixed or {}).get(move.id)
        job = _job(empty, move, held)
        reason = None if held else _never(empty, job)
        if reason:
            never.append(reason)
        else:
            jobs.append(job)
    jobs, lost = _whole_pairs(moves, jobs)
    return Grid(shift, policy, supply, tuple(jobs), (*never, *lost), dict(keep or {}))


def _job(grid: Grid, move: Move, held: Placed | None) -> Job:
    length = -(-move.minutes // grid.policy.grid_min)
    if held:
        start = max(0, grid.slot_down(held.start))
        return Job(move, start, start, length, (), held)
    low = max(0, grid.slot_up(move.earliest))
    high = grid.slot_down(move.latest - timedelta(minutes=move.minutes))
    return Job(move, low, high, length, tuple(_rated(grid, kind, move) for kind in counted(grid, move)))


def _rated(grid: Grid, kind: Equipment, move: Move) -> tuple[int, ...]:
    """Units that may carry this patient, the smallest rating first; weight unknown: the highest."""
    units = [n for n, unit in enumerate(grid.supply.units) if unit.kind is kind]
    most = max((grid.supply.units[n].swl_kg or 0.0 for n in units), default=0.0)
    needed = move.weight_kg if move.weight_kg is not None else most
    fit = [n for n in units if carries(grid.supply.units[n], needed)]
    return tuple(sorted(fit, key=lambda n: (grid.supply.units[n].swl_kg or 0.0, grid.supply.units[n].name)))


def carries(unit: Unit, weight_kg: float) -> bool:
    """Whether the unit's stated safe working load covers the weight; none stated is not taken as fine."""
    return unit.swl_kg is not None and unit.swl_kg >= weight_kg


def _never(grid: Grid, job: Job) -> Never | None:
    """Why no plan could place this job, or None."""
    move = job.move
    window = f"{move.earliest:%H:%M}-{move.latest:%H:%M}"
    if job.low > job.high:
        return Never(move, f"its window {window} is shorter than the move ({move.minutes} min)")
    kinds = tuple(kind for kind, units in zip(counted(grid, move), job.units, strict=True) if not units)
    if kinds:
        return Never(move, "; ".join(_no_unit(grid, kind, move) for kind in kinds), 0, kinds)
    able = [[p for p in range(len(grid.staff)) if grid.can_go(p, job, slot)] for slot in job.starts]
    most = max((len(people) for people in able), default=0)
    if most < move.helpers:
        says = f"needs {move.helpers} people, and at most {most} are on duty from {window}"
        return Never(move, says, move.helpers - most)
    if not any(len(people) >= move.helpers and any(map(grid.may_lead, people)) for people in able):
        return Never(move, f"nobody who may lead it is on duty from {window}", 1)
    return None


def counted(grid: Grid, move: Move) -> list[Equipment]:
    """The classes a move needs a unit of: what stands at every bed is not counted."""
    return [kind for kind in move.equipment if kind not in grid.policy.at_bed]


def _no_unit(grid: Grid, kind: Equipment, move: Move) -> str:
    if not any(unit.kind is kind for unit in grid.supply.units):
        return f"needs a {words(kind)}, and the unit has none in use"
    weight = f"{move.weight_kg:g} kg" if move.weight_kg is not None else "an unknown weight"
    return f"no {words(kind)} on the unit is rated for {weight}"


def _whole_pairs(moves: Sequence[Move], jobs: list[Job]) -> tuple[list[Job], list[Never]]:
    """Neither half of up-and-back without the other: where one cannot be placed, both wait."""
    there = {job.move.id for job in jobs}
    back_of = {move.with_move: move.id for move in moves if move.with_move}
    kept, lost = [], []
    for job in jobs:
        move = job.move
        if job.fixed is None and back_of.get(move.id, move.id) not in there:
            lost.append(Never(move, "the way back to bed cannot be planned, so the patient is not got up"))
        elif job.fixed is None and move.with_move and move.with_move not in there:
            lost.append(Never(move, "getting up to the chair cannot be planned"))
        else:
            kept.append(job)
    return kept, lost
