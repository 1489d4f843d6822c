"""Moves ticked off: reached, partly or not and why; and how far each goal of the day has come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from functools import cache
from typing import Any

from pydantic import TypeAdapter

from mobicard.derive.as_json import AsJson
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.text import without_controls
from mobicard.facts.words import Task
from mobicard.hands.schedule import BACK, Move


class HowFar(StrEnum):
    """What became of a move."""

    REACHED = "reached"
    PARTLY = "partly"
    NOT = "not"


class Went(StrEnum):
    """How a move went against its brief."""

    DONE = "done"
    MORE_HELP = "more_help"
    STOPPED = "stopped"
    REFUSED = "refused"

    @property
    def how_far(self) -> HowFar:
        """What that is for a goal of the day: more help still got there, a stop is a part of it."""
        return {Went.STOPPED: HowFar.PARTLY, Went.REFUSED: HowFar.NOT}.get(self, HowFar.REACHED)


@dataclass(frozen=True, slots=True)
class Tick(AsJson):
    """One move ticked. ``ward_at`` is wall clock. ``why`` is asked for where the move was not reached."""

    move: str
    task: Task
    outcome: HowFar
    ward_at: datetime
    why: str = ""
    part: str = ""

    def __post_init__(self) -> None:
        if self.outcome is HowFar.NOT and not self.why.strip():
            raise ValueError("say why the move was not done, in a few words")

    @classmethod
    def of(cls, move: Move, outcome: HowFar, at: datetime, why: str = "") -> Tick:
        """A tick for this move. Raises ValueError where it was not done and no reason is given."""
        return cls(move.id, move.task, outcome, at, without_controls(why)[:120], move.part)

    @classmethod
    def from_body(cls, body: Mapping[str, Any]) -> Tick:
        """The Tick that ``as_json`` wrote, as the ledger keeps it (kind ``tick``). Raises ValueError."""
        return _reader().validate_python(dict(body))


@cache
def _reader() -> TypeAdapter[Tick]:
    return TypeAdapter(Tick)


@dataclass(frozen=True, slots=True)
class GoalProgress:
    """One goal of the day: how often wanted, done, done in part, and every reason it was not."""

    task: Task
    wanted: int
    done: int
    partly: int
    why_not: tuple[str, ...]

    @property
    def state(self) -> str:
        """``reached``, ``partly`` or ``not`` (so far)."""
        if self.done >= self.wanted:
            return HowFar.REACHED.value
        return HowFar.PARTLY.value if self.done or self.partly else HowFar.NOT.value

    @property
    def says(self) -> str:
        """Such as ``walk 1 of 2, 1 in part; not: too dizzy``."""
        says = f"{MOVES[self.task].says_short} {self.done} of {self.wanted}"
        says += f", {self.partly} in part" if self.partly else ""
        return says + (f"; not: {', '.join(self.why_not)}" if self.why_not else "")


def ticks_of(bodies: Iterable[Mapping[str, Any]]) -> list[Tick]:
    """The ticks of planned moves among a stay's."""
    return [Tick.from_body(body) for body in bodies if "move" in body]


def last_ticks(ticks: Iterable[Tick]) -> dict[str, Tick]:
    """The newest tick of each move: a later one corrects an earlier."""
    newest: dict[str, Tick] = {}
    for tick in sorted(ticks, key=lambda tick: tick.ward_at):
        newest[tick.move] = tick
    return newest


def progress(record: Record, ticks: Iterable[Tick], since: datetime) -> tuple[GoalProgress, ...]:
    """How far each goal has come since the shift's start; a way back to bed does not count as a time up."""
    newest = [t for t in last_ticks(ticks).values() if t.ward_at >= since and t.part != BACK]
    out = []
    for goal in record.goals:
        own = [tick for tick in newest if tick.task is goal.task]
        count = {outcome: sum(tick.outcome is outcome for tick in own) for outcome in HowFar}
        why = tuple(
            dict.fromkeys(tick.why for tick in own if tick.outcome is not HowFar.REACHED and tick.why)
        )
        out.append(
            GoalProgress(goal.task, goal.times_per_shift, count[HowFar.REACHED], count[HowFar.PARTLY], why)
        )
    return tuple(out)
