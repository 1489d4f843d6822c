"""How the moves of one patient went since somebody last looked: what the next look is offered."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from mobicard.facts.words import Help, Task
from mobicard.hands.ticks import Went


@dataclass(frozen=True, slots=True)
class Outcome:
    """One move that was tried. ``at`` is wall clock; ``helpers`` and ``help`` are what it took where more."""

    task: Task
    went: Went
    at: datetime
    why: str = ""
    helpers: int | None = None
    help: Help | None = None

    @property
    def says(self) -> str:
        """Such as ``14:10 took 3 people`` or ``14:10 stopped: dizzy``."""
        told = {Went.DONE: "as planned", Went.MORE_HELP: self.took}
        return f"{self.at:%H:%M} {told.get(self.went) or f'{self.went.value}: {self.why}'}"

    @property
    def took(self) -> str:
        """What it took, in words."""
        if self.helpers:
            return f"took {self.helpers} people"
        return f"took {self.help.value} help" if self.help else "took more help"


def outcomes(bodies: Iterable[Mapping[str, Any]], since: datetime | None) -> dict[str, Outcome]:
    """The newest outcome of each move, by value, after ``since`` (ward time); all if nobody looked."""
    found = (_read(body) for body in bodies if "went" in body)
    newest = sorted((one for one in found if since is None or one.at > since), key=lambda one: one.at)
    return {one.task.value: one for one in newest}


def said(one: Outcome | None) -> str:
    """How it went, in words; empty where the move was not tried."""
    return one.says if one else ""


def offered(one: Outcome | None) -> str:
    """How many people it took, as a nurse would type it; the letter after it is how much help."""
    return str(one.helpers) if one and one.helpers else ""


def _read(body: Mapping[str, Any]) -> Outcome:
    return Outcome(
        Task(body["task"]),
        Went(body["went"]),
        datetime.fromisoformat(body["ward_at"]),
        body.get("why", ""),
        body.get("helpers"),
        Help(body["help"]) if body.get("help") else None,
    )
