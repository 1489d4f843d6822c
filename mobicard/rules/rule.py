"""A rule: one sentence, one condition, one demand, at least one source. Rules only add."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.words import When

BELT = (Equipment.GAIT_BELT,)
BOARD = (Equipment.SEATED_TRANSFER_AID, *BELT)
STANDING_AID = (Equipment.POWERED_STANDING_AID,)
LIFT = (Equipment.FULL_BODY_LIFT,)
SHEET = (Equipment.FRICTION_REDUCING_SHEET,)

Count = Literal[
    "load",
    "used",
    "lateral_by_weight",
    "log_roll_spinal",
    "log_roll_cervical",
    "log_roll_cleared",
    "floor_by_hand",
    "floor_flat",
]
"""A number of helpers that the policy, the weight or the record sets."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a rule asks for: at least this level, at least so many helpers, this equipment, these cautions.

    ``helpers`` is a number, or the name of a count the policy, the weight or the record sets; ``watchers``
    are people beyond those who move the patient.
    """

    level: Level | None = None
    helpers: int | Count = 0
    watchers: int = 0
    equipment: tuple[Equipment, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def only_cautions(self) -> bool:
        """Whether it asks for nothing but a caution."""
        return self.level is None and self.helpers == 0 and self.watchers == 0 and not self.equipment


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One line of the protocol. ``id`` never changes and is never reused; ``source`` names sources.toml keys.

    ``says`` may name a policy figure in braces, such as ``{log_roll_spinal}``.
    """

    id: str
    tasks: tuple[Task, ...]
    says: str
    when: When
    demand: Demand
    source: str | tuple[str, ...]

    @property
    def sources(self) -> tuple[str, ...]:
        return (self.source,) if isinstance(self.source, str) else self.source

    @property
    def shown_source(self) -> str:
        """The sources as one line, as a card prints them."""
        texts = source_texts()
        return "; ".join(texts[key] for key in self.sources)


@cache
def source_texts() -> Mapping[str, str]:
    """Every source by its key, as it is shown: ``OSHA 3182 (2009), Fig. 1``."""
    text = files("mobicard.rules").joinpath("sources.toml").read_text(encoding="utf-8")
    return {key: entry["shows"] for key, entry in tomllib.loads(text).items()}
