"""Being awake, following directions, behavior: who must be there, and what to mind."""

from __future__ import annotations

from mobicard.facts.moves import ALL, BED, IN_CHAIR, OUT_OF_BED, UP
from mobicard.facts.words import Level
from mobicard.rules.rule import BELT, Demand, Rule
from mobicard.rules.words import (
    fearful,
    needs_cues,
    newly_confused,
    not_cooperative,
    sits_with_support,
    stands_with_support,
    unpredictable,
)

RULES = (
    Rule(
        "alertness.newly_confused",
        OUT_OF_BED,
        "Newly confused or less awake: at least one helper, hands on.",
        when=newly_confused,
        demand=Demand(Level.LINK, helpers=1),
        source=("rcp_news2", "common"),
    ),
    Rule(
        "alertness.newly_confused_belt",
        UP,
        "Newly confused or less awake: the hands on are on the gait belt.",
        when=newly_confused,
        demand=Demand(equipment=BELT),
        source=("osha_fig_1", "common"),
    ),
    Rule(
        "alertness.newly_confused_in_bed",
        (*BED, *IN_CHAIR),
        "Newly confused or less awake: at least one helper close by.",
        when=newly_confused,
        demand=Demand(Level.NEARBY, helpers=1),
        source=("rcp_news2", "common"),
    ),
    Rule(
        "directions.cues",
        (*BED, *OUT_OF_BED, *IN_CHAIR),
        "Needs cues, or follows no directions: at least one helper close by.",
        when=needs_cues,
        demand=Demand(Level.NEARBY, helpers=1),
        source=("cms_gg", "common"),
    ),
    Rule(
        "behavior.fearful",
        (*BED, *OUT_OF_BED, *IN_CHAIR),
        "Fearful, or harder to move safely: at least one helper close by.",
        when=fearful,
        demand=Demand(Level.NEARBY, helpers=1),
        source="common",
    ),
    Rule(
        "behavior.not_cooperative",
        (*OUT_OF_BED, *IN_CHAIR),
        "Follows no directions, or may move suddenly: never one person alone; two helpers.",
        when=not_cooperative,
        demand=Demand(Level.TEAM, helpers=2),
        source=("bccampus_walk", "common"),
    ),
    Rule(
        "behavior.not_cooperative_belt",
        UP,
        "Follows no directions, or may move suddenly: the two have a gait belt to hold.",
        when=not_cooperative,
        demand=Demand(equipment=BELT),
        source=("osha_fig_1", "common"),
    ),
    Rule(
        "caution.one_step",
        ALL,
        "May be fearful or need cues: one short step at a time, said first.",
        when=fearful | needs_cues,
        demand=Demand(cautions=("Say each step first, one at a time",)),
        source="common",
    ),
    Rule(
        "caution.sudden",
        ALL,
        "May move suddenly, grab or hit.",
        when=unpredictable,
        demand=Demand(cautions=("Patient may grab or hit: stop and step back then",)),
        source=("waters_2007", "common"),
    ),
    Rule(
        "caution.edge_of_bed",
        OUT_OF_BED,
        "May not sit steadily.",
        when=sits_with_support,
        demand=Demand(cautions=("Never alone at the edge of the bed",)),
        source="common",
    ),
    Rule(
        "caution.knees",
        UP,
        "The knees may not hold.",
        when=stands_with_support,
        demand=Demand(cautions=("Legs may give way: a seat within reach at all times",)),
        source="common",
    ),
)
