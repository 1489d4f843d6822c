"""What the join itself adds once all demands are together, written down like any other rule."""

from __future__ import annotations

from mobicard.facts.moves import ALL
from mobicard.facts.words import Level
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import ALWAYS, heavy

SOMEONE = Rule(
    "join.someone",
    ALL,
    "A person is needed: at least one helper close by.",
    when=ALWAYS,
    demand=Demand(Level.NEARBY),
    source="house",
)
TEAM = Rule(
    "join.team",
    ALL,
    "Two or more people are needed: a team.",
    when=ALWAYS,
    demand=Demand(Level.TEAM),
    source="house",
)
LIFT_TWO = Rule(
    "join.lift_two",
    ALL,
    "A lift or standing aid takes {lift_helpers} people.",
    when=ALWAYS,
    demand=Demand(),
    source=("osha_fig_1", "fda_lifts"),
)
LIFT_HEAVY = Rule(
    "join.lift_heavy",
    ALL,
    "A lift or standing aid takes {lift_helpers_heavy} people with a heavy patient.",
    when=heavy,
    demand=Demand(),
    source="va_bariatric",
)

RULES = (SOMEONE, TEAM, LIFT_TWO, LIFT_HEAVY)
