"""Vital signs: whether standing is safe now."""

from __future__ import annotations

from mobicard.facts.moves import OUT_OF_BED, UP
from mobicard.facts.words import Level
from mobicard.rules.rule import BELT, Demand, Rule
from mobicard.rules.words import near_limits, outside_limits, pressure_drops

RULES = (
    Rule(
        "vitals.pressure_drops",
        UP,
        "Pressure falls on standing, or dizzy: at least one helper within reach, hands on.",
        when=pressure_drops,
        demand=Demand(
            Level.LINK,
            helpers=1,
            equipment=BELT,
            cautions=("Pressure falls on standing: sit first, stop if dizzy",),
        ),
        source=("orthostatic", "steadi"),
    ),
    Rule(
        "vitals.near_limits",
        OUT_OF_BED,
        "A vital sign is outside the limits to start: at least one helper close by, and ask first.",
        when=near_limits,
        demand=Demand(Level.NEARBY, helpers=1, cautions=("A vital sign is outside its limits: ask first",)),
        source="start_limits",
    ),
    Rule(
        "vitals.outside_limits",
        OUT_OF_BED,
        "A vital sign is outside the limits to start: not up until somebody clears it, by name.",
        when=outside_limits,
        demand=Demand(Level.REMAIN),
        source="start_limits",
    ),
)
