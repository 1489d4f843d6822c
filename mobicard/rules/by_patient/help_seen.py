"""The help a move was seen to take: never plan less than was seen."""

from __future__ import annotations

from mobicard.facts.moves import BED, IN_CHAIR, OUT_OF_BED, UP
from mobicard.facts.words import Level, Task
from mobicard.rules.rule import BELT, Demand, Rule
from mobicard.rules.words import help_half, help_near, help_touch, load_needs_more, used_two

HANDS_ON = (Task.TURN, Task.SIT_UP)

RULES = (
    Rule(
        "help.someone_near",
        (*BED, *OUT_OF_BED, *IN_CHAIR),
        "The move took at least someone close by: at least one helper close by.",
        when=help_near,
        demand=Demand(Level.NEARBY, helpers=1),
        source="cms_gg",
    ),
    Rule(
        "help.hand_on",
        HANDS_ON,
        "The move took at least a hand on the patient: at least one helper, hands on.",
        when=help_touch,
        demand=Demand(Level.LINK, helpers=1),
        source="cms_gg",
    ),
    Rule(
        "help.hand_on_belt",
        UP,
        "The move took at least a hand on the patient: at least one, hands on the gait belt.",
        when=help_touch,
        demand=Demand(Level.LINK, helpers=1, equipment=BELT),
        source=("cms_gg", "osha_fig_1"),
    ),
    Rule(
        "help.half",
        OUT_OF_BED,
        "Helpers did more than a quarter of the work: two helpers.",
        when=help_half,
        demand=Demand(Level.TEAM, helpers=2),
        source=("cms_irf", "bccampus_walk", "common"),
    ),
    Rule(
        "help.as_many_as_used",
        (*BED, *OUT_OF_BED, *IN_CHAIR, Task.STRETCHER),
        "More than one helper was used: no fewer than were used.",
        when=used_two,
        demand=Demand(Level.TEAM, helpers="used"),
        source="house",
    ),
    Rule(
        "load.share",
        OUT_OF_BED,
        "The load is over one helper's limit: as many helpers as bring each under it.",
        when=load_needs_more,
        demand=Demand(Level.TEAM, helpers="load"),
        source="waters_2007",
    ),
)
