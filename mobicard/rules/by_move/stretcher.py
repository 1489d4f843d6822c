"""Across to a stretcher or another bed, lying: the published lateral table."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import LIFT, SHEET, Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    beyond_lateral,
    from_100_lb,
    from_200_lb,
    hardly_rousable,
    heavy,
    help_all,
    help_touch,
    newly_confused,
    not_cooperative,
)

STRETCHER = (Task.STRETCHER,)
SLIDE = (Equipment.LATERAL_TRANSFER_AID,)

in_part_at_most = help_touch | newly_confused | not_cooperative
cannot_assist = help_all | hardly_rousable

RULES = (
    Rule(
        "stretcher.alone",
        STRETCHER,
        "Moves across without help: one helper stands by.",
        when=ALWAYS,
        demand=Demand(Level.NEARBY, helpers=1),
        source="osha_fig_2",
    ),
    Rule(
        "stretcher.lighter_row",
        STRETCHER,
        "Helps in part at most: two helpers with a lateral transfer aid.",
        when=in_part_at_most,
        demand=Demand(Level.TEAM, helpers=2, equipment=SLIDE),
        source="osha_fig_2",
    ),
    Rule(
        "stretcher.middle_row",
        STRETCHER,
        "Helps in part at most, {lighter_row_lb:g} lb or more: two, with a friction-reducing sheet.",
        when=in_part_at_most & from_100_lb,
        demand=Demand(Level.TEAM, helpers=2, equipment=(*SLIDE, *SHEET)),
        source="osha_fig_2",
    ),
    Rule(
        "stretcher.heavier_row",
        STRETCHER,
        "Helps in part at most, {heavier_row_lb:g} lb or more or weight not recorded: three helpers.",
        when=in_part_at_most & from_200_lb,
        demand=Demand(Level.TEAM, helpers=3, equipment=(*SLIDE, *SHEET)),
        source=("osha_fig_2", "vha_2014"),
    ),
    Rule(
        "stretcher.cannot_heavier",
        STRETCHER,
        "Cannot help, over {heavier_row_lb:g} lb: three, and one more per further {lateral_step_lb:g} lb.",
        when=cannot_assist & from_200_lb,
        demand=Demand(Level.TEAM, helpers="lateral_by_weight", equipment=(*SLIDE, *SHEET)),
        source="vha_2014",
    ),
    Rule(
        "stretcher.beyond_hands",
        STRETCHER,
        "Cannot help, and a slide would take more than {lateral_most}: full-body lift with a supine sling.",
        when=cannot_assist & beyond_lateral,
        demand=Demand(Level.HOIST, helpers=3, equipment=(*LIFT, Equipment.SUPINE_SLING)),
        source=("va_bariatric", "common"),
    ),
    Rule(
        "stretcher.heavy_alone",
        STRETCHER,
        "Heavy, though moving across without help: two stand by.",
        when=heavy,
        demand=Demand(Level.TEAM, helpers=2),
        source=("va_bariatric", "common"),
    ),
    Rule(
        "stretcher.heavy",
        STRETCHER,
        "Heavy and helps in part at most: three helpers with an air-assisted lateral device.",
        when=in_part_at_most & heavy,
        demand=Demand(Level.TEAM, helpers=3, equipment=(Equipment.AIR_ASSISTED_LATERAL_DEVICE,)),
        source="va_bariatric",
    ),
)
