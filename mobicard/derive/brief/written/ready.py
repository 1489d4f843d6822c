"""Make ready: brakes, height, chair, belt, sling, sheet, what is put on; lines are the plan's cautions."""

from __future__ import annotations

from functools import partial

from mobicard.derive.brief import ways as w
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import Way
from mobicard.derive.brief.written.line import Written
from mobicard.facts.words import Task
from mobicard.rules.words import has_lines

R = partial(Written, phase=Phase.READY)
AT_A_BED = tuple(task for task in Task if task not in (Task.FLOOR, Task.UP_IN_CHAIR))
OUT = (*w.FROM_THE_EDGE, *w.SITTING_UP, Way.WALK, Way.STANDING_AID)

LINES = (
    R(
        id="ready.brakes_chair",
        ways=w.TO_THE_CHAIR,
        says="Brakes on: bed, {seat}.",
        source="bc_chair",
        harm=0,
        always=True,
    ),
    R(
        id="ready.brakes_stretcher",
        ways=(Way.SLIDE,),
        says="Brakes on: bed, stretcher; rails down, no gap.",
        source="bc_stretcher",
        harm=0,
        always=True,
    ),
    R(
        id="ready.brakes_bed",
        ways=(*w.IN_BED, *w.SITTING_UP, Way.STAND),
        tasks=AT_A_BED,
        says="Bed brakes on.",
        source="common",
        harm=0,
        always=True,
    ),
    R(
        id="ready.brakes_aid",
        ways=(Way.STANDING_AID,),
        tasks=(Task.STAND,),
        says="Bed brakes on.",
        source="fda",
        harm=0,
        always=True,
    ),
    R(
        id="ready.brakes_lift",
        ways=(Way.LIFT,),
        tasks=(Task.BOOST, Task.TURN, Task.STRETCHER),
        says="Bed brakes on.",
        source="fda",
        harm=0,
        always=True,
    ),
    *(
        R(
            id=f"ready.brakes_{way.name.lower()}_seat",
            ways=(way,),
            tasks=tasks,
            says="Brakes on: bed, {seat}.",
            source="fda",
            harm=0,
            always=True,
        )
        for way, tasks in w.SEATED_BY.items()
    ),
    R(
        id="ready.brakes_seat",
        ways=(*w.IN_THE_CHAIR, *w.BY_MACHINE),
        tasks=(Task.UP_IN_CHAIR,),
        says="Chair brakes on, feet on the floor.",
        source="osha_fig_5",
        harm=0,
        always=True,
    ),
    R(
        id="ready.height_hands",
        ways=w.AT_BED_HEIGHT,
        says="{bed}.",
        source="ansur",
        harm=1,
        always=True,
    ),
    R(
        id="ready.height_up",
        ways=(*w.FROM_THE_EDGE, *w.SITTING_UP, Way.STANDING_AID),
        says="{bed}.",
        source="cdc_height",
        harm=1,
        always=True,
    ),
    R(id="ready.height_lift", ways=(Way.LIFT,), tasks=AT_A_BED, says="{bed}.", source="ansur", harm=3),
    R(
        id="ready.bed_after_floor",
        ways=(Way.FLAT_LIFT,),
        tasks=(Task.FLOOR,),
        says="Bed beside: brakes on, low; then {hands_cm}.",
        source="ansur",
        harm=0,
        always=True,
    ),
    R(
        id="ready.bed_by_the_lift",
        ways=(Way.LIFT,),
        tasks=(Task.FLOOR,),
        says="Bed beside: brakes, low as lift allows.",
        source="fda",
        harm=0,
        always=True,
    ),
    R(
        id="ready.headboard",
        ways=(*(way for way in w.COUNTED_AT_THE_HEAD if way is not Way.FLAT_LIFT),),
        says="{headboard}.",
        source="common",
        harm=1,
        always=True,
    ),
    R(
        id="ready.pillow",
        ways=(Way.BOOST,),
        says="Pillow against the headboard.",
        source="common",
        harm=1,
    ),
    R(
        id="ready.stretcher_lower",
        ways=(Way.SLIDE,),
        says="Stretcher slightly lower.",
        source="bc_stretcher",
        harm=1,
        always=True,
    ),
    R(
        id="ready.flat",
        ways=(*w.IN_BED, Way.SLIDE),
        says="Bed {flat}.",
        source="osha_fig_4",
        harm=1,
        always=True,
    ),
    R(
        id="ready.chair",
        ways=(Way.PIVOT,),
        says="{seat} at patient's {chair_at}, {chair_how}; leg rests off.",
        source="bc_chair",
        harm=1,
        always=True,
    ),
    R(
        id="ready.chair_board",
        ways=(Way.BOARD,),
        says="{seat} at patient's {chair_at}, {chair_how}, bed height; near arm, leg rests off.",
        source="osha_fig_1",
        harm=1,
        always=True,
    ),
    R(
        id="ready.shoes",
        ways=(*w.ON_THE_FEET, Way.BOARD),
        says="Shoes on.",
        source="common",
        harm=1,
        always=True,
    ),
    R(id="ready.put_on", ways=OUT, says="Put on first: {put_on}.", source="plan", harm=0, always=True),
    R(
        id="ready.belt",
        ways=(*w.ON_THE_FEET, Way.BOARD),
        says="{belt} snug.",
        source="vha",
        harm=1,
        always=True,
    ),
    R(id="ready.aid", ways=w.ON_THE_FEET, says="{aid} in reach.", source="plan", harm=1, always=True),
    R(
        id="ready.sheet",
        ways=(Way.ROLL, Way.CHAIR_SHEET),
        says="Slide {sheet} under shoulders to hips.",
        source="osha_fig_4",
        harm=1,
        always=True,
    ),
    R(
        id="ready.sheet_long",
        ways=(Way.BOOST, Way.IN_LINE),
        says="Slide {sheet} under head to {sheet_to}.",
        source="common",
        harm=1,
        always=True,
    ),
    R(
        id="ready.slider",
        ways=(Way.SLIDE,),
        says="{slider} under before stretcher comes; {second} stays.",
        source="bc_stretcher",
        harm=1,
    ),
    R(
        id="ready.sling",
        ways=(Way.LIFT,),
        says="{sling}: right size, limit; same loops both sides.",
        source="hse_sling",
        harm=0,
        always=True,
    ),
    R(
        id="ready.lift",
        ways=(Way.LIFT, Way.STANDING_AID),
        says="Battery charged, emergency lowering known, legs wide.",
        source="fda",
        harm=2,
    ),
    R(
        id="ready.chair_floor",
        ways=(Way.KNEEL,),
        says="One steady chair in front, one behind.",
        source="stairs_back",
        harm=1,
        always=True,
    ),
    R(
        id="ready.chair_walk",
        ways=(Way.WALK,),
        says="Way clear and dry; chair follows.",
        source="common",
        harm=1,
        always=True,
    ),
    R(
        id="ready.push",
        ways=(Way.SLIDE,),
        says="To wheel loaded: {to_push} people or drive.",
        source="aorn_push",
        harm=3,
    ),
    R(
        id="ready.pole",
        ways=(*w.TO_THE_CHAIR, Way.SLIDE, Way.STANDING_AID, Way.LIFT),
        says="Pole and bags over there first.",
        source="common",
        when=has_lines,
        harm=1,
    ),
)
