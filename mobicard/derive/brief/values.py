"""The values of a brief: its lines, its people, the move seen from above. No logic of care."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cache
from importlib.resources import files
from tomllib import loads
from typing import Any

from mobicard.derive.as_json import AsJson
from mobicard.derive.brief.asked import Asked
from mobicard.derive.brief.from_above.scene import Scene
from mobicard.derive.brief.ways import Way
from mobicard.facts.words import Level, Task

LETTERS = "ABCDEFGHIJKL"
"""How people are called whose names nobody gave; letters, because figures are steps."""


class HelpersRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """People who cannot be those of a brief, and why."""

    @property
    def says(self) -> str:
        return str(self)


class Phase(StrEnum):
    """The parts of a brief in the order they are read."""

    WHO = "who"
    READY = "make ready"
    MIND = "mind"
    SAY = "say"
    DO = "do"
    STOP = "stop"
    LEAVE = "leave"
    ERRORS = "rule"


@dataclass(frozen=True, slots=True)
class Helper:
    """Somebody who helps: initials, and stature in cm where it is known."""

    name: str
    stature_cm: float | None = None


@dataclass(frozen=True, slots=True)
class BriefLine(AsJson):
    """One line with its why. ``asks`` is what it asks of the patient; ``shown`` whether the page has room."""

    phase: Phase
    says: str
    rule: str
    source: str
    because: Mapping[str, Any]
    asks: tuple[Asked, ...] = ()
    harm: int = 2
    shown: bool = True

    KEYS = ("phase", "says", "rule", "source", "because", "asks", "shown")


@dataclass(frozen=True, slots=True)
class Person(AsJson):
    """One of those who move the patient: what they are called, what they do, where they stand."""

    name: str
    does: str
    leads: bool


@dataclass(frozen=True, slots=True)
class BedHeight(AsJson):
    """The mattress top in cm, from ``low_cm`` to ``high_cm``; ``says`` has it in words, with what wins."""

    low_cm: int | None
    high_cm: int | None
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Brief(AsJson):
    """How one move is done now, with these people. ``helpers`` is None where the move waits."""

    bed: str
    move: Task
    says: str
    level: Level
    way: Way
    method: str
    helpers: int | None
    people: tuple[Person, ...]
    bed_height: BedHeight | None
    lines: tuple[BriefLine, ...]
    asked: tuple[Asked, ...]
    scene: Scene | None
    valid_until: datetime | None
    expired: bool
    notes: tuple[str, ...] = ()

    @property
    def shown(self) -> tuple[BriefLine, ...]:
        """The lines there is room for, in their order."""
        return tuple(line for line in self.lines if line.shown)

    def of(self, phase: Phase) -> tuple[BriefLine, ...]:
        """The shown lines of one part."""
        return tuple(line for line in self.shown if line.phase is phase)

    @property
    def words(self) -> int:
        """How many words the shown lines take."""
        return sum(len(line.says.split()) for line in self.shown)


@cache
def _packaged(name: str) -> Mapping[str, Mapping[str, Any]]:
    return loads(files("mobicard.derive.brief").joinpath(name).read_text(encoding="utf-8"))


def source_text(key: str) -> str:
    """A source as it is printed. Raises KeyError for one nobody has written down."""
    shows: str = _packaged("sources.toml")[key]["shows"]
    return shows


def sources() -> tuple[str, ...]:
    """The key of every source that is written down."""
    return tuple(_packaged("sources.toml"))


def figure(group: str, name: str) -> float:
    """A published figure, in the unit its group is named after."""
    value: float = _packaged("published.toml")[group][name]
    return value
