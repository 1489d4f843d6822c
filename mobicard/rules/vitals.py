"""Vital signs: whether standing is safe now."""

from __future__ import annotations

from mobicard.facts.words import Level, Task
from mobicard.rules.rule import OUT_OF_BED, Demand, Rule
from mobicard.rules.words import drops, not_fit_now

RULES = (
    Rule(
        "vitals.orthostatic",
        (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK),
        "Pressure falls on standing, or dizzy on standing: one helper within reach, hands on.",
        when=drops,
        demand=Demand(
            Level.LINK, helpers=1, cautions=("Pressure falls on standing: sit first, stop if dizzy",)
        ),
        source=("orthostatic", "steadi"),
    ),
    Rule(
        "vitals.start_limits",
        OUT_OF_BED,
        "A vital sign is outside the limits for starting: not until the nurse clears it.",
        when=not_fit_now,
        demand=Demand(Level.REMAIN),
        source="start_limits",
    ),
)
