"""What is not known: a move whose deciding facts are missing waits for the nurse."""

from __future__ import annotations

from mobicard.facts.moves import ROWS
from mobicard.facts.words import Help, Level
from mobicard.rules.rule import Demand, Rule
from mobicard.rules.words import NOT_DONE, UNKNOWN

NAMES = {
    "alertness": "Alertness",
    "directions": "Following directions",
    "behavior": "Behavior",
    "sitting": "Sitting at the edge of the bed",
    "standing": "Standing",
    "stepping": "Stepping",
    "arms": "Arm strength",
    "help": "The help this move takes",
}

WHY_NOT_DONE = {
    Help.REFUSED: "the patient refused",
    Help.NOT_APPLICABLE: "it was marked as not applicable",
    Help.NOT_ATTEMPTED_ENVIRONMENT: "the surroundings did not allow it",
    Help.NOT_ATTEMPTED_SAFETY: "it was not safe",
}

NEED_A_LOOK = tuple(row.task for row in ROWS if "help" in row.decided_by)

RULES = (
    *(
        Rule(
            f"unknown.{fact}",
            tuple(row.task for row in ROWS if fact in row.decided_by),
            f"{name} is not assessed: not moved until somebody has looked.",
            when=UNKNOWN[fact],
            demand=Demand(Level.REMAIN),
            source="house",
        )
        for fact, name in NAMES.items()
    ),
    *(
        Rule(
            f"unknown.{answer.value}",
            NEED_A_LOOK,
            f"This move was not tried: {why}. Not assessed: not moved until somebody has looked.",
            when=NOT_DONE[answer],
            demand=Demand(Level.REMAIN),
            source=("cms_gg", "house"),
        )
        for answer, why in WHY_NOT_DONE.items()
    ),
)
