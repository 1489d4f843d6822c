"""Up in the chair again: a patient who has slid down in a chair or wheelchair."""

from __future__ import annotations

from mobicard.facts.moves import IN_CHAIR
from mobicard.facts.words import Level
from mobicard.rules.rule import LIFT, SHEET, Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    any_spine,
    arms_not_free,
    cannot_sit,
    drowsy,
    from_200_lb,
    hardly_rousable,
    heavy,
    help_half,
    help_most,
    help_touch,
    no_arm,
    not_cooperative,
)

helped = help_touch | drowsy
helped_without_arms = (helped & arms_not_free) | help_half | drowsy
cannot_assist = help_most | hardly_rousable | (helped & no_arm)

WHEELS_LOCKED = "Chair: lock the wheels first"
RECLINED = "Only in a chair that reclines; else full-body lift"

RULES = (
    Rule(
        "in_chair.alone",
        IN_CHAIR,
        "Moves up in the chair without help.",
        when=ALWAYS,
        demand=Demand(Level.SELF),
        source="osha_fig_5",
    ),
    Rule(
        "in_chair.partly",
        IN_CHAIR,
        "Helps in part, both arms strong: the patient lifts, one helper pushes at the knees.",
        when=helped,
        demand=Demand(Level.LINK, helpers=1, cautions=(WHEELS_LOCKED,)),
        source="osha_fig_5",
    ),
    Rule(
        "in_chair.reclined",
        IN_CHAIR,
        "Cannot lift with both arms, or does less than most of it: the chair reclined, a sheet, two helpers.",
        when=helped_without_arms,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET, cautions=(RECLINED,)),
        source="osha_fig_5",
    ),
    Rule(
        "in_chair.heavier_row",
        IN_CHAIR,
        "Slid up by others, and {heavier_row_lb:g} lb or more or weight not recorded: three, as up in bed.",
        when=helped_without_arms & from_200_lb,
        demand=Demand(Level.TEAM, helpers=3, equipment=SHEET),
        source=("osha_fig_4", "common"),
    ),
    Rule(
        "in_chair.cannot",
        IN_CHAIR,
        "Cannot help: full-body lift with two; whether the chair reclines is not on record.",
        when=cannot_assist,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source="osha_fig_5",
    ),
    Rule(
        "in_chair.not_cooperative",
        IN_CHAIR,
        "Needs help and does not cooperate: full-body lift with two.",
        when=helped & not_cooperative,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source="osha_fig_5",
    ),
    Rule(
        "in_chair.does_not_sit",
        IN_CHAIR,
        "Cannot sit at the edge of the bed: full-body lift with two.",
        when=cannot_sit,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("osha_fig_5", "common"),
    ),
    Rule(
        "in_chair.heavy",
        IN_CHAIR,
        "Heavy and needs help: a lift, not hands under the arms.",
        when=helped & heavy,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("vha_2014", "common"),
    ),
    Rule(
        "in_chair.spine",
        IN_CHAIR,
        "Spinal precautions: moved in one line only, by two.",
        when=helped & any_spine,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("spine", "common"),
    ),
)
