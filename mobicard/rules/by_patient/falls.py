"""Fall risk and after a fall: a score never clears; who fell is not moved until it is known how."""

from __future__ import annotations

from mobicard.facts.moves import ALL, UP
from mobicard.facts.words import Level, Task
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import (
    bleeding_risk,
    clearing_contradicted,
    fell,
    head_not_clear,
    high_fall_risk,
    injury_open,
    major_injury,
    neck_not_clear,
    spine_at_risk,
    unwitnessed,
)

BUT_FLOOR = tuple(task for task in ALL if task is not Task.FLOOR)

RULES = (
    Rule(
        "falls.high",
        UP,
        "High fall risk by the unit's instrument, or not scored: at least one helper close by.",
        when=high_fall_risk,
        demand=Demand(Level.NEARBY, helpers=1, cautions=("High fall risk: stay within arm's reach",)),
        source="ng249",
    ),
    Rule(
        "fall.assess_again",
        BUT_FLOOR,
        "After a fall the earlier assessment no longer counts: assess again before any move.",
        when=fell,
        demand=Demand(Level.REMAIN),
        source="after_fall",
    ),
    Rule(
        "fall.head",
        ALL,
        "The head was struck, or nobody knows: not moved until the responders have examined the patient.",
        when=head_not_clear,
        demand=Demand(Level.REMAIN),
        source=("after_fall", "nice_head"),
    ),
    Rule(
        "fall.unwitnessed",
        ALL,
        "Nobody saw the fall, or it is not recorded: taken as a head strike until examined.",
        when=unwitnessed,
        demand=Demand(Level.REMAIN),
        source="after_fall",
    ),
    Rule(
        "fall.neck",
        ALL,
        "The neck hurts, or nobody asked: head and neck held still until examined.",
        when=neck_not_clear,
        demand=Demand(Level.REMAIN),
        source="after_fall",
    ),
    Rule(
        "fall.injury",
        ALL,
        "A major injury, or injury not checked: emergency or medical assessment first.",
        when=major_injury,
        demand=Demand(Level.REMAIN),
        source=("osha_fig_6", "after_fall"),
    ),
    Rule(
        "fall.bleeding",
        ALL,
        "On a blood thinner, or not known, and the head not certainly spared: examined first.",
        when=bleeding_risk,
        demand=Demand(Level.REMAIN),
        source=("after_fall", "nice_head"),
    ),
    Rule(
        "fall.spine",
        ALL,
        "Spinal precautions when the fall happened: examined before any move.",
        when=spine_at_risk,
        demand=Demand(Level.REMAIN),
        source=("after_fall", "spine"),
    ),
    Rule(
        "fall.injury_open",
        BUT_FLOOR,
        "A break or spine injury was suspected: lies until said clear, or until its orders are recorded.",
        when=injury_open,
        demand=Demand(Level.REMAIN),
        source="qs86",
    ),
    Rule(
        "fall.contradicted",
        ALL,
        "The clearing contradicts what is recorded of the fall: it does not count until that is put right.",
        when=clearing_contradicted,
        demand=Demand(Level.REMAIN),
        source=("house", "after_fall"),
    ),
)
