"""The day plan as values: moves wanted, moves placed, moves that wait, and where hands are short."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from mobicard.derive.as_json import AsJson
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level, Task
from mobicard.hands.supply import Taken

BACK = "back"


@dataclass(frozen=True, slots=True)
class Move(AsJson):
    """One move somebody must help with. It starts at ``earliest`` or later and is over by ``latest``.

    ``helpers`` is the plan's count. ``part`` is "back" for the way from chair to bed. ``reassess_by`` is set
    where the plan it rests on lapses before the move: it holds only once the patient is assessed again.
    """

    id: str
    bed: str
    task: Task
    level: Level
    helpers: int
    equipment: tuple[Equipment, ...]
    minutes: int
    earliest: datetime
    latest: datetime
    why: str
    part: str = ""
    weight_kg: float | None = None
    rests: bool = False
    with_move: str | None = None
    waits_last: int = 1
    reassess_by: datetime | None = None

    @property
    def says(self) -> str:
        """The move in two or three words."""
        return "back to bed" if self.part == BACK else MOVES[self.task].says_short

    def clipped(self, now: datetime) -> Move:
        """The same move, not earlier than ``now``."""
        return self if self.earliest >= now else replace(self, earliest=now)


@dataclass(frozen=True, slots=True)
class Placed(AsJson):
    """A move with its start, its people (the one who leads first) and its units of equipment."""

    move: Move
    start: datetime
    people: tuple[str, ...]
    units: tuple[str, ...] = ()
    own: bool = False
    fixed: bool = False

    @property
    def end(self) -> datetime:
        return self.start + timedelta(minutes=self.move.minutes)

    @property
    def late_min(self) -> int:
        """Minutes past the latest end, 0 when in its window."""
        return max(0, int((self.end - self.move.latest).total_seconds() // 60))


@dataclass(frozen=True, slots=True)
class Waiting(AsJson):
    """A move that no one could be given in its window: why, and when it could be done late, if at all."""

    move: Move
    says: str
    instead: Placed | None = None


@dataclass(frozen=True, slots=True)
class Shortfall(AsJson):
    """A half-hour in which hands or lifts do not suffice, with the moves that wait for it."""

    at: datetime
    people: int
    equipment: tuple[tuple[Equipment, int], ...]
    moves: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Quality(AsJson):
    """How good the plan is and how good any plan could be.

    ``waiting`` and ``peak`` are what this plan reaches, ``*_bound`` what no plan can go below (None when only
    the greedy plan was made). ``value`` and ``bound`` are the solver's whole objective.
    """

    method: str
    waiting: int
    peak: int
    waiting_bound: int | None = None
    peak_bound: int | None = None
    value: int | None = None
    bound: int | None = None
    says: str = ""
    seconds: float = field(default=0.0, compare=False)

    KEYS = ("method", "waiting", "peak", "waiting_bound", "peak_bound", "value", "bound", "says")

    @property
    def gap(self) -> float | None:
        """(value - bound) / value; 0 is proven best; None without the solver."""
        if self.value is None or self.bound is None:
            return None
        return 0.0 if self.value <= self.bound else (self.value - self.bound) / self.value


@dataclass(frozen=True, slots=True)
class DayPlan(AsJson):
    """Who helps whom, when, with which lift, for one shift; ``holds_until`` is printed on every page.

    ``staff_at`` is people on duty in equal slots of the shift; ``taken`` who left or is with a fall.
    """

    start: datetime
    end: datetime
    made_at: datetime
    holds_until: datetime
    placed: tuple[Placed, ...]
    waiting: tuple[Waiting, ...]
    short: tuple[Shortfall, ...]
    problems: tuple[str, ...]
    not_asked: tuple[str, ...]
    on_their_own: tuple[str, ...]
    quality: Quality
    staff_at: tuple[int, ...] = ()
    taken: tuple[Taken, ...] = ()

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> DayPlan:
        """The DayPlan that ``as_json`` wrote, so that a later re-plan can start from it."""
        return _reader().validate_python(data)

    @property
    def moves(self) -> tuple[Move, ...]:
        """Every move wanted: placed and waiting alike; nothing is dropped."""
        return (*(item.move for item in self.placed), *(item.move for item in self.waiting))

    def of_person(self, initials: str) -> tuple[Placed, ...]:
        """One person's moves in order of time, late ones among them."""
        return tuple(item for item in self.by_time() if initials in item.people)

    def of_bed(self, bed: str) -> tuple[Placed, ...]:
        """One bed's moves in order of time, late ones among them."""
        return tuple(item for item in self.by_time() if item.move.bed == bed)

    def by_time(self) -> tuple[Placed, ...]:
        """Every move with a time, late ones in the place they could be done."""
        late = [item.instead for item in self.waiting if item.instead]
        return in_time([*self.placed, *late])


@cache
def _reader() -> TypeAdapter[DayPlan]:
    return TypeAdapter(DayPlan)


def in_time(placed: Iterable[Placed]) -> tuple[Placed, ...]:
    """Placements in order of time, then bed."""
    return tuple(sorted(placed, key=lambda item: (item.start, item.move.bed, item.move.id)))


def on_the_hour(moves: Iterable[Move]) -> tuple[Placed, ...]:
    """A round for comparison: each move at the last full hour of its window, else at its earliest."""
    return tuple(Placed(move, _hour(move), ()) for move in moves)


def _hour(move: Move) -> datetime:
    last = move.latest - timedelta(minutes=move.minutes)
    return max(last.replace(minute=0, second=0, microsecond=0), move.earliest)


def peak_together(placed: Iterable[Placed]) -> int:
    """The most moves of at least two people that run at one moment."""
    edges = [edge for item in placed if item.move.helpers >= 2 for edge in ((item.start, 1), (item.end, -1))]
    now = most = 0
    for _, step in sorted(edges):
        now += step
        most = max(most, now)
    return most
