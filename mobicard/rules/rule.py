"""A rule: one sentence, one condition, one demand, at least one source. Rules only add."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.words import When

BED = (Task.BOOST, Task.TURN)
TRANSFERS = (Task.CHAIR, Task.TOILET)
UP = (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK)
OUT_OF_BED = (Task.SIT_UP, *UP)
ALL = tuple(Task)


@dataclass(frozen=True, slots=True)
class Demand:
    """What a rule asks for: at least this level, at least so many helpers, this equipment, these cautions.

    ``helpers`` is a number, or the name of a count the policy (and the weight) sets; ``watchers`` are people
    beyond those who move the patient.
    """

    level: Level | None = None
    helpers: int | str = 0
    watchers: int = 0
    equipment: tuple[Equipment, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether it asks for more than a caution."""
        return self.level is not None or self.helpers != 0 or self.watchers != 0 or bool(self.equipment)


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of the protocol. ``id`` never changes and is never reused; ``source`` names sources.toml keys."""

    id: str
    tasks: tuple[Task, ...]
    says: str
    when: When
    demand: Demand
    source: str | tuple[str, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        return (self.source,) if isinstance(self.source, str) else self.source


@cache
def source_texts() -> Mapping[str, str]:
    """Every source by its key, as it is shown: ``OSHA 3182 (2009), Fig. 1``."""
    text = files("mobicard.rules").joinpath("sources.toml").read_text(encoding="utf-8")
    return {key: entry["shows"] for key, entry in tomllib.loads(text).items()}


def shown_source(rule: Rule) -> str:
    """The rule's sources as one line."""
    texts = source_texts()
    return "; ".join(texts[key] for key in rule.sources)
