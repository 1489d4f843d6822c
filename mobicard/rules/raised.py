"""A named person's own judgement, upward: raising is free, and joins like any other rule."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level
from mobicard.rules.rule import LIFT, STANDING_AID, UP, Demand, Rule
from mobicard.rules.words import RAISED_TO

LEAST_HELPERS = {
    Level.SELF: 0,
    Level.NEARBY: 1,
    Level.LINK: 1,
    Level.TEAM: 2,
    Level.POWER: 2,
    Level.HOIST: 2,
    Level.REMAIN: 0,
}
"""The people each level cannot do without."""

CARRIES: dict[Level, tuple[Equipment, ...]] = {Level.POWER: STANDING_AID, Level.HOIST: LIFT}

RULES = tuple(
    Rule(
        f"override.raised_to_{level.value.lower()}",
        UP,
        f"Raised to {level.value} by a named person's own judgement.",
        when=RAISED_TO[level],
        demand=Demand(level, helpers=LEAST_HELPERS[level], equipment=CARRIES.get(level, ())),
        source="house_override",
    )
    for level in RAISED_TO
)
