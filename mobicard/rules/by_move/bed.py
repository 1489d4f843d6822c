"""In bed: up in bed, side to side, and up to the edge of the bed."""

from __future__ import annotations

from mobicard.facts.moves import BED
from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import LIFT, SHEET, Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    cannot_sit,
    drowsy,
    from_200_lb,
    hardly_rousable,
    heavy,
    help_all,
    help_half,
    help_lift,
    help_touch,
    load_beyond_hands,
    no_arm,
    not_cooperative,
    over_any_turn_bmi,
    over_turn_bmi,
    sits_with_support,
)

BOOST = (Task.BOOST,)
SIT_UP = (Task.SIT_UP,)
BED_LIFT = (*LIFT, Equipment.REPOSITIONING_SLING)

cannot_assist = help_all | hardly_rousable
not_alone_up_in_bed = help_touch | no_arm | drowsy
helped_in_part = help_lift | drowsy

RULES = (
    Rule(
        "bed.alone",
        (*BED, Task.SIT_UP),
        "Does it without help.",
        when=ALWAYS,
        demand=Demand(Level.SELF),
        source=("osha_fig_4", "cms_gg"),
    ),
    Rule(
        "boost.never_one",
        BOOST,
        "Cannot move up in bed alone: never one person's job; two or more with a friction-reducing sheet.",
        when=not_alone_up_in_bed,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET),
        source=("osha_fig_4", "vha_2014"),
    ),
    Rule(
        "boost.heavier_row",
        BOOST,
        "Cannot move up alone, and {heavier_row_lb:g} lb or more or weight not recorded: three or more.",
        when=not_alone_up_in_bed & from_200_lb,
        demand=Demand(Level.TEAM, helpers=3, equipment=SHEET),
        source=("osha_fig_4", "vha_2014"),
    ),
    Rule(
        "bed.partly_assists",
        BED,
        "Helps in part at most: two or more with a friction-reducing sheet.",
        when=helped_in_part,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET),
        source="osha_fig_4",
    ),
    Rule(
        "bed.heavier_row",
        BED,
        "Helps in part at most, and {heavier_row_lb:g} lb or more or weight not recorded: three or more.",
        when=helped_in_part & from_200_lb,
        demand=Demand(Level.TEAM, helpers=3, equipment=SHEET),
        source=("osha_fig_4", "vha_2014"),
    ),
    Rule(
        "bed.not_cooperative",
        BED,
        "Needs a hand and does not cooperate: three or more with a friction-reducing sheet.",
        when=not_cooperative & (help_touch | drowsy),
        demand=Demand(Level.TEAM, helpers=3, equipment=SHEET),
        source="vha_2014",
    ),
    Rule(
        "bed.cannot_assist",
        BED,
        "Cannot help: two or more with a friction-reducing sheet, or a full-body lift.",
        when=cannot_assist,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET),
        source="osha_fig_4",
    ),
    Rule(
        "bed.cannot_assist_heavier",
        BED,
        "Cannot help, and {heavier_row_lb:g} lb or more or weight not recorded: full-body lift.",
        when=cannot_assist & from_200_lb,
        demand=Demand(Level.HOIST, helpers=2, equipment=BED_LIFT),
        source=("osha_fig_4", "vha_2014"),
    ),
    Rule(
        "bed.heavy",
        BED,
        "Heavy, and helpers did more than a quarter of the work: full-body lift.",
        when=heavy & (help_half | hardly_rousable),
        demand=Demand(Level.HOIST, helpers=3, equipment=BED_LIFT),
        source="va_bariatric",
    ),
    Rule(
        "turn.wider_bed",
        (Task.TURN,),
        "Body mass index over {turn_bmi:g}, a hand needed: too wide for both turns in 91 cm.",
        when=over_turn_bmi & not_alone_up_in_bed,
        demand=Demand(cautions=("Bed of 91 cm too narrow to turn in: a wider one first",)),
        source="wiggermann_2017",
    ),
    Rule(
        "turn.wider_bed_whoever",
        (Task.TURN,),
        "Body mass index over {turn_bmi_any:g}: a bed of 91 cm is too narrow, whoever turns.",
        when=over_any_turn_bmi,
        demand=Demand(cautions=("Bed of 91 cm too narrow to turn in: a wider one first",)),
        source="wiggermann_2017",
    ),
    Rule(
        "sit_up.drowsy",
        SIT_UP,
        "Wakes only to voice: two helpers at the edge of the bed.",
        when=drowsy,
        demand=Demand(Level.TEAM, helpers=2),
        source=("rcp_news2", "common"),
    ),
    Rule(
        "sit_up.with_support",
        SIT_UP,
        "Does not sit steadily: one helper, hands on, stays.",
        when=sits_with_support,
        demand=Demand(Level.LINK, helpers=1),
        source="common",
    ),
    Rule(
        "sit_up.cannot_sit",
        SIT_UP,
        "Cannot sit at the edge of the bed: full-body lift to a reclining chair instead.",
        when=cannot_sit,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("osha_fig_1", "common"),
    ),
    Rule(
        "sit_up.not_awake",
        SIT_UP,
        "Wakes only to pain, or not at all: not to sit at the edge of the bed.",
        when=hardly_rousable,
        demand=Demand(Level.REMAIN),
        source=("rcp_news2", "start_limits"),
    ),
    Rule(
        "sit_up.beyond_hands",
        SIT_UP,
        "The load is over what the most helpers may lift by hand: full-body lift.",
        when=load_beyond_hands,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("waters_2007", "osha_fig_1"),
    ),
)
