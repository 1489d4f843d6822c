"""Once an assessment has ended: nobody stands behind what it said, so every move waits for a new look."""

from __future__ import annotations

from mobicard.facts.moves import ALL
from mobicard.facts.words import Level
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import out_of_date

ENDED = Rule(
    "time.out_of_date",
    ALL,
    "The assessment holds no longer: not until looked at again.",
    when=out_of_date,
    demand=Demand(Level.REMAIN),
    source="house_end",
)

RULES = (ENDED,)
