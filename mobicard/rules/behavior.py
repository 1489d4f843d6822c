"""Behavior and directions: what to mind, whoever helps."""

from __future__ import annotations

from mobicard.rules.rule import ALL, UP, Demand, Rule
from mobicard.rules.words import (
    cannot_sit,
    fearful,
    needs_cues,
    sits_with_support,
    stands_with_support,
    unpredictable,
)

RULES = (
    Rule(
        "behavior.each_step",
        ALL,
        "Fearful or harder to move safely: every step is said before it is done.",
        when=fearful,
        demand=Demand(cautions=("Say each step before you do it",)),
        source="common",
    ),
    Rule(
        "behavior.sudden",
        ALL,
        "May move suddenly.",
        when=unpredictable,
        demand=Demand(cautions=("May move suddenly: stop and step back if so",)),
        source=("waters_2007", "common"),
    ),
    Rule(
        "directions.cues",
        ALL,
        "May need cues: one short cue at a time.",
        when=needs_cues,
        demand=Demand(cautions=("One short cue at a time",)),
        source="common",
    ),
    Rule(
        "sitting.never_alone",
        UP,
        "May not sit without support.",
        when=sits_with_support | cannot_sit,
        demand=Demand(cautions=("Never left alone at the edge of the bed",)),
        source="common",
    ),
    Rule(
        "standing.knees",
        UP,
        "May not hold the full weight.",
        when=stands_with_support,
        demand=Demand(cautions=("Knees may give way: chair close behind",)),
        source="common",
    ),
)
