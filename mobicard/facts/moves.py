"""Every move with all the house knows of it, one row each; the rules for it stand in ``rules/by_move``.

Minutes and waiting order are the facility's to change: ``rules/policy.toml``, a line each.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from mobicard.facts.words import Equipment, Task


class Where(StrEnum):
    """Where the patient is for the move, and where it leads."""

    IN_BED = "in bed"
    TO_THE_EDGE = "to the edge of the bed"
    TO_THE_FEET = "to the feet"
    TO_A_SEAT = "to a seat"
    ON_FOOT = "on foot"
    IN_THE_CHAIR = "in the chair"
    ACROSS = "across, lying"
    FROM_THE_FLOOR = "from the floor"


@dataclass(frozen=True, slots=True, kw_only=True)
class MoveRow:
    """One move. ``asked`` is its place in the form; ``goal_key`` the key that makes it a goal of the day.

    ``decided_by`` names the facts without which it is not cleared. ``by_hand``, ``by_hand_with``,
    ``powered``, ``lifted``, ``in_one_line`` (spinal precautions) and ``no_roll`` (a hip with an order; both
    empty: as always) say how it is done, ``withheld`` what holds until then; ``{side}`` names the patient's
    stronger side, nothing where none is known. ``letter`` stands for it in the day plan's lanes, ``legend``
    explains it there. ``gg_item`` is its letter in CMS Section GG0170, ``icf`` its WHO ICF code.
    ``every_look`` False: it waits for its own look, but holds up no attestation; many patients are never in a
    chair to slide down in.
    """

    task: Task
    where: Where
    says: str
    says_short: str
    asked: int
    letter: str
    legend: str
    icf: str
    decided_by: tuple[str, ...]
    withheld: str
    by_hand: str
    lifted: str
    powered: str = "powered standing aid"
    in_one_line: str = ""
    no_roll: str = ""
    by_hand_with: Mapping[Equipment, str] = field(default_factory=dict)
    goal_key: str = ""
    gg_item: str = ""
    every_look: bool = True


_LYING = ("alertness", "directions", "behavior", "help")
_SEATED = ("alertness", "directions", "behavior", "sitting", "help")
_FLOOR = ("alertness", "directions", "behavior", "sitting", "standing")
_STOOD = ("alertness", "directions", "behavior", "sitting", "standing", "arms", "help")
_STEPPED = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms", "help")

ROWS = (
    MoveRow(
        task=Task.BOOST,
        where=Where.IN_BED,
        says="Boost up in bed",
        says_short="boost up in bed",
        asked=8,
        letter="P",
        legend="boost",
        icf="d4106",
        decided_by=("alertness", "directions", "behavior", "arms", "help"),
        withheld="not until cleared",
        by_hand="on the count, knees bent, the patient pushes",
        by_hand_with={
            Equipment.FRICTION_REDUCING_SHEET: "slide up on the sheet, on the count",
        },
        lifted="full-body lift, repositioning sling",
        in_one_line="moved up in one line, on the count from the head",
    ),
    MoveRow(
        task=Task.TURN,
        where=Where.IN_BED,
        says="Turn side to side",
        says_short="turn",
        asked=1,
        letter="T",
        legend="turn",
        gg_item="A",
        icf="d410",
        decided_by=_LYING,
        withheld="not until cleared",
        by_hand="roll with a hand at shoulder and hip",
        by_hand_with={Equipment.FRICTION_REDUCING_SHEET: "roll with the sheet, on the count"},
        lifted="full-body lift, repositioning sling",
        in_one_line="log roll in one line, on the count from the head",
    ),
    MoveRow(
        task=Task.SIT_UP,
        where=Where.TO_THE_EDGE,
        says="Sit up to edge of bed",
        says_short="sit up",
        asked=2,
        letter="E",
        legend="sit up",
        goal_key="u",
        gg_item="C",
        icf="d410",
        decided_by=_SEATED,
        withheld="stays lying until cleared",
        by_hand="roll to the side, legs down as the trunk comes up",
        lifted="not at the edge: full-body lift to a reclining chair",
        in_one_line="log roll to the side, then up in one piece",
        no_roll="no roll: onto the elbows, leaning back, round on the seat, legs down",
    ),
    MoveRow(
        task=Task.STAND,
        where=Where.TO_THE_FEET,
        says="Stand up",
        says_short="stand",
        asked=3,
        letter="N",
        legend="stand",
        goal_key="s",
        gg_item="D",
        icf="d410",
        decided_by=_STOOD,
        withheld="no standing until cleared",
        by_hand="feet blocked, stand on the count",
        lifted="not to stand: full-body lift",
    ),
    MoveRow(
        task=Task.CHAIR,
        where=Where.TO_A_SEAT,
        says="Bed to chair and back",
        says_short="up to chair",
        asked=4,
        letter="C",
        legend="chair",
        goal_key="c",
        gg_item="E",
        icf="d420",
        decided_by=_STEPPED,
        withheld="stays in bed until cleared",
        by_hand="stand and pivot{side}",
        by_hand_with={Equipment.SEATED_TRANSFER_AID: "seated, over the transfer board"},
        lifted="full-body lift",
    ),
    MoveRow(
        task=Task.UP_IN_CHAIR,
        where=Where.IN_THE_CHAIR,
        every_look=False,
        says="Reposition in chair",
        says_short="reposition in chair",
        asked=5,
        letter="R",
        legend="in chair",
        icf="d4106",
        decided_by=("alertness", "directions", "behavior", "sitting", "arms", "help"),
        withheld="not until cleared",
        by_hand="wheels locked, feet back; the patient lifts, a helper pushes at the knees",
        by_hand_with={
            Equipment.FRICTION_REDUCING_SHEET: "chair locked, reclined; slid up on the sheet, on the count",
        },
        powered="stand in the powered standing aid, sit again far back",
        lifted="full-body lift",
        in_one_line="not in the chair: back to bed in one line",
    ),
    MoveRow(
        task=Task.TOILET,
        where=Where.TO_A_SEAT,
        says="Toilet or commode",
        says_short="toilet",
        asked=7,
        letter="O",
        legend="toilet",
        goal_key="t",
        gg_item="F",
        icf="d420",
        decided_by=_STEPPED,
        withheld="bedpan or urinal in bed until cleared",
        by_hand="stand and pivot{side}",
        by_hand_with={Equipment.SEATED_TRANSFER_AID: "seated, over the transfer board"},
        lifted="full-body lift to a commode",
    ),
    MoveRow(
        task=Task.WALK,
        where=Where.ON_FOOT,
        says="Walk",
        says_short="walk",
        asked=6,
        letter="W",
        legend="walk",
        goal_key="w",
        gg_item="I",
        icf="d450",
        decided_by=_STEPPED,
        withheld="no walking until cleared",
        by_hand="walk, an arm at the waist, chair behind",
        by_hand_with={Equipment.GAIT_BELT: "walk, hands on the belt, chair behind"},
        powered="not to walk: powered standing aid",
        lifted="not to walk: full-body lift",
    ),
    MoveRow(
        task=Task.STRETCHER,
        where=Where.ACROSS,
        says="Across to stretcher, lying",
        says_short="across to stretcher",
        asked=9,
        letter="S",
        legend="across",
        icf="d420",
        decided_by=_LYING,
        withheld="not until cleared",
        by_hand="slide across, stretcher a little lower, stop halfway",
        lifted="full-body lift, supine sling",
        in_one_line="slide across in one line, on the count from the head",
    ),
    MoveRow(
        task=Task.FLOOR,
        where=Where.FROM_THE_FLOOR,
        every_look=False,
        says="Up from the floor",
        says_short="up from floor",
        asked=10,
        letter="F",
        legend="floor",
        icf="d410",
        decided_by=_FLOOR,
        withheld="not moved until cleared",
        by_hand="helped up through kneeling, chair behind",
        lifted="full-body lift, supine sling",
    ),
)
"""In the order of a day. GG0170 I is 10 feet; ICF d410 change body position, d4106 shift centre of gravity,
d420 transfer oneself, d450 walking."""

MOVES: dict[Task, MoveRow] = {row.task: row for row in ROWS}


def those(*where: Where) -> tuple[Task, ...]:
    """The moves of these kinds, in the order of a day."""
    return tuple(row.task for row in ROWS if row.where in where)


EVERY_LOOK = (
    *("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms"),
    *(f"help.{row.task.value}" for row in ROWS if row.every_look),
)
"""What somebody must have seen before a record can be confirmed as it is, as paths of facts."""

BED = those(Where.IN_BED)
TRANSFERS = those(Where.TO_A_SEAT)
STANDING = those(Where.TO_THE_FEET, Where.TO_A_SEAT)
UP = (*STANDING, *those(Where.ON_FOOT))
OUT_OF_BED = (*those(Where.TO_THE_EDGE), *UP)
IN_CHAIR = those(Where.IN_THE_CHAIR)
LYING = those(Where.IN_BED, Where.ACROSS)
ALL = tuple(row.task for row in ROWS)
DAY = tuple(task for task in ALL if task not in those(Where.ACROSS, Where.FROM_THE_FLOOR))
"""The moves of any shift; a stretcher or floor move takes several people for everybody: no news there."""
