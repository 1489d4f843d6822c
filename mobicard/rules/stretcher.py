"""Across to a stretcher or another bed, lying: the published lateral table."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
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
BOARD = (Equipment.LATERAL_TRANSFER_AID,)
SHEET = (Equipment.LATERAL_TRANSFER_AID, Equipment.FRICTION_REDUCING_SHEET)

assists_in_part = help_touch | newly_confused | not_cooperative

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
        "Helps in part or not: two helpers with a lateral transfer aid.",
        when=assists_in_part,
        demand=Demand(Level.TEAM, helpers=2, equipment=BOARD),
        source="osha_fig_2",
    ),
    Rule(
        "stretcher.middle_row",
        STRETCHER,
        "Helps in part or not, 100 lb or more: two helpers, lateral transfer aid and friction-reducing sheet.",
        when=assists_in_part & from_100_lb,
        demand=Demand(Level.TEAM, helpers=2, equipment=SHEET),
        source="osha_fig_2",
    ),
    Rule(
        "stretcher.heavier_row",
        STRETCHER,
        "Helps in part or not, 200 lb or more or weight not recorded: three helpers.",
        when=assists_in_part & from_200_lb,
        demand=Demand(Level.TEAM, helpers=3, equipment=SHEET),
        source=("osha_fig_2", "vha_2014"),
    ),
    Rule(
        "stretcher.per_hundred",
        STRETCHER,
        "Cannot help and weighs over 200 lb: three helpers and one more for each further 100 lb.",
        when=(help_all | hardly_rousable | not_cooperative) & from_200_lb,
        demand=Demand(Level.TEAM, helpers="lateral_by_weight", equipment=SHEET),
        source="vha_2014",
    ),
    Rule(
        "stretcher.heavy",
        STRETCHER,
        "Heavy and does not move across alone: three helpers with an air-assisted device.",
        when=assists_in_part & heavy,
        demand=Demand(Level.TEAM, helpers=3, equipment=(Equipment.AIR_ASSISTED_LATERAL_DEVICE,)),
        source="va_bariatric",
    ),
)
