"""After an operation or procedure: what was seen before it no longer counts."""

from __future__ import annotations

from mobicard.facts.moves import BED, IN_CHAIR, OUT_OF_BED
from mobicard.facts.words import Level, Task
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import operated

RULES = (
    Rule(
        "operation.not_up",
        (*OUT_OF_BED, *IN_CHAIR, Task.FLOOR),
        "An operation or procedure since anybody looked: not up until looked at again.",
        when=operated,
        demand=Demand(Level.REMAIN, cautions=("Back from an operation: look again before getting up",)),
        source="common",
    ),
    Rule(
        "operation.lying",
        (*BED, Task.STRETCHER),
        "An operation or procedure since anybody looked: at least two, as for one who cannot help.",
        when=operated,
        demand=Demand(Level.TEAM, helpers=2),
        source="common",
    ),
)
