"""Up from the floor: a lift, unless the patient gets up alone or everything is known to be well."""

from __future__ import annotations

from functools import reduce
from operator import or_

from mobicard.facts.lines import LineKind
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules.rule import LIFT, Demand, Rule
from mobicard.rules.words import (
    ALWAYS,
    LINE,
    NOT_DONE,
    PRECAUTION,
    UNKNOWN,
    any_hip,
    any_spine,
    block_untested,
    hardly_rousable,
    heavy,
    help_touch,
    leg_fails,
    leg_limited,
    lifted_flat,
    many_lines,
    newly_confused,
    not_by_hand,
    not_cooperative,
    on_the_floor,
    outside_limits,
    pressure_drops,
    sits_with_support,
    stands_with_support,
    weak,
)

FLOOR = (Task.FLOOR,)
sternal = PRECAUTION[Precaution.STERNAL]
lifted_lying = (
    any_spine
    | PRECAUTION[Precaution.BED_REST]
    | PRECAUTION[Precaution.FEMORAL_SHEATH]
    | PRECAUTION[Precaution.GROIN_LEFT]
    | PRECAUTION[Precaution.GROIN_RIGHT]
    | PRECAUTION[Precaution.HEAD_FLAT]
    | LINE[LineKind.FEMORAL_SHEATH]
    | LINE[LineKind.FEMORAL_PUMP]
    | LINE[LineKind.LUMBAR_DRAIN]
)
weak_or_numb = weak | leg_fails | block_untested
not_tried = reduce(or_, NOT_DONE.values())
FLOOR_LIFT = (*LIFT, Equipment.SUPINE_SLING)

LIFT_FROM_THE_FLOOR = "Any doubt on the floor: a lift, two or more"

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
        "floor.default_way",
        FLOOR,
        "From the floor the lift is the default.",
        when=ALWAYS,
        demand=Demand(cautions=(LIFT_FROM_THE_FLOOR,)),
        source="osha_fig_6",
    ),
    Rule(
        "floor.cannot",
        FLOOR,
        "Does not get up alone, or nobody saw it: full-body lift with two.",
        when=help_touch | UNKNOWN["help"] | not_tried,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source="osha_fig_6",
    ),
    Rule(
        "floor.not_safe_alone",
        FLOOR,
        "Newly confused, less awake or does not cooperate: full-body lift with two.",
        when=newly_confused | not_cooperative,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.leg_limited",
        FLOOR,
        "A leg is limited by order: full-body lift with two.",
        when=leg_limited,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.not_steady",
        FLOOR,
        "Does not sit or stand steadily: does not get up alone; full-body lift with two.",
        when=sits_with_support | stands_with_support,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.by_order",
        FLOOR,
        "An order, a wound or a vital sign forbids getting up by effort: lifted lying, with two.",
        when=lifted_lying | any_hip | sternal | outside_limits | pressure_drops,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.weak_or_numb",
        FLOOR,
        "One side weak, or a leg numb or not tested: full-body lift with two.",
        when=weak_or_numb,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.heavy",
        FLOOR,
        "Heavy: full-body lift, whatever the patient says.",
        when=heavy,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "va_bariatric"),
    ),
    Rule(
        "floor.lines",
        FLOOR,
        "More lines than those moving can watch: full-body lift with two, one more for the lines.",
        when=many_lines,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
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
        "floor.by_hand",
        FLOOR,
        "After a fall: {floor_by_hand} people, one of them leading, one bringing the chair up behind.",
        when=on_the_floor,
        demand=Demand(Level.TEAM, helpers="floor_by_hand"),
        source="common",
    ),
    Rule(
        "floor.not_by_hand",
        FLOOR,
        "After a fall, and not all is known to be well: full-body lift with two or more.",
        when=not_by_hand,
        demand=Demand(Level.HOIST, helpers=2, equipment=FLOOR_LIFT),
        source=("osha_fig_6", "common"),
    ),
    Rule(
        "floor.flat",
        FLOOR,
        "A break or spine injury is not ruled out, or nobody checked: lifted flat by {floor_flat}.",
        when=lifted_flat,
        demand=Demand(
            Level.HOIST,
            helpers="floor_flat",
            equipment=(Equipment.FLAT_LIFT,),
            cautions=("Lifted flat: no sling rolled under, no pull to sit",),
        ),
        source=("qs86", "common"),
    ),
)
