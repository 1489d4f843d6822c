"""When to stop and what then, the errors of each move by harm, and how the patient is left."""

from __future__ import annotations

from functools import partial

from mobicard.derive.brief import ways as w
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import Way
from mobicard.derive.brief.written.line import Written
from mobicard.facts.words import Precaution, Task
from mobicard.rules.words import PRECAUTION, has_lines

STOP = partial(Written, phase=Phase.STOP, harm=0, always=True)
NOT = partial(Written, phase=Phase.ERRORS)
LEFT = partial(Written, phase=Phase.LEAVE)
IN_BED_AFTER = (*w.IN_BED,)
SEATED = (*w.TO_THE_CHAIR, *w.IN_THE_CHAIR, Way.KNEEL)

LINES = (
    STOP(
        id="stop.on_feet",
        ways=(Way.STAND, Way.PIVOT, Way.WALK),
        says="Dizzy, pain, {leg_weak}: {sit_where}; call.",
        source="bc_chair",
    ),
    STOP(
        id="stop.falling",
        ways=(Way.STAND, Way.PIVOT, Way.WALK),
        says="Falling: no catching; ease down, guard head.",
        source="vha",
    ),
    STOP(
        id="stop.seated",
        ways=(*w.SITTING_UP, *w.IN_THE_CHAIR),
        says="Dizzy, pale, pain: lie or sit back. Slipping: block {blocked}. Call. Breathless: {breathless}.",
        source="common",
    ),
    STOP(
        id="stop.board",
        ways=(Way.BOARD,),
        says="Dizzy, pale, pain: nearer seat. Slipping: block knees, hips back. Call. Breathless: stay up.",
        source="common",
    ),
    STOP(
        id="stop.spine",
        ways=(Way.LOG_ROLL, Way.IN_LINE, Way.LOG_SIT, Way.FLAT_LIFT),
        says="Pain, tingling, tube pulls: stop, hold in line, call. Breathless: {breathless}.",
        source="common",
    ),
    STOP(
        id="stop.roll",
        ways=(Way.ROLL,),
        says="Pain: roll back. Tube pulls: stop, slack. Breathless: back, {breathless}. Call.",
        source="common",
    ),
    STOP(
        id="stop.lying",
        ways=(Way.BOOST,),
        says="Pain: stop. Tube pulls: stop, slack. Breathless: {breathless}. Call.",
        source="common",
    ),
    STOP(
        id="stop.slide",
        ways=(Way.SLIDE,),
        says="Pain: onto nearer surface. Breathless: likewise, {breathless}. Tube pulls: stop, slack. Call.",
        source="common",
    ),
    STOP(
        id="stop.lift",
        ways=(Way.LIFT,),
        says="Slips, restless, breathless, loop off, pain: lower at once{nearest}; call.",
        source="fda",
    ),
    STOP(
        id="stop.lift_lines",
        ways=(Way.LIFT, Way.STANDING_AID),
        tasks=(Task.CHAIR, Task.TOILET, Task.STRETCHER),
        says="Tube pulls: stop, slack.",
        source="common",
        when=has_lines,
    ),
    STOP(
        id="stop.aid",
        ways=(Way.STANDING_AID,),
        says="Dizzy, pale, pain, knees fold, slips: lower at once{nearest}; call.",
        source="common",
    ),
    STOP(
        id="stop.kneel",
        ways=(Way.KNEEL,),
        says="Pain, or a step not done alone: back down, lift instead.",
        source="after_fall",
    ),
    STOP(id="stop.alone", ways=(Way.ALONE,), says="Needs a hand: {left_it}, fetch help.", source="common"),
    NOT(
        id="error.neck",
        ways=(Way.STAND, Way.PIVOT, Way.BOARD),
        says="No arms round a neck.",
        source="bc_chair",
        harm=1,
    ),
    NOT(
        id="error.arms",
        ways=(*w.SITTING_UP, Way.KNEEL, *w.IN_THE_CHAIR),
        says="No lifting by the arms or under them.",
        source="common",
        harm=1,
    ),
    NOT(
        id="error.head_end",
        ways=(Way.BOOST, Way.IN_LINE),
        says="No pulling from the head of the bed.",
        source="osha_fig_4",
        harm=1,
    ),
    NOT(
        id="error.reach",
        ways=(Way.BOOST, Way.IN_LINE),
        says="No reaching across.",
        source="waters",
        harm=2,
    ),
    NOT(
        id="error.twist",
        ways=(*w.IN_BED, Way.PIVOT, Way.LOG_SIT),
        says="No twisting: feet turn.",
        source="common",
        harm=2,
    ),
    NOT(
        id="error.sling",
        ways=(Way.LIFT,),
        says="Never leave the patient in the raised sling.",
        source="fda",
        harm=1,
    ),
    NOT(
        id="error.aid_lift",
        ways=(Way.STANDING_AID,),
        says="No hanging by the arms: lower if the legs do not push.",
        source="fda",
        harm=1,
    ),
    LEFT(
        id="leave.chair",
        ways=SEATED,
        says="Hips back, call light in hand.",
        source="bc_chair",
        always=True,
    ),
    LEFT(
        id="leave.way_back",
        ways=w.TO_THE_CHAIR,
        says="Return: {seat} turned, bed {back_at}.",
        source="bc_chair",
        harm=1,
        always=True,
    ),
    LEFT(
        id="leave.sheet_out",
        ways=(Way.LIFT,),
        tasks=tuple(task for task in Task if task is not Task.FLOOR),
        says="Sling out unless its label lets it stay.",
        source="fda",
        harm=2,
    ),
    LEFT(
        id="leave.slide_sheet",
        ways=(Way.BOOST, Way.IN_LINE, Way.ROLL, Way.CHAIR_SHEET),
        says="{sheet} out.",
        source="common",
        harm=1,
        always=True,
    ),
    LEFT(
        id="leave.bed",
        ways=(*w.IN_BED,),
        says="Bed low, brakes on, call light in reach, heels free.",
        source="npiap",
        always=True,
    ),
    LEFT(
        id="leave.stretcher",
        ways=(Way.SLIDE,),
        says="Transfer aid out, rails up, straps on.",
        source="bc_stretcher",
        always=True,
    ),
    LEFT(
        id="leave.edge",
        ways=(*w.SITTING_UP, Way.STAND, Way.WALK),
        says="Never alone at the edge; back in bed: low, brakes, call light.",
        source="common",
        always=True,
    ),
    LEFT(
        id="leave.aid",
        ways=(Way.STANDING_AID,),
        tasks=(Task.STAND,),
        says="Never alone at the edge; back in bed: low, brakes, call light.",
        source="common",
        always=True,
    ),
    LEFT(
        id="leave.lift",
        ways=(Way.LIFT, Way.FLAT_LIFT),
        tasks=(Task.BOOST, Task.TURN),
        says="Comfortable in bed: low, brakes on, call light in reach.",
        source="common",
        always=True,
    ),
    LEFT(
        id="leave.lift_stretcher",
        ways=(Way.LIFT,),
        tasks=(Task.STRETCHER,),
        says="Rails up, straps on.",
        source="bc_stretcher",
        always=True,
    ),
    LEFT(
        id="leave.floor",
        ways=(Way.LIFT, Way.FLAT_LIFT),
        tasks=(Task.FLOOR,),
        says="Look again: pain, head, limbs. Bed low, brakes, call light.",
        source="after_fall",
        always=True,
    ),
    LEFT(
        id="leave.lift_chair",
        ways=(Way.LIFT, Way.STANDING_AID),
        tasks=(Task.UP_IN_CHAIR,),
        says="Hips back, call light in hand.",
        source="bc_chair",
        always=True,
    ),
    *(
        LEFT(
            id=f"leave.{way.name.lower()}_seat",
            ways=(way,),
            tasks=w.SEATED_BY[way],
            says=says,
            source="bc_chair",
            always=True,
        )
        for way, says in (
            (Way.LIFT, "Hips back, call light in hand."),
            (Way.STANDING_AID, "Sling off, hips back, call light in hand."),
        )
    ),
    LEFT(
        id="leave.likewise",
        ways=tuple(w.SEATED_BY),
        tasks=(Task.CHAIR, Task.TOILET),
        says="{back}.",
        source="common",
    ),
    LEFT(
        id="leave.alone",
        ways=(Way.ALONE,),
        says="Call light in reach, bed low, brakes on.",
        source="common",
        always=True,
    ),
    LEFT(
        id="leave.lines",
        ways=w.MOVED,
        says="Bags below, lines slack.",
        source="common",
        when=has_lines,
        harm=1,
    ),
    LEFT(
        id="leave.turn",
        ways=(Way.ROLL, Way.LOG_ROLL),
        says="Write the side and hour; next turn when due.",
        source="common",
        tasks=(Task.TURN,),
        harm=3,
    ),
    LEFT(
        id="leave.head_up",
        ways=(*w.IN_BED, Way.LIFT),
        tasks=(Task.BOOST, Task.TURN, Task.STRETCHER, Task.FLOOR),
        says="Backrest 30°: check.",
        source="feeding",
        when=PRECAUTION[Precaution.HEAD_UP_30],
        harm=1,
        always=True,
    ),
    LEFT(id="leave.feed", ways=w.AT_BED_HEIGHT, says="{feed}.", source="common", harm=1, always=True),
)
