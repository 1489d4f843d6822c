"""After a fall: who may not be moved, who may be helped up, and when the assessment counts again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from mobicard.derive.model import AfterFall, Reason, TaskPlan
from mobicard.derive.over_time.fall_cleared import cleared, contradicted, injury_open, lifted_flat, told
from mobicard.derive.over_time.head_timetable import head_spared
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Found, Help, Injury, Level, LiftAs, Precaution, Task, YesNoUnknown
from mobicard.rules import words as w
from mobicard.rules.protocol import HELD

NO = YesNoUnknown.NO


def fall_words(record: Record, now: datetime, said: int) -> int:
    """The words a fall says, as bits, beside those already said; none once it is over.

    Over: cleared by name where that was needed, nothing suspected left open, recorded as up, and looked at
    again after that. Looking at the legs of somebody on the floor ends nothing. Times are the ward's wall
    clock.
    """
    fall = record.fall_event
    if fall is None:
        return 0
    allowed, up = cleared(fall, now), _up(fall, now)
    danger = 0 if allowed else _danger_words(fall, record)
    open_ = _open_words(fall, record)
    if up and not danger and not open_ and looked_at_again(record, fall):
        return 0
    words = w.fell.bit | danger | open_ | (0 if up else w.on_the_floor.bit)
    if lifted_flat(fall, now):
        words |= w.lifted_flat.bit
    return words if not up and allowed and _by_hand(record, fall, said) else words | w.not_by_hand.bit


def _open_words(fall: FallEvent, record: Record) -> int:
    """What no look ends: an injury suspected and not settled, a clearing that cannot be right."""
    words = w.injury_open.bit if injury_open(fall, record) else 0
    return words | (w.clearing_contradicted.bit if contradicted(fall) else 0)


def fall_is_over(fall: FallEvent, record: Record) -> bool:
    """Whether this record ends the fall: up, cleared where needed, nothing left open, looked at after it."""
    allowed = fall.cleared_at is not None or not _danger_words(fall, record)
    return allowed and not _open_words(fall, record) and looked_at_again(record, fall)


def looked_at_again(record: Record, fall: FallEvent) -> bool:
    """Whether somebody assessed the patient after the fall, and after they were up again."""
    assessed = record.assessed_at
    return assessed is not None and assessed > fall.at and fall.up_at is not None and assessed >= fall.up_at


def _up(fall: FallEvent, now: datetime) -> bool:
    return fall.up_at is not None and fall.at <= fall.up_at <= now


def _danger_words(fall: FallEvent, record: Record) -> int:
    words = 0
    if fall.head_strike is not NO:
        words |= w.head_not_clear.bit
    if fall.witnessed is not True:
        words |= w.unwitnessed.bit
    if fall.neck_pain is not NO:
        words |= w.neck_not_clear.bit
    if fall.injury is None or fall.injury is Injury.MAJOR:
        words |= w.major_injury.bit
    if not _no_thinner(fall) and fall.head_strike is not NO:
        words |= w.bleeding_risk.bit
    if Precaution.SPINAL in record.precautions or Precaution.SPINAL_CERVICAL in record.precautions:
        words |= w.spine_at_risk.bit
    return words


def _no_thinner(fall: FallEvent) -> bool:
    return fall.anticoagulated is NO


_NOT_BY_HAND = (
    w.newly_confused
    | w.not_cooperative
    | w.not_full_weight
    | w.no_weight
    | w.cannot_sit
    | w.heavy
    | w.any_spine
    | w.any_hip
    | w.no_arm
    | w.no_arm_by_order
    | w.PRECAUTION[Precaution.STERNAL]
    | w.PRECAUTION[Precaution.BED_REST]
    | w.PRECAUTION[Precaution.FEMORAL_SHEATH]
    | w.PRECAUTION[Precaution.GROIN_LEFT]
    | w.PRECAUTION[Precaution.GROIN_RIGHT]
    | w.PRECAUTION[Precaution.HEAD_FLAT]
)
_NEEDED = tuple(
    w.UNKNOWN[fact] for fact in ("alertness", "directions", "behavior", "sitting", "standing", "arms")
)


def _by_hand(record: Record, fall: FallEvent, said: int) -> bool:
    """Whether every answer is in and none speaks against three people guiding the patient up.

    "Checked, nothing found" is not enough: who examined says so, and the patient does the work.
    """
    answers_well = (
        fall.head_strike is NO
        and fall.neck_pain is NO
        and fall.witnessed is True
        and fall.injury is Injury.NONE
        and fall.anticoagulated not in (None, YesNoUnknown.UNKNOWN)
        and fall.head is fall.spine is fall.bones is Found.CLEAR
        and fall.lift_as is LiftAs.GUIDED
    )
    if not answers_well:
        return False
    lifted = any(_was_lifted(record.help.get(task)) for task in (Task.STAND, Task.CHAIR))
    if lifted or record.counted_kg is None or record.help.get(Task.FLOOR) not in _ALONE:
        return False
    return not _NOT_BY_HAND.holds(said) and not any(word.holds(said) for word in _NEEDED)


_ALONE = (Help.INDEPENDENT, Help.SETUP, Help.STANDBY)


def _was_lifted(help_: Help | None) -> bool:
    return help_ is not None and help_.rank >= Help.MINIMAL.rank


# -- What the cards say -----------------------------------------------------------------------------------

STAY = (
    "Do not move the patient. Call for help; someone stays.",
    "Airway, breathing, bleeding first.",
    "Hold head and neck still where they lie.",
)
VOMITS = (
    "Only move allowed: if the patient vomits, log roll at once, {people} people, one of them at the head; "
    "fewer there: turn anyway."
)
"""The figures are those of the spine rules for who vomits: 5 with the neck, else 4."""

WAIT = (
    "Wait for the responders to examine the patient.",
    "Who cleared the move, and when, is recorded by name.",
)
BY_HAND = (
    "Ask again: pain, head, neck? Any yes: stop, do not move.",
    "One leads and counts, one each side, the chair comes up behind.",
    "Through kneeling to the chair, the patient does the work.",
    "Then assess again before any other move.",
)
BY_LIFT = (
    "Ask again: pain, head, neck? Any yes: stop, do not move.",
    "Bring the lift; roll the sling under, head supported.",
    "One leads and counts, one stays at the head.",
    "Then assess again before any other move.",
)
BY_FLAT = (
    "Ask again: pain, head, neck? More than before: stop, do not move.",
    "Fetch flat lift or scoop, and people who can use it.",
    "Head, neck and hips in line: no sling rolled under, no pull to sit.",
    "The one at the head leads and counts; lying, to the bed.",
    "Then assess again before any other move.",
)
NEURO = "Head struck, or not certainly spared: neuro observations, every half hour at first."
AGAIN = (
    "The assessment from before the fall no longer counts.",
    "Assess every move again before it is done.",
)


NOT_SETTLED = "Up after a fall, not settled: no move until it is"
"""Also on the door, so without what is suspected."""
SETTLE = (
    "A break or spine injury was suspected, or could not be ruled out.",
    "Stays lying, in line, until said clear or its orders are recorded.",
)


def after_fall(record: Record, said: int, tasks: Mapping[Task, TaskPlan]) -> AfterFall | None:
    """Where the patient stands: do_not_move, may_be_helped_up or reassess; None when the fall is over."""
    if record.fall_event is None or not w.fell.holds(said):
        return None
    return replace(_standing(record.fall_event, said, tasks), told=told(record.fall_event))


def _standing(fall: FallEvent, said: int, tasks: Mapping[Task, TaskPlan]) -> AfterFall:
    floor = tasks[Task.FLOOR]
    neuro = () if head_spared(fall) else (NEURO,)
    reasons = tuple(
        reason for reason in floor.reasons if reason.rule.startswith(("fall.", "floor.", "unknown."))
    )
    up = not w.on_the_floor.holds(said)
    if any(reason.rule.startswith("fall.") for reason in floor.reasons):
        return AfterFall("do_not_move", _held(said), (*_stay(said), *neuro), _holding(reasons))
    if up:
        chair = tuple(reason for reason in tasks[Task.CHAIR].reasons if reason.rule.startswith("fall."))
        if w.injury_open.holds(said):
            return AfterFall("reassess", NOT_SETTLED, (*SETTLE, *neuro), chair)
        says = "Up after a fall: assess again before any move"
        return AfterFall("reassess", says, (*AGAIN, *neuro), chair, ends_by_a_look=True)
    if floor.level is Level.REMAIN:
        says = "Do not move: not awake, or nobody looked"
        return AfterFall("do_not_move", says, (*_stay(said), *neuro), _holding(reasons))
    says, steps = _way_up(floor, said)
    return AfterFall("may_be_helped_up", says, (*steps, *neuro), reasons)


def _stay(said: int) -> tuple[str, ...]:
    neck = w.neck_not_clear.holds(said) or w.PRECAUTION[Precaution.SPINAL_CERVICAL].holds(said)
    return (*STAY, VOMITS.format(people=5 if neck else 4), *WAIT)


def _holding(reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """Those that keep the patient where they lie: none of the people and gear of a move nobody makes now."""
    return tuple(reason for reason in reasons if reason.rule in HELD)


def _way_up(floor: TaskPlan, said: int) -> tuple[str, tuple[str, ...]]:
    if w.lifted_flat.holds(said):
        return f"Lifted flat only: {floor.helpers} people, flat lift or scoop", BY_FLAT
    if floor.level is Level.HOIST:
        return f"May be helped up: lift with {floor.helpers} people", BY_LIFT
    return f"May be helped up: by hand, {floor.helpers} people", BY_HAND


def _held(said: int) -> str:
    if w.clearing_contradicted.holds(said):
        return "Do not move: the clearing contradicts what is recorded"
    up = not w.on_the_floor.holds(said)
    return "Not cleared after the fall: no move" if up else "Do not move: not cleared after the fall"
