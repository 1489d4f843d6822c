"""After a fall: who may not be moved, who may be helped up, and when the assessment counts again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from mobicard.derive.model import AfterFall, TaskPlan
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Help, Injury, Level, Precaution, Task, YesNoUnknown
from mobicard.rules import words as w

NO = YesNoUnknown.NO


def fall_words(record: Record, now: datetime, said: int) -> int:
    """The words a fall says, as bits, beside those already said; none once it is over.

    Over: cleared by name where that was needed, recorded as up, and looked at again after that. Looking at
    the legs of somebody on the floor ends nothing. Times are the ward's wall clock.
    """
    fall = record.fall_event
    if fall is None:
        return 0
    cleared, up = _cleared(fall, now), _up(fall, now)
    danger = 0 if cleared else _danger_words(fall, record)
    if up and not danger and looked_at_again(record, fall):
        return 0
    words = w.fell.bit | danger | (0 if up else w.on_the_floor.bit)
    return words if not up and _by_hand(record, fall, said) else words | w.not_by_hand.bit


def fall_is_over(fall: FallEvent, record: Record) -> bool:
    """Whether this record ends the fall: up again, cleared where that was needed, and looked at after it."""
    cleared = fall.cleared_at is not None or not _danger_words(fall, record)
    return cleared and looked_at_again(record, fall)


def looked_at_again(record: Record, fall: FallEvent) -> bool:
    """Whether somebody assessed the patient after the fall, and after they were up again."""
    assessed = record.assessed_at
    return assessed is not None and assessed > fall.at and fall.up_at is not None and assessed >= fall.up_at


def _up(fall: FallEvent, now: datetime) -> bool:
    return fall.up_at is not None and fall.at <= fall.up_at <= now


def _cleared(fall: FallEvent, now: datetime) -> bool:
    """Whether someone examined the patient after this fall, by name; a time still to come clears nobody."""
    return fall.cleared_at is not None and fall.at <= fall.cleared_at <= now


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


def _head_spared(fall: FallEvent) -> bool:
    """Whether someone saw that the head was not struck. Source: NPSA 2011; NICE CG176/NG232."""
    return fall.head_strike is NO and fall.witnessed is True


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
    """Whether every answer is in and none speaks against three people helping the patient up."""
    answers_well = (
        fall.head_strike is NO
        and fall.neck_pain is NO
        and fall.witnessed is True
        and fall.injury is Injury.NONE
        and fall.anticoagulated not in (None, YesNoUnknown.UNKNOWN)
    )
    if not answers_well:
        return False
    lifted = any(_was_lifted(record.help.get(task)) for task in (Task.STAND, Task.CHAIR))
    if lifted or record.weight_kg is None:
        return False
    return not _NOT_BY_HAND.holds(said) and not any(word.holds(said) for word in _NEEDED)


def _was_lifted(help_: Help | None) -> bool:
    return help_ is not None and help_.rank >= Help.MINIMAL.rank


# -- What the cards say -----------------------------------------------------------------------------------

STAY = (
    "Do not move the patient. Call for help; someone stays.",
    "Airway, breathing, bleeding first.",
    "Hold head and neck still where they lie.",
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
NEURO = "Head struck, or not certainly spared: neuro observations, every half hour at first."
AGAIN = (
    "The assessment from before the fall no longer counts.",
    "Assess every move again before it is done.",
)


def after_fall(record: Record, said: int, tasks: Mapping[Task, TaskPlan]) -> AfterFall | None:
    """Where the patient stands: do_not_move, may_be_helped_up or reassess; None when the fall is over."""
    if record.fall_event is None or not w.fell.holds(said):
        return None
    floor = tasks[Task.FLOOR]
    neuro = () if _head_spared(record.fall_event) else (NEURO,)
    reasons = tuple(
        reason for reason in floor.reasons if reason.rule.startswith(("fall.", "floor.", "unknown."))
    )
    if any(reason.rule.startswith("fall.") for reason in floor.reasons):
        up = not w.on_the_floor.holds(said)
        says = "Not cleared after the fall: no move" if up else "Do not move: not cleared after the fall"
        return AfterFall("do_not_move", says, (*STAY, *neuro), reasons)
    if not w.on_the_floor.holds(said):
        chair = tuple(reason for reason in tasks[Task.CHAIR].reasons if reason.rule.startswith("fall."))
        return AfterFall("reassess", "Up after a fall: assess again before any move", (*AGAIN, *neuro), chair)
    if floor.level is Level.REMAIN:
        return AfterFall("do_not_move", "Do not move: not awake, or nobody looked", (*STAY, *neuro), reasons)
    lift = floor.level is Level.HOIST
    says = f"May be helped up: {'lift with' if lift else 'by hand,'} {floor.helpers} people"
    return AfterFall("may_be_helped_up", says, (*(BY_LIFT if lift else BY_HAND), *neuro), reasons)
