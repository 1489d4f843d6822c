"""What may be asked of a patient: each ask stands on facts recorded as good; the unknown is not asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import Any

from mobicard.derive.brief.looked_up import fistula_on, numb, weak_sides
from mobicard.facts import Record
from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Limb,
    Precaution,
    Stepping,
    Task,
    WeightBearing,
    Word,
)


class Asked(StrEnum):
    """One thing a patient can be asked to do."""

    FOLLOW = "follow the count"
    TELL = "say what is felt"
    A_HAND = "use a hand"
    LEFT_HAND = "push with the left hand"
    RIGHT_HAND = "push with the right hand"
    LEFT_LEG = "push with the left leg"
    RIGHT_LEG = "push with the right leg"
    LEAN = "lean forward"
    ROLL = "roll over"
    STEP = "take small steps"
    CHIN = "tuck the chin"


LEG_OF = {"left": Asked.LEFT_LEG, "right": Asked.RIGHT_LEG}
LEGS = tuple(LEG_OF.values())
HANDS = (Asked.A_HAND, Asked.LEFT_HAND, Asked.RIGHT_HAND)

Test = Callable[[Record, Task], bool]

P = Precaution
SPINE = {P.SPINAL, P.SPINAL_CERVICAL, P.SPINAL_CLEARED}
NO_BEND = {P.HIP_POSTERIOR_LEFT, P.HIP_POSTERIOR_RIGHT, P.HEAD_FLAT, P.FEMORAL_SHEATH}
GROIN = {Limb.LEFT_LEG: P.GROIN_LEFT, Limb.RIGHT_LEG: P.GROIN_RIGHT}
_BEARS = (WeightBearing.FWB, WeightBearing.WBAT)
_ON_THE_FEET = (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK, Task.FLOOR)
_LIES = (Task.BOOST, Task.TURN, Task.STRETCHER, Task.UP_IN_CHAIR)


def _at_most(seen: Word | None, most: Word) -> bool:
    return seen is not None and seen.rank <= most.rank


def _none_of(record: Record, orders: Iterable[Precaution]) -> bool:
    return not set(orders) & set(record.precautions)


def _follows(record: Record, _task: Task) -> bool:
    """Awake, follows directions and does not move suddenly: each recorded so."""
    return (
        _at_most(record.alertness, Alertness.NEW_CONFUSION)
        and _at_most(record.directions, Directions.WITH_CUES)
        and _at_most(record.behavior, Behavior.FEARFUL)
    )


def _does_some(record: Record, task: Task) -> bool:
    """The patient was seen to do a part of this very move."""
    return _follows(record, task) and _at_most(record.help.get(task), Help.MAXIMAL)


def _bears(record: Record, limb: Limb) -> bool:
    """Whether the limb may carry: asked, and no order limits it. What nobody asked is not known."""
    order = record.weight_bearing.get(limb)
    return order.status in _BEARS if order else record.asked("weight_bearing")


def _an_arm(record: Record, task: Task) -> bool:
    """Some arm may push: which one the patient knows, and both may by order."""
    return (
        _does_some(record, task)
        and _at_most(record.arms, Arms.ONE)
        and _none_of(record, (P.STERNAL,))
        and all(_bears(record, arm) and not fistula_on(record, arm.side) for arm in _ARMS)
    )


def _arm(limb: Limb) -> Test:
    def may(record: Record, task: Task) -> bool:
        return (
            _does_some(record, task)
            and record.arms is Arms.BOTH
            and _none_of(record, (P.STERNAL,))
            and _bears(record, limb)
            and limb.side not in weak_sides(record)
            and not fistula_on(record, limb.side)
        )

    return may


def _leg(limb: Limb) -> Test:
    def may(record: Record, task: Task) -> bool:
        stood = task in _LIES or _at_most(record.standing, Balance.SUPPORTED)
        orders = (*SPINE, P.FEMORAL_SHEATH, GROIN[limb])
        strong = limb.side not in weak_sides(record) and not numb(record, limb)
        bears = strong and _bears(record, limb)
        return stood and bears and _does_some(record, task) and _none_of(record, orders)

    return may


def _lean(record: Record, task: Task) -> bool:
    """Bending forward at the hips: sits, and neither hip nor back nor head is held by an order."""
    orders = (*SPINE, *NO_BEND, *GROIN.values())
    return (
        _does_some(record, task) and _at_most(record.sitting, Balance.SUPPORTED) and _none_of(record, orders)
    )


def _roll(record: Record, task: Task) -> bool:
    """Rolling by the patient's own turn of head, arm and knee."""
    orders = (*SPINE, P.STERNAL, P.FEMORAL_SHEATH, *NO_BEND, *GROIN.values())
    return _does_some(record, task) and _none_of(record, orders)


def _step(record: Record, task: Task) -> bool:
    return (
        _does_some(record, task)
        and _at_most(record.standing, Balance.SUPPORTED)
        and _at_most(record.stepping, Stepping.PIVOTS)
        and all(_bears(record, leg) and not numb(record, leg) for leg in (Limb.LEFT_LEG, Limb.RIGHT_LEG))
        and _none_of(record, (*SPINE, P.FEMORAL_SHEATH))
    )


def _chin(record: Record, task: Task) -> bool:
    return _does_some(record, task) and _none_of(record, SPINE)


_ARMS = (Limb.LEFT_ARM, Limb.RIGHT_ARM)
_ORDERS = ("precautions", "weight_bearing", "weak_side", "legs", "lines")
_HEARD = ("alertness", "directions", "behavior")

CAN: Mapping[Asked, tuple[Test, tuple[str, ...]]] = {
    Asked.FOLLOW: (_follows, _HEARD),
    Asked.TELL: (_follows, _HEARD),
    Asked.A_HAND: (_an_arm, (*_HEARD, "help", "arms", *_ORDERS)),
    Asked.LEFT_HAND: (_arm(Limb.LEFT_ARM), (*_HEARD, "help", "arms", *_ORDERS)),
    Asked.RIGHT_HAND: (_arm(Limb.RIGHT_ARM), (*_HEARD, "help", "arms", *_ORDERS)),
    Asked.LEFT_LEG: (_leg(Limb.LEFT_LEG), (*_HEARD, "help", "standing", *_ORDERS)),
    Asked.RIGHT_LEG: (_leg(Limb.RIGHT_LEG), (*_HEARD, "help", "standing", *_ORDERS)),
    Asked.LEAN: (_lean, (*_HEARD, "help", "sitting", "precautions")),
    Asked.ROLL: (_roll, (*_HEARD, "help", "precautions")),
    Asked.STEP: (_step, (*_HEARD, "help", "standing", "stepping", *_ORDERS)),
    Asked.CHIN: (_chin, (*_HEARD, "help", "precautions")),
}
"""What each ask stands on: the test, true of a recorded good fact only, and the facts it looks at."""


def may_be_asked(record: Record, task: Task) -> frozenset[Asked]:
    """Everything that may be asked of this patient for this move."""
    return frozenset(asked for asked, (test, _) in CAN.items() if test(record, task))


def stands_on(asked: Iterable[Asked], record: Record, task: Task) -> dict[str, Any]:
    """The recorded facts those asks stand on, as the record spells them."""
    names = dict.fromkeys(name for one in asked for name in CAN[one][1])
    facts = record.as_json()
    told: dict[str, Any] = {}
    for name in names:
        value = facts.get("help", {}).get(task.value) if name == "help" else facts.get(name)
        if value not in (None, [], {}):
            told[f"help.{task.value}" if name == "help" else name] = value
    return told
