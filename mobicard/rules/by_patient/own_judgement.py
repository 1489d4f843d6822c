"""A named person's own judgement, upward: raising is free, and joins like any other rule."""

from __future__ import annotations

from mobicard.facts.moves import UP
from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules.rule import LIFT, STANDING_AID, Demand, Rule
from mobicard.rules.words import RAISED_TO, no_standing_aid

LEAST_HELPERS = {
    Level.SELF: 0,
    Level.NEARBY: 1,
    Level.LINK: 1,
    Level.TEAM: 2,
    Level.POWER: 2,
    Level.HOIST: 2,
    Level.REMAIN: 0,
}
"""The people each level cannot do without."""

CARRIES: dict[Level, tuple[Equipment, ...]] = {Level.POWER: STANDING_AID, Level.HOIST: LIFT}

RAISED = tuple(
    Rule(
        f"override.raised_to_{level.value.lower()}",
        UP,
        f"Raised to {level.value} by a named person's own judgement.",
        when=RAISED_TO[level],
        demand=Demand(level, helpers=LEAST_HELPERS[level], equipment=CARRIES.get(level, ())),
        source="house_override",
    )
    for level in RAISED_TO
)

RULES = (
    *RAISED,
    Rule(
        "override.standing_aid_not_safe",
        UP,
        "Raised to POWER, and a standing aid is not safe here: full-body lift.",
        when=RAISED_TO[Level.POWER] & no_standing_aid,
        demand=Demand(Level.HOIST, helpers=2, equipment=LIFT),
        source=("vha_2014", "house_override"),
    ),
    Rule(
        "override.remain_lying",
        (Task.SIT_UP,),
        "Kept in bed by a named person's own judgement: no sitting at the edge of it.",
        when=RAISED_TO[Level.REMAIN],
        demand=Demand(Level.REMAIN),
        source="house_override",
    ),
    Rule(
        "override.remain_floor",
        (Task.FLOOR,),
        "Kept in bed by a named person's own judgement: from the floor by the lift, lying.",
        when=RAISED_TO[Level.REMAIN],
        demand=Demand(Level.HOIST, helpers=2, equipment=(*LIFT, Equipment.SUPINE_SLING)),
        source=("house_override", "osha_fig_6"),
    ),
)
