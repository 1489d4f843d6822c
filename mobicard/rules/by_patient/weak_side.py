"""One-sided weakness, a side unattended, a leg that failed its test: which knee to guard, who leads."""

from __future__ import annotations

from mobicard.facts.moves import ALL, STANDING, TRANSFERS, UP
from mobicard.facts.words import Level, Task
from mobicard.rules.rule import BELT, BOARD, Demand, Rule
from mobicard.rules.words import (
    LEG_FAILS,
    NEGLECTS,
    WEAK,
    help_near,
    leg_fails,
    stands_with_support,
    weak,
)

OTHER = {"left": "right", "right": "left"}

RULES = (
    Rule(
        "weak_side.hands_on",
        UP,
        "One side weak and not yet on the feet alone: a helper at the weaker side, hands on the belt.",
        when=weak & (help_near | stands_with_support),
        demand=Demand(Level.LINK, helpers=1, equipment=BELT),
        source=("weak_side", "common"),
    ),
    *(
        Rule(
            f"weak_side.{side}_knee",
            UP,
            f"The {side} side is weak: the helper stands there and guards that knee.",
            when=word,
            demand=Demand(cautions=(f"{side.capitalize()} side weak: stand there, guard that knee",)),
            source="weak_side",
        )
        for side, word in WEAK.items()
    ),
    *(
        Rule(
            f"weak_side.{side}_arm",
            ALL,
            f"The {side} side is weak: nobody pulls that arm, and it is placed before the move.",
            when=word,
            demand=Demand(cautions=(f"{side.capitalize()} arm weak: place it, never pull it",)),
            source="weak_side",
        )
        for side, word in WEAK.items()
    ),
    *(
        Rule(
            f"neglect.{side}",
            ALL,
            f"Does not attend to the {side}: spoken to from the other side, that arm and foot checked first.",
            when=word,
            demand=Demand(
                cautions=(f"Misses the {side}: speak from the {OTHER[side]}, mind {side} arm, foot",)
            ),
            source="neglect",
        )
        for side, word in NEGLECTS.items()
    ),
    *(
        Rule(
            f"neglect.{side}_near",
            UP,
            f"Does not attend to the {side}: somebody close by whenever on the feet.",
            when=word,
            demand=Demand(Level.NEARBY, helpers=1),
            source="neglect",
        )
        for side, word in NEGLECTS.items()
    ),
    Rule(
        "leg_test.two",
        STANDING,
        "A leg failed its test: no weight on it; on the other leg with two, hands on the belt.",
        when=leg_fails,
        demand=Demand(Level.TEAM, helpers=2, equipment=BELT),
        source="block_legs",
    ),
    Rule(
        "leg_test.seated",
        TRANSFERS,
        "A leg failed its test, and nobody can hold it off the floor in a turn: seated, over a transfer aid.",
        when=leg_fails,
        demand=Demand(Level.TEAM, helpers=2, equipment=BOARD),
        source=("block_legs", "osha_fig_1", "common"),
    ),
    Rule(
        "leg_test.no_walking",
        (Task.WALK,),
        "A leg failed its test: no walking until it passes.",
        when=leg_fails,
        demand=Demand(Level.REMAIN),
        source="block_legs",
    ),
    *(
        Rule(
            f"leg_test.{side}",
            UP,
            f"The {side} leg failed its test, straight leg raise or block scale: no weight on it.",
            when=word,
            demand=Demand(cautions=(f"{side.capitalize()} leg numb or weak: no weight on it",)),
            source="block_legs",
        )
        for side, word in LEG_FAILS.items()
    ),
)
