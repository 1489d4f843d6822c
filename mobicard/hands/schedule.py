"""The day plan as values: moves wanted, moves placed, moves that wait, and where hands are short."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any

from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level, Task
from mobicard.hands.supply import Span, Taken

BACK = "back"


@dataclass(frozen=True, slots=True)
class Move:
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

    def as_json(self) -> dict[str, Any]:
        return {
            "id": self.id,
            "bed": self.bed,
            "task": self.task.value,
            "part": self.part,
            "level": self.level.value,
            "helpers": self.helpers,
            "equipment": [item.value for item in self.equipment],
            "minutes": self.minutes,
            "earliest": _iso(self.earliest),
            "latest": _iso(self.latest),
            "why": self.why,
            "weight_kg": self.weight_kg,
            "rests": self.rests,
            "with_move": self.with_move,
            "waits_last": self.waits_last,
            "reassess_by": _iso(self.reassess_by),
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Move:
        """The Move that ``as_json`` wrote."""
        told = dict(data)
        told["task"], told["level"] = Task(told["task"]), Level(told["level"])
        told["equipment"] = tuple(Equipment(item) for item in told["equipment"])
        for key in ("earliest", "latest", "reassess_by"):
            told[key] = datetime.fromisoformat(told[key]) if told[key] else None
        return cls(**told)


@dataclass(frozen=True, slots=True)
class Placed:
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

    def as_json(self) -> dict[str, Any]:
        return {
            "move": self.move.as_json(),
            "start": _iso(self.start),
            "people": list(self.people),
            "units": list(self.units),
            "own": self.own,
            "fixed": self.fixed,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Placed:
        """The Placed that ``as_json`` wrote."""
        return cls(
            Move.from_json(data["move"]),
            datetime.fromisoformat(data["start"]),
            tuple(data["people"]),
            tuple(data["units"]),
            data["own"],
            data["fixed"],
        )


@dataclass(frozen=True, slots=True)
class Waiting:
    """A move that no one could be given in its window: why, and when it could be done late, if at all."""

    move: Move
    says: str
    instead: Placed | None = None

    def as_json(self) -> dict[str, Any]:
        late = self.instead.as_json() if self.instead else None
        return {"move": self.move.as_json(), "says": self.says, "instead": late}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Waiting:
        """The Waiting that ``as_json`` wrote."""
        late = data["instead"]
        return cls(Move.from_json(data["move"]), data["says"], Placed.from_json(late) if late else None)


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A half-hour in which hands or lifts do not suffice, with the moves that wait for it."""

    at: datetime
    people: int
    equipment: tuple[tuple[Equipment, int], ...]
    moves: tuple[str, ...]
    says: str

    def as_json(self) -> dict[str, Any]:
        return {
            "at": _iso(self.at),
            "people": self.people,
            "equipment": [[item.value, count] for item, count in self.equipment],
            "moves": list(self.moves),
            "says": self.says,
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Shortfall:
        """The Shortfall that ``as_json`` wrote."""
        lifts = tuple((Equipment(item), count) for item, count in data["equipment"])
        return cls(
            datetime.fromisoformat(data["at"]), data["people"], lifts, tuple(data["moves"]), data["says"]
        )


@dataclass(frozen=True, slots=True)
class Quality:
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

    @property
    def gap(self) -> float | None:
        """(value - bound) / value; 0 is proven best; None without the solver."""
        if self.value is None or self.bound is None:
            return None
        return 0.0 if self.value <= self.bound else (self.value - self.bound) / self.value

    def as_json(self) -> dict[str, Any]:
        names = ("method", "waiting", "peak", "waiting_bound", "peak_bound", "value", "bound", "says")
        return {name: getattr(self, name) for name in names}


@dataclass(frozen=True, slots=True)
class DayPlan:
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

    def as_json(self) -> dict[str, Any]:
        return {
            "start": _iso(self.start),
            "end": _iso(self.end),
            "made_at": _iso(self.made_at),
            "holds_until": _iso(self.holds_until),
            "placed": [item.as_json() for item in self.placed],
            "waiting": [item.as_json() for item in self.waiting],
            "short": [item.as_json() for item in self.short],
            "problems": list(self.problems),
            "not_asked": list(self.not_asked),
            "on_their_own": list(self.on_their_own),
            "quality": self.quality.as_json(),
            "staff_at": list(self.staff_at),
            "taken": [
                [one.initials, _iso(one.span.start), _iso(one.span.end), one.why] for one in self.taken
            ],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> DayPlan:
        """The DayPlan that ``as_json`` wrote, so that a later re-plan can start from it."""
        start, end, made_at, holds = (
            datetime.fromisoformat(data[key]) for key in ("start", "end", "made_at", "holds_until")
        )
        return cls(
            start,
            end,
            made_at,
            holds,
            tuple(Placed.from_json(item) for item in data["placed"]),
            tuple(Waiting.from_json(item) for item in data["waiting"]),
            tuple(Shortfall.from_json(item) for item in data["short"]),
            tuple(data["problems"]),
            tuple(data["not_asked"]),
            tuple(data["on_their_own"]),
            Quality(**data["quality"]),
            tuple(data["staff_at"]),
            tuple(_taken(*row) for row in data.get("taken", ())),
        )


def in_time(placed: Iterable[Placed]) -> tuple[Placed, ...]:
    """Placements in order of time, then bed."""
    return tuple(sorted(placed, key=lambda item: (item.start, item.move.bed, item.move.id)))


def peak_together(placed: tuple[Placed, ...] | list[Placed], helpers: int = 2) -> int:
    """The most moves of at least ``helpers`` people that run at one moment."""
    edges = [(item.start, 1) for item in placed if item.move.helpers >= helpers]
    edges += [(item.end, -1) for item in placed if item.move.helpers >= helpers]
    now = most = 0
    for _, step in sorted(edges):
        now += step
        most = max(most, now)
    return most


def _taken(initials: str, start: str, end: str, why: str) -> Taken:
    return Taken(initials, Span(datetime.fromisoformat(start), datetime.fromisoformat(end)), why)


def _iso(at: datetime | None) -> str | None:
    return at.isoformat(timespec="minutes") if at else None
