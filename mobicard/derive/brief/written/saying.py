"""What is said to the patient and asked of them: only what the record knows they can do and may."""

from __future__ import annotations

from functools import partial

from mobicard.derive.brief import ways as w
from mobicard.derive.brief.asked import HANDS, LEGS, Asked
from mobicard.derive.brief.values import Phase
from mobicard.derive.brief.ways import Way
from mobicard.derive.brief.written.line import Written
from mobicard.facts.words import Task

A = Asked
UPWARD = (Way.STAND, Way.PIVOT, Way.STANDING_AID)
S = partial(Written, phase=Phase.SAY, source="house_ask")

LINES = (
    S(id="say.language", ways=w.MOVED, says="{language}.", harm=1, source="plan", always=True),
    S(id="say.hearing", ways=w.MOVED, says="Hearing: {hearing}.", harm=3, source="plan"),
    S(
        id="say.alone",
        ways=(Way.ALONE,),
        says="The patient does it their own way, at their pace.",
        asks=tuple(Asked),
        always=True,
    ),
    S(id="say.one_leg", ways=UPWARD, says="“Stand on {on_one}.”", asks=LEGS, harm=0, always=True),
    S(id="say.legs", ways=UPWARD, says="“Push up with {on_both}.”", asks=LEGS),
    S(id="say.lean", ways=(Way.STAND, Way.PIVOT), says="“Lean forward, nose over toes.”", asks=(A.LEAN,)),
    S(id="say.push", ways=(Way.STAND, Way.PIVOT), says="“Push up from the bed: {push_off}.”", asks=HANDS),
    S(
        id="say.hold_on",
        ways=(Way.STAND, Way.PIVOT),
        says="“Push off bed, then {hold_on}.”",
        asks=HANDS,
        harm=0,
        always=True,
    ),
    S(id="say.hold", ways=(Way.STANDING_AID,), says="“Hold the handle: {push}.”", asks=HANDS, harm=1),
    S(id="say.board", ways=(Way.BOARD,), says="“Push and slide: {push}.”", asks=HANDS, always=True),
    S(id="say.bend", ways=(Way.BOOST,), says="“Bend {bend} and push.”", asks=LEGS, always=True),
    S(id="say.chin", ways=(Way.BOOST, Way.SLIDE), says="“Chin to chest.”", asks=(A.CHIN,)),
    S(
        id="say.roll",
        ways=(Way.ROLL, Way.SIT_UP),
        says="“Look and reach to the side you go.”",
        asks=(A.ROLL,),
    ),
    S(id="say.push_bed", ways=(Way.SIT_UP,), says="“Push down on the mattress: {push}.”", asks=HANDS),
    S(id="say.seat", ways=(Way.PUSH_BACK,), says="“Push up on the arms: {push}.”", asks=HANDS, always=True),
    S(id="say.steps", ways=(Way.PIVOT, Way.WALK), says="“Small steps.”", asks=(A.STEP,)),
    S(id="say.kneel", ways=(Way.KNEEL,), says="“Roll, kneel, hands on the chair.”", asks=(A.ROLL,)),
    S(id="say.kneel_up", ways=(Way.KNEEL,), says="“Strong foot forward, push up.”", asks=LEGS),
    S(id="say.tell", ways=w.MOVED, says="“Dizzy or pain: say so.”", asks=(A.TELL,), harm=1),
    S(
        id="say.count_stand",
        ways=(Way.STAND, Way.PIVOT, Way.STANDING_AID),
        says="“Ready, steady, stand.”",
        asks=(A.FOLLOW,),
        harm=1,
        always=True,
    ),
    S(
        id="say.count_move",
        ways=(*w.IN_BED, *w.SITTING_UP, Way.BOARD, Way.SLIDE, *w.IN_THE_CHAIR),
        says="“Ready, steady, move.”",
        asks=(A.FOLLOW,),
        harm=1,
        always=True,
    ),
    S(
        id="say.count_roll",
        ways=(Way.LIFT,),
        tasks=(Task.FLOOR,),
        says="“Ready, steady, roll.”",
        asks=(A.FOLLOW,),
        harm=1,
        always=True,
    ),
)
TOLD = (
    S(
        id="say.told",
        ways=tuple(way for way in w.MOVED if way is not Way.WALK),
        says="{told}.",
        source="common",
        harm=1,
        always=True,
    ),
    S(
        id="say.told_walk",
        ways=(Way.WALK,),
        says="Say each step before it is taken.",
        source="common",
        harm=1,
        always=True,
    ),
)
"""Said where nothing may be asked: telling is no asking."""
