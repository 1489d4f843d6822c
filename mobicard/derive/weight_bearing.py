"""Weight-bearing orders as figures: what each limb may bear, the aids ruled out, the stronger side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from mobicard.derive.model import LimbLimit
from mobicard.facts.limits import LimbOrder
from mobicard.facts.record import Record
from mobicard.facts.units import both_masses, floored, lb_from_kg
from mobicard.facts.words import Aid, Arms, Limb, Precaution, WeightBearing
from mobicard.rules.policy import Policy

SOURCE_AID: Final = "AAFP 2021;103:737 (in part); common practice, no source"
"""Why a leg that may not take its load needs a walker or two crutches, and so both arms."""

PRACTICE: Final = "common practice, no source"

NO_LOAD: Final = (WeightBearing.NWB, WeightBearing.ABSENT_LIMB)
UNLOADED: Final = (WeightBearing.PWB, WeightBearing.TTWB, *NO_LOAD)
LEGS: Final = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
ARMS: Final = (Limb.LEFT_ARM, Limb.RIGHT_ARM)

TWO_HANDED: Final = (Aid.FRONT_WHEELED_WALKER, Aid.FOUR_WHEELED_WALKER, Aid.CRUTCHES)
"""Aids that press weight through both hands."""

WALKING_AIDS: Final = (
    Aid.FRONT_WHEELED_WALKER,
    Aid.PLATFORM_WALKER,
    Aid.FOUR_WHEELED_WALKER,
    Aid.CRUTCHES,
    Aid.CANE,
)


# -- What each limb may bear ------------------------------------------------------------------------------


def limb_limits(record: Record, policy: Policy | None = None) -> tuple[LimbLimit, ...]:
    """The most each limb with an order may bear, kg and lb, legs first; no order, no line.

    Touch only without a figure takes the policy's (none to 20 kg or 20 % in use: Physiopedia after Hershko
    2008). A percent without a recorded weight has no figure and says so.
    """
    orders = record.weight_bearing
    if not orders:
        return ()
    touch_kg = (policy or Policy()).weight_bearing.touch_kg
    return tuple(_limit(limb, orders[limb], record, touch_kg) for limb in Limb if limb in orders)


def _limit(limb: Limb, order: LimbOrder, record: Record, touch_kg: float) -> LimbLimit:
    kg = None if _prosthesis_serves(record, limb) else _limit_kg(order, record.weight_kg, touch_kg)
    says = _limit_says(limb, order, kg, record)
    if kg is None:
        return LimbLimit(limb, order.status, None, None, says)
    most = floored(kg, 1)
    return LimbLimit(limb, order.status, most, round(lb_from_kg(most), 1), says)


def _limit_kg(order: LimbOrder, weight_kg: float | None, touch_kg: float) -> float | None:
    if order.status in NO_LOAD:
        return 0.0
    if order.kg is not None:
        return order.kg
    if order.percent is not None:
        return None if weight_kg is None else weight_kg * order.percent / 100
    return touch_kg if order.status is WeightBearing.TTWB else None


def _limit_says(limb: Limb, order: LimbOrder, kg: float | None, record: Record) -> str:
    match order.status:
        case WeightBearing.PWB:
            return f"part weight, up to {_figure_says(order, kg)}"
        case WeightBearing.TTWB:
            if kg == 0:
                return "touch only, for balance: no load on it"
            ordered = order.kg is not None or order.percent is not None
            upto = ", up to" if ordered else "; no figure ordered, house figure"
            return f"touch only, for balance{upto} {_figure_says(order, kg)}"
        case WeightBearing.NWB:
            return (
                "no weight, foot off the floor" if limb.is_leg else "no weight, not even to push or hold on"
            )
        case WeightBearing.ABSENT_LIMB if _prosthesis_serves(record, limb):
            return "limb absent; weight through the prosthesis only as ordered"
    return _SAYS_FIXED[order.status]


_SAYS_FIXED: Final = {
    WeightBearing.FWB: "full weight",
    WeightBearing.WBAT: "as much weight as comfort allows",
    WeightBearing.ABSENT_LIMB: "limb absent: no weight",
}


def _figure_says(order: LimbOrder, kg: float | None) -> str:
    shown = "" if kg is None else both_masses(kg)
    if order.percent is None:
        return shown
    percent = f"{order.percent:g} % of body weight"
    return f"{shown}, {percent}" if shown else f"{percent}; weight not recorded, so no figure in kg"


# -- Which limbs can serve --------------------------------------------------------------------------------


def bears_no_load(record: Record, limb: Limb) -> bool:
    """Whether the limb may take no weight: NWB, or absent (a leg: with no prosthesis at the bed)."""
    order = record.weight_bearing.get(limb)
    if order is None or order.status not in NO_LOAD:
        return False
    return not _prosthesis_serves(record, limb)


def unloaded_legs(record: Record) -> tuple[Limb, ...]:
    """Legs that may not take their full load (PWB, TTWB, NWB, or absent without a prosthesis)."""
    return tuple(leg for leg in LEGS if _restricted(record, leg))


def restricted_arms(record: Record) -> tuple[Limb, ...]:
    """Arms that may not take a full push (PWB, TTWB, NWB or absent)."""
    return tuple(arm for arm in ARMS if _restricted(record, arm))


def standing_ruled_out(record: Record) -> bool:
    """Whether neither leg may take any weight: then there is no standing, by any method."""
    return all(bears_no_load(record, leg) for leg in LEGS)


def usable_arms(record: Record) -> Arms | None:
    """Arms that can push or pull once the orders are heeded: the worse of what was seen and what is allowed.

    None where the arms were not assessed and no order rules one out.
    """
    barred = len(restricted_arms(record))
    allowed = (Arms.BOTH, Arms.ONE, Arms.NEITHER)[barred]
    if Precaution.STERNAL in record.precautions:
        allowed = Arms.NEITHER
    if record.arms is None:
        return None if allowed is Arms.BOTH else allowed
    return max(record.arms, allowed, key=lambda arms: arms.rank)


def stronger_side(record: Record) -> str | None:
    """``left`` or ``right``: the side to transfer toward; None where nothing sets either apart, or much does.

    A weak side and a leg that failed its test decide first, then the leg that may bear more; where legs are
    alike, the arm. Where they point to both sides nobody is sent to either. A limb without an order counts
    as unrestricted. Source: OSHA 3182 (2009), Fig. 1: transfer toward the stronger side.
    """
    worse = {side for side in ("left", "right") if _weak_or_numb(record, side)}
    ordered = _by_orders(record)
    if not worse:
        return ordered
    strong = {"left": "right", "right": "left"}[worse.pop()] if len(worse) == 1 else None
    return strong if ordered in (None, strong) else None


def _weak_or_numb(record: Record, side: str) -> bool:
    test = record.legs.get(Limb(f"{side}_leg"))
    weak = record.weak_side is not None and side in record.weak_side.sides
    return weak or (test is not None and test.fails)


def _by_orders(record: Record) -> str | None:
    for left, right in (LEGS, ARMS):
        left_order, right_order = _restriction(record, left), _restriction(record, right)
        if left_order != right_order:
            return "left" if left_order < right_order else "right"
    return None


def _restriction(record: Record, limb: Limb) -> tuple[int, float]:
    order = record.weight_bearing.get(limb)
    if order is None:
        return (0, 0.0)
    kg = _limit_kg(order, record.weight_kg or 100.0, touch_kg=0.0)
    return (order.status.rank, -(kg or 0.0))


def _restricted(record: Record, limb: Limb) -> bool:
    order = record.weight_bearing.get(limb)
    if order is None or order.status not in UNLOADED:
        return False
    return not _prosthesis_serves(record, limb)


def _prosthesis_serves(record: Record, limb: Limb) -> bool:
    """Whether a prosthesis stands in for this leg: with both legs absent one entry cannot say for which."""
    absent = [leg for leg in LEGS if is_absent(record, leg)]
    return absent == [limb] and Aid.PROSTHESIS in record.aids


def stands_in(record: Record) -> Limb | None:
    """The absent leg whose prosthesis the patient is proficient with: it stands as seen, no order bars it."""
    mastered = Aid.PROSTHESIS in record.proficient_with
    return next((leg for leg in LEGS if mastered and _prosthesis_serves(record, leg)), None)


def is_absent(record: Record, limb: Limb) -> bool:
    """Whether the limb is recorded as absent."""
    order = record.weight_bearing.get(limb)
    return order is not None and order.status is WeightBearing.ABSENT_LIMB


# -- Which aids that rules out ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Excluded:
    """An aid or a method the orders rule out: what, why, the fields that say so, the source."""

    what: Aid
    says: str
    fields: tuple[str, ...]
    source: str


def excluded_aids(record: Record) -> tuple[Excluded, ...]:
    """Every walking aid the orders, precautions and arms rule out, each reason once."""
    return tuple(_aids_by_legs(record)) + tuple(_aids_by_arms(record)) + tuple(_aids_by_precautions(record))


def field_of(limb: Limb) -> str:
    """The record path of a limb's order."""
    return f"weight_bearing.{limb.value}"


def _aids_by_legs(record: Record) -> Iterator[Excluded]:
    legs = unloaded_legs(record)
    fields = tuple(field_of(leg) for leg in legs)
    if standing_ruled_out(record):
        says = "Neither leg may bear weight: no standing, no walking aid."
        yield from (Excluded(aid, says, fields, SOURCE_AID) for aid in WALKING_AIDS)
        return
    for leg in legs:
        leg_says = f"the {leg.side} leg is {_term(record, leg)}"
        yield Excluded(
            Aid.CANE,
            f"A cane takes too little weight: {leg_says}; that needs a walker or two crutches.",
            (field_of(leg),),
            SOURCE_AID,
        )
        yield Excluded(
            Aid.FOUR_WHEELED_WALKER,
            f"A four-wheeled walker rolls away under load: {leg_says}.",
            (field_of(leg),),
            PRACTICE,
        )


def _aids_by_arms(record: Record) -> Iterator[Excluded]:
    for arm in restricted_arms(record):
        says = f"the {arm.side} arm is {_term(record, arm)}"
        for aid in TWO_HANDED:
            serves = "." if is_absent(record, arm) else "; a platform walker may serve."
            through = f"{_name(aid)} press weight through both hands: {says}{serves}"
            yield Excluded(aid, through, (field_of(arm),), SOURCE_AID)
    if len(restricted_arms(record)) == len(ARMS):
        fields = tuple(field_of(arm) for arm in ARMS)
        says = "A cane needs one arm that may bear weight; neither may."
        yield Excluded(Aid.CANE, says, fields, SOURCE_AID)
    yield from _platform_by_absent_arm(record)
    yield from _aids_by_strength(record)


def _platform_by_absent_arm(record: Record) -> Iterator[Excluded]:
    for arm in ARMS:
        if is_absent(record, arm):
            says = f"A platform walker needs both forearms; the {arm.side} arm is absent."
            yield Excluded(Aid.PLATFORM_WALKER, says, (field_of(arm),), PRACTICE)


def _aids_by_strength(record: Record) -> Iterator[Excluded]:
    if record.arms in (Arms.ONE, Arms.NEITHER):
        seen = "one arm" if record.arms is Arms.ONE else "neither arm"
        for aid in TWO_HANDED:
            yield Excluded(aid, f"{_name(aid)} need both arms; {seen} can push.", ("arms",), PRACTICE)
    if record.arms is Arms.NEITHER:
        for aid in (Aid.PLATFORM_WALKER, Aid.CANE):
            yield Excluded(aid, f"{_name(aid)} need an arm that can push; neither can.", ("arms",), PRACTICE)


def _aids_by_precautions(record: Record) -> Iterator[Excluded]:
    if Precaution.STERNAL in record.precautions:
        yield Excluded(
            Aid.CRUTCHES,
            "Crutches put body weight on the arms; sternal precautions forbid it.",
            ("precautions",),
            "Cahalin 2009, CHEST 136:98S; J Cardiothorac Surg 5:67",
        )
    if Precaution.NO_GAIT_BELT in record.precautions:
        yield Excluded(Aid.GAIT_BELT, "No gait belt is ordered.", ("precautions",), "the order itself")


def _term(record: Record, limb: Limb) -> str:
    status = record.weight_bearing[limb].status
    return "absent" if status is WeightBearing.ABSENT_LIMB else status.value


_AID_NAMES: Final = {
    Aid.FRONT_WHEELED_WALKER: "Front-wheeled walkers",
    Aid.FOUR_WHEELED_WALKER: "Four-wheeled walkers",
    Aid.PLATFORM_WALKER: "Platform walkers",
    Aid.CRUTCHES: "Crutches",
    Aid.CANE: "Canes",
}


def _name(aid: Aid) -> str:
    return _AID_NAMES.get(aid, aid.value.replace("_", " ").capitalize())
