"""The plain plan: move after move in order of its deadline, each where it crowds the others least."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from mobicard.facts.moves import BED
from mobicard.hands.grid import Grid, Job
from mobicard.hands.schedule import Placed, in_time


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a job stands: start slot, people and units by number."""

    slot: int
    people: tuple[int, ...]
    units: tuple[int, ...] = ()


@dataclass
class Seating:
    """Who and what is taken when; the one place that says whether a move fits."""

    grid: Grid
    held: Mapping[int, Seat] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.seats: dict[int, Seat] = {}
        self.of_person: list[list[int]] = [[] for _ in self.grid.staff]
        self.of_unit: list[list[int]] = [[] for _ in self.grid.supply.units]
        self.together = [0] * (self.grid.slots + 1)
        self.busy = [0] * len(self.grid.staff)
        self.full = [max(1, person.minutes()) for person in self.grid.staff]
        names, units = self.grid.person_number, self.grid.unit_number
        for n, job in enumerate(self.grid.jobs):
            if job.fixed:
                people = tuple(names[name] for name in job.fixed.people if name in names)
                used = tuple(units[name] for name in job.fixed.units if name in units)
                self.put(n, Seat(job.low, people, used))
        for n, seat in sorted(self.held.items()):
            if n not in self.seats:
                self.put(n, seat)

    def put(self, n: int, seat: Seat) -> None:
        """Take the people, units and time of a job."""
        job = self.grid.jobs[n]
        self.seats[n] = seat
        for person in seat.people:
            self.of_person[person].append(n)
            self.busy[person] += job.move.minutes
        for unit in seat.units:
            self.of_unit[unit].append(n)
        if job.move.helpers >= 2:
            for slot in range(seat.slot, min(seat.slot + job.slots, self.grid.slots)):
                self.together[slot] += 1

    def free_people(self, n: int, slot: int) -> list[int]:
        """People who are there and not elsewhere, walk between rooms counted."""
        job = self.grid.jobs[n]
        return [
            person
            for person in range(len(self.grid.staff))
            if self.grid.can_go(person, job, slot)
            and all(self._apart(n, slot, m) for m in self.of_person[person])
        ]

    def _apart(self, n: int, slot: int, m: int) -> bool:
        at, longest = self.seats[m].slot, self.grid.longest
        if slot >= at + longest[m] or at >= slot + longest[n]:
            return True
        one, other = self.grid.jobs[n], self.grid.jobs[m]
        return slot >= at + self.grid.gap(other, one) or at >= slot + self.grid.gap(one, other)

    def free_units(self, n: int, slot: int) -> tuple[int, ...] | None:
        """One free rated unit for each class the job needs, or None."""
        job, chosen = self.grid.jobs[n], []
        for units in job.units:
            free = next(
                (unit for unit in units if unit not in chosen and self.unit_free(n, slot, unit)), None
            )
            if free is None:
                return None
            chosen.append(free)
        return tuple(chosen)

    def unit_free(self, n: int, slot: int, unit: int) -> bool:
        job = self.grid.jobs[n]
        for m in self.of_unit[unit]:
            at, other = self.seats[m].slot, self.grid.jobs[m]
            if slot < at + self.grid.unit_slots(other) and at < slot + self.grid.unit_slots(job):
                return False
        return True

    def patient_free(self, n: int, slot: int) -> bool:
        """Whether the patient's other moves leave room, rest counted, and up comes before back."""
        job = self.grid.jobs[n]
        for m in self.grid.by_bed[job.move.bed]:
            if m == n or m not in self.seats:
                continue
            other, at = self.grid.jobs[m], self.seats[m].slot
            if slot < at + self.grid.bed_gap(other, job) and at < slot + self.grid.bed_gap(job, other):
                return False
        return not self._in_chair(n, slot) and not self._sits_too_long(n, slot)

    def _sits_too_long(self, n: int, slot: int) -> bool:
        other = self.grid.partner.get(n)
        if other is None or other not in self.seats:
            return False
        is_back = self.grid.jobs[n].move.with_move is not None
        up, back = (self.seats[other].slot, slot) if is_back else (slot, self.seats[other].slot)
        return self.grid.sits_too_long(up, self.grid.jobs[n if is_back else other], back)

    def _in_chair(self, n: int, slot: int) -> bool:
        """Whether a move in bed would fall while the patient sits in the chair."""
        job = self.grid.jobs[n]
        if job.move.task not in BED:
            return False
        sittings = [
            (self.seats[a].slot, self.seats[b])
            for a, b in self.grid.pairs
            if a in self.seats and b in self.seats and self.grid.jobs[a].move.bed == job.move.bed
        ]
        return any(up < slot < back.slot for up, back in sittings)

    def crowd(self, n: int, slot: int) -> int:
        """Two-helper moves already running during the job at ``slot``, at the worst moment."""
        return max(self.together[slot : slot + self.grid.jobs[n].slots], default=0)

    def choose(self, n: int, free: Sequence[int]) -> tuple[int, ...] | None:
        """The helpers for a job: one who may lead, the patient's own before others, least busy first."""
        job = self.grid.jobs[n]
        order = sorted(
            free,
            key=lambda p: (
                not self.grid.owns(p, job),
                self.busy[p] / self.full[p],
                self.grid.staff[p].initials,
            ),
        )
        leaders = [person for person in order if self.grid.may_lead(person)]
        if len(order) < job.move.helpers or not leaders:
            return None
        lead = leaders[0]
        return (lead, *[person for person in order if person != lead][: job.move.helpers - 1])

    def best(self, n: int, starts: Sequence[int]) -> Seat | None:
        """The least crowded possible seat, the earliest of equals."""
        heavy = self.grid.jobs[n].move.helpers >= 2
        ranked = sorted(starts, key=lambda slot: (self.crowd(n, slot) if heavy else 0, slot))
        for slot in ranked:
            seat = self.seat_at(n, slot)
            if seat:
                return seat
        return None

    def seat_at(self, n: int, slot: int) -> Seat | None:
        """A seat at exactly this slot, or None."""
        if not self.patient_free(n, slot):
            return None
        units = self.free_units(n, slot)
        people = self.choose(n, self.free_people(n, slot)) if units is not None else None
        return Seat(slot, people, units) if people is not None and units is not None else None


def greedy(grid: Grid) -> dict[int, Seat]:
    """A seat for as many jobs as the plain order finds; deterministic."""
    board = Seating(grid)
    keep_old(board)
    order = sorted(
        (n for n in range(len(grid.jobs)) if n not in board.seats),
        key=lambda n: (grid.jobs[n].high, -grid.jobs[n].move.helpers, -grid.jobs[n].move.waits_last, n),
    )
    fill(board, order)
    return board.seats


def fill(board: Seating, order: Sequence[int]) -> None:
    """Seat what still has none, in this order; up and back together or neither."""
    grid = board.grid
    refused: set[int] = set()
    for n in order:
        if n in board.seats or n in refused:
            continue
        both = sorted({n, grid.partner.get(n, n)}, key=lambda m: (grid.jobs[m].low, m))
        if not _put_all(board, [m for m in both if m not in board.seats]):
            refused.update(both)


def soonest(grid: Grid) -> dict[int, Seat]:
    """What is not fixed, each as soon as it fits, the one that waits last first; for moves already late."""
    board = Seating(grid)
    left = [n for n in range(len(grid.jobs)) if n not in board.seats]
    for n in sorted(left, key=lambda n: (-grid.jobs[n].move.waits_last, grid.jobs[n].low, n)):
        seat = next((found for slot in grid.jobs[n].starts if (found := board.seat_at(n, slot))), None)
        if seat:
            board.put(n, seat)
    return board.seats


def keep_old(board: Seating) -> None:
    """Earlier placements a re-plan can hold to: put them first, as they were."""
    for move_id, placed in sorted(board.grid.keep.items()):
        n = board.grid.number.get(move_id)
        if n is None or n in board.seats:
            continue
        seat = old_seat(board.grid, n, placed)
        if seat and board.patient_free(n, seat.slot) and _as_it_was(board, n, seat):
            board.put(n, seat)
    for up, back in board.grid.pairs:
        if (up in board.seats) != (back in board.seats):
            take_out(board, up if up in board.seats else back)


def old_seat(grid: Grid, n: int, placed: Placed) -> Seat | None:
    """The earlier placement as a seat, where its time, people and units still exist and still suffice."""
    job, slot = grid.jobs[n], grid.slot_down(placed.start)
    names, units = grid.person_number, grid.unit_number
    known = all(name in names for name in placed.people) and all(name in units for name in placed.units)
    if not known or slot not in job.starts or len(placed.people) != job.move.helpers:
        return None
    if len(placed.units) != len(job.units):
        return None
    return Seat(
        slot, tuple(names[name] for name in placed.people), tuple(units[name] for name in placed.units)
    )


def _as_it_was(board: Seating, n: int, seat: Seat) -> bool:
    free = board.free_people(n, seat.slot)
    rated = all(unit in fit for unit, fit in zip(seat.units, board.grid.jobs[n].units, strict=True))
    units_free = all(board.unit_free(n, seat.slot, unit) for unit in seat.units)
    return rated and units_free and all(person in free for person in seat.people)


def take_out(board: Seating, n: int) -> None:
    """Give a job's people, units and time back."""
    seat, job = board.seats.pop(n), board.grid.jobs[n]
    for person in seat.people:
        board.of_person[person].remove(n)
        board.busy[person] -= job.move.minutes
    for unit in seat.units:
        board.of_unit[unit].remove(n)
    if job.move.helpers >= 2:
        for slot in range(seat.slot, min(seat.slot + job.slots, board.grid.slots)):
            board.together[slot] -= 1


def _put_all(board: Seating, numbers: Sequence[int]) -> bool:
    """Seat all of these or none."""
    done: list[int] = []
    for n in numbers:
        seat = board.best(n, board.grid.jobs[n].starts)
        if seat is None:
            for m in done:
                take_out(board, m)
            return False
        board.put(n, seat)
        done.append(n)
    return True


def placed_of(grid: Grid, seats: dict[int, Seat]) -> tuple[Placed, ...]:
    """The seats as placements: the own nurse or aide leads, else the first who may lead."""
    out = []
    for n, seat in sorted(seats.items()):
        job = grid.jobs[n]
        if job.fixed:
            out.append(job.fixed)
            continue
        out.append(_placed(grid, job, seat))
    return in_time(out)


def _placed(grid: Grid, job: Job, seat: Seat) -> Placed:
    def order(person: int) -> tuple[bool, bool, str]:
        return (
            not (grid.may_lead(person) and grid.owns(person, job)),
            not grid.may_lead(person),
            grid.staff[person].initials,
        )

    people = sorted(seat.people, key=order)
    names = tuple(grid.staff[person].initials for person in people)
    units = tuple(grid.supply.units[unit].name for unit in seat.units)
    own = any(grid.owns(person, job) and grid.may_lead(person) for person in people)
    return Placed(job.move, grid.at(seat.slot), names, units, own)
