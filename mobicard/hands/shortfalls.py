"""Where hands do not suffice: which half-hour, how many people or which lift, which moves wait."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from mobicard.derive.equipment import words
from mobicard.facts.words import Equipment, Task
from mobicard.hands.greedy import Seat, Seating, placed_of, soonest
from mobicard.hands.grid import Grid, Job, Never, counted, make_grid
from mobicard.hands.schedule import Move, Placed, Shortfall, Waiting

HALF_HOUR = timedelta(minutes=30)


@dataclass(slots=True)
class _Lack:
    """What one half-hour is short of, and for which moves."""

    people: dict[int, int] = field(default_factory=dict)
    kinds: dict[Equipment, int] = field(default_factory=dict)
    moves: list[Move] = field(default_factory=list)
    because: dict[str, str] = field(default_factory=dict)


def shortfalls(
    grid: Grid, seats: Mapping[int, Seat], now: datetime
) -> tuple[tuple[Waiting, ...], tuple[Shortfall, ...]]:
    """Every move without a seat, and the half-hours that lack hands or lifts for them, by this plan."""
    board = Seating(grid, seats)
    lacks: dict[datetime, _Lack] = {}
    told = {never.move.id: never.says for never in grid.impossible}
    left = [n for n in range(len(grid.jobs)) if n not in board.seats]
    for n in sorted(left, key=lambda n: (-grid.jobs[n].move.waits_last, grid.jobs[n].low, n)):
        told[grid.jobs[n].move.id] = _lack(board, n, lacks)
    for never in grid.impossible:
        _lack_for_good(grid, never, lacks)
    late = _late(grid, placed_of(grid, board.seats), now)
    moves = [*(grid.jobs[n].move for n in left), *(never.move for never in grid.impossible)]
    ordered = sorted(moves, key=lambda move: (move.earliest, move.bed, move.id))
    waiting = tuple(Waiting(move, told[move.id], late.get(move.id)) for move in ordered)
    return waiting, tuple(_shortfall(at, lack) for at, lack in sorted(lacks.items()))


def _lack(board: Seating, n: int, lacks: dict[datetime, _Lack]) -> str:
    """Book what the move lacks at the start where it lacks least; returns the sentence."""
    grid, job = board.grid, board.grid.jobs[n]
    found = [(*_missing(board, n, slot), slot) for slot in job.starts if board.patient_free(n, slot)]
    if not found:
        return "the patient's other moves leave no room for it"
    people, kinds, slot = min(found, key=lambda item: (item[0] + len(item[1]), item[2]))
    if not people and not kinds:
        return _half_says(job.move)
    lack = lacks.setdefault(_half_hour(grid, slot), _Lack())
    lack.moves.append(job.move)
    for k in range(slot, slot + job.slots):
        lack.people[k] = lack.people.get(k, 0) + people
    for kind in kinds:
        lack.kinds[kind] = lack.kinds.get(kind, 0) + 1
    return f"short of {_short_says(people, dict.fromkeys(kinds, 1))} at {grid.at(slot):%H:%M}, its best time"


def _half_says(move: Move) -> str:
    """Why a move that fits by itself waits: it is half of up and back."""
    if move.with_move:
        return "waits with getting up to the chair"
    return "there are hands for this, but not for the way back to bed as well"


def _missing(board: Seating, n: int, slot: int) -> tuple[int, list[Equipment]]:
    """People and equipment classes that are not free for the job at this slot."""
    grid, job = board.grid, board.grid.jobs[n]
    free = board.free_people(n, slot)
    people = max(0, job.move.helpers - len(free))
    if not any(grid.may_lead(person) for person in free):
        people = max(1, people)
    return people, _missing_kinds(board, n, slot, job)


def _missing_kinds(board: Seating, n: int, slot: int, job: Job) -> list[Equipment]:
    return [
        kind
        for kind, units in zip(counted(board.grid, job.move), job.units, strict=True)
        if not any(board.unit_free(n, slot, unit) for unit in units)
    ]


def _lack_for_good(grid: Grid, never: Never, lacks: dict[datetime, _Lack]) -> None:
    """A move no plan could place for want of a lift or of people: booked at the start of its window."""
    if not never.kinds and not never.people:
        return
    slot = max(0, grid.slot_up(never.move.earliest))
    lack = lacks.setdefault(_half_hour(grid, slot), _Lack())
    lack.moves.append(never.move)
    lack.because[never.move.id] = f" ({never.says})"
    lack.people[slot] = lack.people.get(slot, 0) + never.people
    for kind in never.kinds:
        lack.kinds[kind] = lack.kinds.get(kind, 0) + 1


def _half_hour(grid: Grid, slot: int) -> datetime:
    """Start of the half-hour of the clock a slot lies in."""
    at = grid.at(slot)
    return at.replace(minute=at.minute // 30 * 30, second=0)


def _shortfall(at: datetime, lack: _Lack) -> Shortfall:
    people = max(lack.people.values(), default=0)
    kinds = tuple(sorted(lack.kinds.items(), key=lambda item: item[0].rank))
    moves = tuple(move.id for move in lack.moves)
    waits = ", ".join(f"{move.bed} {move.says}{lack.because.get(move.id, '')}" for move in lack.moves)
    short = _short_says(people, dict(kinds))
    says = f"{at:%H:%M}-{at + HALF_HOUR:%H:%M}: {short} short; waits: {waits}"
    return Shortfall(at, people, kinds, moves, says)


def _short_says(people: int, kinds: Mapping[Equipment, int]) -> str:
    parts = [f"{people} {'person' if people == 1 else 'people'}"] if people else []
    parts += [f"{count} {words(kind)}" for kind, count in kinds.items()]
    return " and ".join(parts)


def _late(grid: Grid, placed: Sequence[Placed], now: datetime) -> dict[str, Placed]:
    """For each waiting move the first time past its window with hands free; none for a meal.

    A round that could only be made up once the next is open has none either: the next takes its place.
    """
    fixed = {item.move.id: item for item in placed}
    every = [*(job.move for job in grid.jobs), *(never.move for never in grid.impossible)]
    late = [move for move in every if move.task is not Task.CHAIR and move.latest < grid.shift.end]
    moves = [
        *(move for move in every if move.id in fixed),
        *(
            replace(move, earliest=_after(grid, move, now), latest=grid.shift.end)
            for move in late
            if move.id not in fixed
        ),
    ]
    later = make_grid(moves, grid.supply, grid.policy, grid.shift, fixed=fixed)
    true = {move.id: move for move in every}
    found = [item for item in placed_of(later, soonest(later)) if item.move.id not in fixed]
    made_up = [replace(item, move=true[item.move.id]) for item in found]
    return {item.move.id: item for item in made_up if not _next_is_open(item, every)}


def _after(grid: Grid, move: Move, now: datetime) -> datetime:
    """The first start that ends past the window and is not past itself."""
    return max(now, move.latest - timedelta(minutes=move.minutes - grid.policy.grid_min))


def _next_is_open(item: Placed, every: Sequence[Move]) -> bool:
    own = item.move
    later = (m for m in every if m.bed == own.bed and m.task is own.task and m.latest > own.latest)
    return any(move.earliest <= item.start for move in later)
