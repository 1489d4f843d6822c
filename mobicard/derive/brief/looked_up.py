"""What a brief needs to know of sides, legs and lines; each look-up in one place."""

from __future__ import annotations

from collections.abc import Iterator

from mobicard.derive.weight_bearing import bears_no_load, stronger_side, unloaded_legs
from mobicard.facts import Record
from mobicard.facts.lines import LineKind
from mobicard.facts.words import Limb, Precaution, Side, WeightBearing

LEGS = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
LATE_WEEKS = 20
"""From here the womb lies on the vessels: Transl Perioper Pain Med 2014;1(2):22."""

OTHER = {"left": "right", "right": "left"}


def weak_side(record: Record) -> str | None:
    """``left`` or ``right``: the side to guard; None where the record sets neither apart."""
    strong = stronger_side(record)
    return OTHER[strong] if strong else None


def weak_sides(record: Record) -> tuple[str, ...]:
    """The sides recorded as weak."""
    return record.weak_side.sides if record.weak_side is not None else ()


def numb(record: Record, leg: Limb) -> bool:
    """Whether the leg failed its test, so that it may not be stood on."""
    test = record.legs.get(leg)
    return test is not None and test.fails


def may_lie_flat(record: Record) -> bool:
    """Whether the bed may be laid flat; from 20 weeks nobody lies flat on the back."""
    pregnant = (record.pregnancy_weeks or 0) >= LATE_WEEKS
    return not pregnant and Precaution.HEAD_UP_30 not in record.precautions


def hips_not_bent(record: Record) -> str:
    """The hip that may not bend past a right angle: ``left hip``, ``right hip``, ``hips`` or nothing."""
    limits = {"left": Precaution.HIP_POSTERIOR_LEFT, "right": Precaution.HIP_POSTERIOR_RIGHT}
    found = [side for side, limit in limits.items() if limit in record.precautions]
    return "hips" if len(found) == 2 else f"{found[0]} hip" if found else ""


def hips_with_order(record: Record) -> tuple[str, ...]:
    """The sides of the hips that an order limits."""
    orders = [order.value for order in record.precautions if order.value.startswith("hip_")]
    return tuple(side for side in OTHER if any(order.endswith(side) for order in orders))


def lost_legs(record: Record) -> tuple[str, ...]:
    """The sides of legs that are not there."""
    orders = {leg.side: record.weight_bearing.get(leg) for leg in LEGS}
    gone = (side for side, order in orders.items() if order and order.status is WeightBearing.ABSENT_LIMB)
    return tuple(gone)


def turned_to(record: Record, side: str) -> str:
    """The side rolled onto: ``side``, but never onto a sore hip where the other is whole."""
    sore = {site.value for site in record.sore_sites}
    other = OTHER[side]
    return other if f"{side}_hip" in sore and f"{other}_hip" not in sore else side


def has_airway(record: Record) -> bool:
    """Whether somebody has to hold a tube in the airway; the plan counts that person."""
    return record.has_line(LineKind.AIRWAY)


def has_loose_lines(record: Record) -> bool:
    """Whether there is a line that nobody holds already."""
    return any(line.known not in (LineKind.AIRWAY, LineKind.FISTULA) for line in record.lines)


def fistula_on(record: Record, side: str) -> bool:
    """Whether the arm of a side carries a fistula, or one of a side nobody wrote down."""
    spared = {None, Side.BOTH, Side(side)}
    return any(line.side in spared for line in record.lines if line.known is LineKind.FISTULA)


def carrying_leg(record: Record) -> str | None:
    """The one leg that carries where the other bears nothing or only touches; None where both do, or none."""
    bearing = [leg.side for leg in LEGS if not _carries_nothing(record, leg)]
    return bearing[0] if len(bearing) == 1 else None


def guarded_knee(record: Record) -> str | None:
    """The knee that may fold under the body: that of the leg that carries more, else of the weaker side."""
    unloaded = unloaded_legs(record)
    limited = [leg.side for leg in LEGS if leg in unloaded or numb(record, leg)]
    return OTHER[limited[0]] if len(limited) == 1 else weak_side(record)


def _carries_nothing(record: Record, leg: Limb) -> bool:
    order = record.weight_bearing.get(leg)
    touches = order is not None and order.status is WeightBearing.TTWB
    return touches or bears_no_load(record, leg) or numb(record, leg)


def line_side(record: Record) -> str | None:
    """The side most lines are on; None where none has a side."""
    sides = list(_sides(record))
    return max(sides, key=sides.count) if sides else None


def _sides(record: Record) -> Iterator[str]:
    for line in record.lines:
        if line.side in (Side.LEFT, Side.RIGHT):
            yield line.side.value
