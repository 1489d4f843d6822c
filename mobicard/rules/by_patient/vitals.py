"""Vital signs: whether standing is safe now."""

from __future__ import annotations

from mobicard.facts.moves import OUT_OF_BED, UP
from mobicard.facts.words import Level
from mobicard.rules.rule import BELT, Demand, Rule
from mobicard.rules.words import outside_limits, pressure_drops

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
        "vitals.outside_limits",
        OUT_OF_BED,
        "A vital sign is outside the limits to start: not until the nurse clears it.",
        when=outside_limits,
        demand=Demand(Level.REMAIN),
        source="start_limits",
    ),
)
