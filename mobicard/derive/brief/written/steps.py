"""What is done, step by step: go or no-go, the count, the halfway stop, the grip anew."""

from __future__ import annotations

from functools import partial

from mobicard.derive.brief.asked import HANDS, LEGS
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import SEATED_BY, Way
from mobicard.derive.brief.written.line import Written
from mobicard.facts.words import Task

UP = (Way.STAND, Way.PIVOT)
D = partial(Written, phase=Phase.DO, always=True)

LINES = (
    D(
        id="do.edge",
        tasks=(Task.STAND, Task.CHAIR, Task.TOILET),
        ways=(*UP, Way.BOARD, Way.STANDING_AID),
        says="To edge, {feet_go}. Wait 60 seconds.",
        source="bc_chair",
        harm=0,
    ),
    D(
        id="do.knee_go",
        ways=UP,
        says="Seated: straighten {knee}; cannot: stop.",
        source="common",
        asks=LEGS,
        harm=0,
    ),
    D(id="do.stand", ways=UP, says="Up on “stand”; wait.", source="bc_chair", harm=1, always=False),
    D(
        id="do.turn",
        ways=(Way.PIVOT,),
        says="Turn {turn}: legs feel {seat}; {sits}.",
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
    D(
        id="do.stand_still",
        ways=(Way.STAND,),
        says="Ask at 1 minute: dizzy?",
        source="freeman",
        harm=1,
        always=False,
    ),
    D(
        id="do.board",
        ways=(Way.BOARD,),
        says="Lean away, board under; short slides, feet along; stop half way, grip anew; board out.",
        source="osha_fig_1",
        harm=1,
    ),
    D(
        id="do.roll_room",
        ways=(Way.ROLL,),
        says="First “move”: {slides} to patient's {roll_from}.",
        source="common",
        harm=1,
    ),
    D(
        id="do.roll",
        ways=(Way.ROLL,),
        says="{roll_from} arm across, {far_leg}. Next “move”: roll to patient's {roll_to}. Pillow behind.",
        source="fray",
    ),
    D(
        id="do.arms_in",
        ways=(Way.LOG_ROLL, Way.LOG_SIT),
        says="Arms crossed on chest, pillow between legs.",
        source="common",
        harm=0,
    ),
    D(
        id="do.log_roll",
        ways=(Way.LOG_ROLL,),
        says="On “move”, pull, to patient's {roll_to}, as one: nose, breastbone, toes in line.",
        source="common",
        harm=0,
    ),
    D(
        id="do.log_roll_end",
        ways=(Way.LOG_ROLL,),
        says="Head level on pillow; look at the back; wedge behind.",
        source="common",
        harm=1,
    ),
    D(
        id="do.face_up",
        ways=(Way.BOOST, Way.IN_LINE),
        says="Face the head end, feet apart, one ahead; patient's arms crossed.",
        source="fray",
        harm=1,
    ),
    D(
        id="do.boost",
        ways=(Way.BOOST, Way.IN_LINE),
        says="On “move”: weight back foot to front, short slide. Stop, grip anew, again.",
        source="osha_fig_4",
    ),
    D(
        id="do.sit_up",
        ways=(Way.SIT_UP,),
        says="Roll to patient's {sits_to}. On “move”: {legs} down as the trunk comes up. Steady; dizzy?",
        source="common",
    ),
    D(
        id="do.sit_up_hip",
        ways=(Way.SIT_UP,),
        says="No roll: onto elbows, leaning back; on “move” turn on bottom to patient's {turns_to}, "
        "legs down. Dizzy?",
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
        says="Arms crossed. By {rolling}: aid half under, sheet over, {aid_to}; then stretcher.",
        source="bc_stretcher",
    ),
    D(
        id="do.slide",
        ways=(Way.SLIDE,),
        says="On “move”: half way. Stop, grip anew; “move”: across. Pull sheet straps, no leaning.",
        source="bc_stretcher",
        harm=1,
    ),
    D(
        id="do.walk",
        ways=(Way.WALK,),
        says="Stand 1 minute; if steady, walk in step; turn wide; chair before tired.",
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
        says="Feet on the plate, shins to the pad, sling low on the back. "
        "Sling taut: stop, check all; raise slowly.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.look_first",
        ways=(Way.LIFT, Way.KNEEL, Way.ALONE),
        tasks=(Task.FLOOR,),
        says="Look first. Head, neck, back, limb hurt: do not move, call.",
        source="after_fall",
        harm=0,
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
        tasks=tuple(task for task in Task if task not in (Task.UP_IN_CHAIR, Task.FLOOR)),
        says="Both sides manned: sling under by {rolling} on “move”, arms inside. "
        "Hand's breadth up: stop, check each loop.",
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
        id="do.lift_boost",
        ways=(Way.LIFT,),
        tasks=(Task.BOOST,),
        says="{wheels} wheel lift to the head end; lower, loops off.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.lift_turn",
        ways=(Way.LIFT,),
        tasks=(Task.TURN,),
        says="The far side's loops only: raise till on the side, pillow behind; lower, loops off.",
        source="common",
        harm=1,
    ),
    D(
        id="do.lift_across",
        ways=(Way.LIFT,),
        tasks=(Task.STRETCHER,),
        says="Over the stretcher, lower, loops off.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.lift_back",
        ways=(Way.LIFT,),
        tasks=(Task.UP_IN_CHAIR,),
        says="Hips to the chair's back, lower, loops off.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.lift_floor",
        ways=(Way.LIFT,),
        tasks=(Task.FLOOR,),
        says="{head_first}. Sling under by {rolling} on count, arms inside.",
        source="fda",
        harm=0,
    ),
    D(
        id="do.lift_in",
        ways=(Way.LIFT,),
        tasks=(Task.FLOOR,),
        says="Wheel lift in, {lift_legs}.",
        source="fda",
        harm=1,
        always=False,
    ),
    D(
        id="do.lift_to_bed",
        ways=(Way.LIFT,),
        tasks=(Task.FLOOR,),
        says="Hand's breadth up: stop, check head, loops. "
        "Over bed, lower, loops off, lift away; bed {hands_cm}, sling out.",
        source="fda",
        harm=0,
    ),
    D(
        id="do.aid_down",
        ways=(Way.STANDING_AID,),
        tasks=(Task.STAND, Task.UP_IN_CHAIR),
        says="Lower slowly, sit well back, sling off.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.aid_seat",
        ways=(Way.STANDING_AID,),
        tasks=SEATED_BY[Way.STANDING_AID],
        says="Back from the bed; turn patient {turn}, {seat} behind; lower slowly.",
        source="fda",
        harm=1,
    ),
    D(
        id="do.flat",
        ways=(Way.FLAT_LIFT,),
        says="Scoop halves under, straps on. On the count: up level, over the bed, down; halves out.",
        source="after_fall",
        harm=0,
    ),
    D(id="do.alone", ways=(Way.ALONE,), says="{alone}.", source="common"),
)
