"""One written line of a brief: the ways it belongs to, what it says, what it asks, its source."""

from __future__ import annotations

from dataclasses import dataclass
from string import Formatter

from mobicard.derive.brief.asked import Asked
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import Way
from mobicard.facts.words import Task
from mobicard.rules.words import ALWAYS, When


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Written:
    """One line. ``id`` never changes and is never reused; ``source`` names keys of sources.toml.

    ``says`` may name words in braces; a line whose word is empty is left out. ``asks``: it asks whichever of
    these may be asked, and is left out where none may. ``harm``: 0 kills or maims, 1 injures, 2 goes wrong,
    3 is kindly. ``always``: stands however short of room the page is.
    """

    id: str
    phase: Phase
    ways: tuple[Way, ...]
    says: str
    source: str
    asks: tuple[Asked, ...] = ()
    when: When = ALWAYS
    tasks: tuple[Task, ...] = tuple(Task)
    harm: int = 2
    always: bool = False

    @property
    def words(self) -> tuple[str, ...]:
        """The words in braces."""
        return tuple(name for _, name, _, _ in Formatter().parse(self.says) if name)
