"""For whom the tables are: adults. Of a child they say nothing."""

from __future__ import annotations

from mobicard.facts.moves import ALL
from mobicard.facts.words import Level
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import not_an_adult

INTENDED_USE = (
    "For adults on an inpatient unit, moved by staff trained in it. For children the tables do not hold."
)
"""Said here once; printed with the rules."""

RULES = (
    Rule(
        "whom.adults",
        ALL,
        "A child, or lighter than {adult_kg:g} kg: the tables are for adults and do not hold.",
        when=not_an_adult,
        demand=Demand(Level.REMAIN),
        source="house",
    ),
)
