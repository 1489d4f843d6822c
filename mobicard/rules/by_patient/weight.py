"""Weight nobody knows: counted as the heaviest until somebody weighs, or says what they see."""

from __future__ import annotations

from mobicard.facts.moves import ALL
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import drowsy, help_touch, not_cooperative, weight_unknown

RULES = (
    Rule(
        "weight.unknown",
        ALL,
        "Weight not recorded: counted as the heaviest until weighed, or judged by eye.",
        when=weight_unknown & (help_touch | drowsy | not_cooperative),
        demand=Demand(cautions=("Weigh first, or judge the weight by eye and record it",)),
        source="house",
    ),
)
