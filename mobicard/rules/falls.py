"""Fall risk: a score informs; it never clears anyone."""

from __future__ import annotations

from mobicard.facts.words import Level
from mobicard.rules.rule import UP, Demand, Rule
from mobicard.rules.words import high_fall_risk

RULES = (
    Rule(
        "falls.high",
        UP,
        "High fall risk by the unit's instrument: one helper close by.",
        when=high_fall_risk,
        demand=Demand(Level.NEARBY, helpers=1, cautions=("High fall risk: stay within arm's reach",)),
        source="ng249",
    ),
)
