"""What is done, step by step: go or no-go, the count, the halfway stop, the grip anew."""

from __future__ import annotations

from functools import partial

from mobicard.derive.brief.asked import Asked
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import SEATED_BY, Way
from mobicard.derive.brief.written.line import Written
from mobicard.facts.words import Task

LEGS = (Asked.LEFT_LEG, Asked.RIGHT_LEG)
HANDS = (Asked.A_HAND, Asked.LEFT_HAND, Asked.RIGHT_HAND)
UP = (Way.STAND, Way.PIVOT)
D = partial(Written, phase=Phase.DO, always=True)

LINES = (
    D(
        id="do.edge",
        tasks=(Task.STAND, Task.CHAIR, Task.TOILET),
        ways=(*UP, Way.STANDING_AID),
        says="To the edge, {foot} flat and back. 60 seconds: dizzy?",
        source="bc_chair",
        harm=0,
    ),
    D(
        id="do.knee_go",
        ways=UP,
        says="Straightens the {knee}? If not, stop.",
        source="common",
        asks=LEGS,
        harm=0,
    ),
    D(id="do.foot_off", ways=UP, says="{off} foot forward, {off_how}.", source="common", harm=0),
    D(id="do.stand", ways=UP, says="Up on “stand”; stand still.", source="bc_chair"),
    D(
        id="do.turn",
        ways=(Way.PIVOT,),
        says="Bottom to the patient's {chair_at}, body turns {turn} degrees: "
        "backs of both legs feel the seat; sit slowly.",
        source="bc_chair",
        harm=0,
    ),
    D(
        id="do.sit_hand",
        ways=(Way.PIVOT,),
        says="Sitting: a hand to the arm of the {seat}.",
        source="bc_chair",
        asks=HANDS,
        always=False,
    ),
    D(id="do.stand_still", ways=(Way.STAND,), says="Ask at 1 minute: dizzy?", source="freeman", harm=1),
    D(
        id="do.board",
        ways=(Way.BOARD,),
        says="Lean away, board under; slide in short moves; stop half way, grip anew; board out.",
        source="osha_fig_1",
        harm=1,
    ),
    D(
        id="do.roll",
        ways=(Way.ROLL,),
        says="Far arm across, far leg over. On “move”: roll to the patient's {roll_to}. Pillow behind.",
        source="fray",
    ),
    D(
        id="do.log_roll",
        ways=(Way.LOG_ROLL,),
        says="On “move” from the head, to the patient's {roll_to}, as one; stop; look; back on the count.",
        source="common",
        harm=0,
    ),
    D(
        id="do.boost",
        ways=(Way.BOOST, Way.IN_LINE),
        says="Weight from foot to foot, on “move”: a short slide. Stop, grip anew, again.",
        source="osha_fig_4",
    ),
    D(
        id="do.sit_up",
        ways=(Way.SIT_UP,),
        says="Roll to the side. On “move”: legs down as the trunk comes up. Steady; dizzy?",
        source="common",
    ),
    D(
        id="do.log_sit",
        ways=(Way.LOG_SIT,),
        says="Log roll to the side; on “move” up in one piece, legs down. Dizzy?",
        source="common",
        harm=0,
    ),
    D(
        id="do.slide_on",
        ways=(Way.SLIDE,),
        says="Log roll a little, slider half under, back.",
        source="bc_stretcher",
    ),
    D(
        id="do.slide",
        ways=(Way.SLIDE,),
        says="On “move”: to the middle. Stop, grip anew, on “move” across. Pull by straps, no leaning over.",
        source="bc_stretcher",
        harm=1,
    ),
    D(
        id="do.walk",
        ways=(Way.WALK,),
        says="Stand 1 minute. Steady: walk, same foot together; turn wide; chair before tired.",
        source="common",
    ),
    D(
        id="do.chair_back",
        ways=(Way.PUSH_BACK,),
        says="Feet back. On “move”: the patient lifts, you push at the knees.",
        source="osha_fig_5",
    ),
    D(
        id="do.chair_sheet",
        ways=(Way.CHAIR_SHEET,),
        says="Recline. On “move”: slide up. Stop, grip anew, again.",
        source="osha_fig_5",
    ),
    D(
        id="do.kneel",
        ways=(Way.KNEEL,),
        says="Side, elbow, kneel, chair, one foot flat, up, turn, sit. Each alone before the next.",
        source="stairs_back",
        harm=1,
    ),
    D(
        id="do.aid",
        ways=(Way.STANDING_AID,),
        says="Feet on the plate, shins to the pad, sling low on the back. Raise slowly; stop half way: feet?",
        source="fda",
        harm=1,
    ),
    D(
        id="do.lift_in_chair",
        ways=(Way.LIFT,),
        tasks=(Task.UP_IN_CHAIR,),
        says="Sling down behind the back, under both thighs, arms inside. Raise a hand's breadth: check.",
        source="fda",
        harm=0,
    ),
    D(
        id="do.lift",
        ways=(Way.LIFT,),
        tasks=tuple(task for task in Task if task is not Task.UP_IN_CHAIR),
        says="Sling under by {rolling}, arms inside. Raise a hand's breadth: stop, check each loop.",
        source="fda",
        harm=0,
    ),
    D(
        id="do.lift_seat",
        ways=(Way.LIFT,),
        tasks=SEATED_BY[Way.LIFT],
        says="Over the {seat}, lower, hips to the back.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.aid_seat",
        ways=(Way.STANDING_AID,),
        tasks=SEATED_BY[Way.STANDING_AID],
        says="Turn the aid, the {seat} behind; lower slowly.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.flat",
        ways=(Way.FLAT_LIFT,),
        says="Scoop halves under, straps on. On the count from the head: up level.",
        source="after_fall",
        harm=0,
    ),
    D(id="do.alone", ways=(Way.ALONE,), says="Way clear, shoes on; one stays near.", source="common"),
)
