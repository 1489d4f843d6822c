"""Up from the floor: a lift unless the patient gets up alone."""

from __future__ import annotations

from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    drowsy,
    hardly_rousable,
    help_touch,
    leg_limited,
    newly_confused,
    not_cooperative,
)

FLOOR = (Task.FLOOR,)
LIFT = (Equipment.FULL_BODY_LIFT, Equipment.SUPINE_SLING)

RULES = (
    Rule(
        "floor.alone",
        FLOOR,
        "No injury and gets up alone: one helper stands by.",
        when=ALWAYS,
        demand=Demand(Level.NEARBY, helpers=1),
        source="osha_fig_6",
    ),
    Rule(
        "floor.lift",
        FLOOR,
        "Does not get up alone: full-body lift with two.",
        when=help_touch | newly_confused | drowsy | not_cooperative | leg_limited,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source="osha_fig_6",
    ),
    Rule(
        "floor.not_awake",
        FLOOR,
        "Wakes only to pain, or not at all: not moved until examined.",
        when=hardly_rousable,
        demand=Demand(Level.REMAIN),
        source=("osha_fig_6", "after_fall"),
    ),
    Rule(
        "floor.default_way",
        FLOOR,
        "The lift is the default way up from the floor.",
        when=ALWAYS,
        demand=Demand(cautions=("Lift with two or more is the default way up from the floor",)),
        source="osha_fig_6",
    ),
)
