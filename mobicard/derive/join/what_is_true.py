"""The situation: which of the rules' words are true of a record, and the figures the rules name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from math import ceil
from typing import NamedTuple

from mobicard.derive import loads
from mobicard.derive.equipment import Inventory, has_rated
from mobicard.derive.fall_risk import instruments
from mobicard.derive.join.lines_and_body import failed_legs, of_the_body, of_the_lines
from mobicard.derive.model import FallRisk, Orthostatic
from mobicard.derive.over_time.after_fall import fall_words
from mobicard.derive.vitals import bars_getting_up, start_limits
from mobicard.derive.weight_bearing import excluded_aids, stands_in
from mobicard.facts import LimbOrder, Record
from mobicard.facts.moves import OUT_OF_BED, STANDING
from mobicard.facts.units import KG_PER_LB
from mobicard.facts.words import Aid, Equipment, Help, Level, Limb, Precaution, Task, WeightBearing, Word
from mobicard.rules import words as w
from mobicard.rules.policy import Policy

FACTS = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms")
"""The deciding facts that belong to the patient; the eighth, help, belongs to each task."""


class Figures(NamedTuple):
    """The figures a rule may name: people and pounds that the policy, the weight or the record sets."""

    load: int
    used: int
    lateral_by_weight: int
    log_roll_spinal: int
    log_roll_cervical: int
    log_roll_cleared: int
    floor_by_hand: int
    floor_flat: int
    lift_helpers: int
    lift_helpers_heavy: int
    lighter_row_lb: float
    heavier_row_lb: float
    lateral_step_lb: float
    lateral_most: int
    toilet_lb: float
    adult_kg: float
    turn_bmi: float
    turn_bmi_any: float
    turn_at_risk_h: float
    turn_high_risk_h: float


@dataclass(frozen=True, slots=True)
class Common:
    """What all tasks share: words said, those a missing fact may hide, a helper's limit (lb), figures."""

    said: int
    worst: int
    limit_lb: float
    figures: Figures


@dataclass(frozen=True, slots=True)
class Situation:
    """What the rules need of one task; the load (lb) is None where nothing is lifted or no weight known."""

    said: int
    worst: int
    figures: Figures
    load_lb: float | None = None


Sentence = tuple[w.When, bool]
"""One of the rules' words, and whether it is true of the patient."""

TAKES_LOAD = (Aid.CRUTCHES, Aid.FRONT_WHEELED_WALKER, Aid.PLATFORM_WALKER)
"""Aids that take the load off a leg for one who has mastered them."""

_LEGS = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
_ARMS = (Limb.LEFT_ARM, Limb.RIGHT_ARM)
_HIDDEN = {fact: sum(word.bit for _, word in steps) for fact, steps in w.LADDERS.items()}
"""All the words that a fact nobody asked may hide."""

_NOT_DONE = {answer: word.bit for answer, word in w.NOT_DONE.items()}
_ANY_UNKNOWN = sum(word.bit for word in w.UNKNOWN.values())


def all_said(sentences: Iterable[Sentence]) -> int:
    """The true words, as the set of bits that rules look at."""
    said = 0
    for word, true in sentences:
        if true:
            said |= word.bit
    return said


@cache
def words_of(fact: str, answer: Word) -> int:
    """The words an answer says: each from some answer on, and of every worse one."""
    return all_said((word, answer.rank >= least.rank) for least, word in w.LADDERS[fact])


# -- The patient ------------------------------------------------------------------------------------------


def common(
    record: Record,
    policy: Policy,
    now: datetime,
    risk: FallRisk | None,
    drop: Orthostatic | None,
    inventory: Inventory | None = None,
) -> Common:
    """The words true for every task, those a missing fact may hide, and the figures."""
    said = all_said(_of_the_patient(record, policy, now, risk, drop, inventory))
    hidden = 0
    for fact in FACTS:
        answer = getattr(record, fact)
        said |= w.UNKNOWN[fact].bit if answer is None else words_of(fact, answer)
        hidden |= _HIDDEN[fact] if answer is None else 0
    said |= fall_words(record, now, said)
    return Common(said, said | hidden, _limit_lb(said, policy), _figures(record, policy))


def _of_the_patient(
    record: Record,
    policy: Policy,
    now: datetime,
    risk: FallRisk | None,
    drop: Orthostatic | None,
    inventory: Inventory | None,
) -> Iterator[Sentence]:
    yield from ((w.PRECAUTION[item], True) for item in record.precautions)
    orders = {limb: order for limb, order in record.weight_bearing.items() if limb is not stands_in(record)}
    yield from _of_the_legs(orders, record.counted_kg, failed_legs(record))
    yield from _of_the_arms(record.weight_bearing)
    yield from _of_the_aids(record)
    yield from _of_the_weight(record, policy)
    kg = record.counted_kg
    rated = kg is not None and has_rated(Equipment.POWERED_STANDING_AID, kg, inventory)
    yield w.no_rated_standing_aid, not rated
    yield from of_the_lines(record, policy)
    yield from of_the_body(record)
    yield w.pressure_drops, drop is not None and bool(drop.positive)
    yield w.outside_limits, bars_getting_up(record, policy)
    yield w.near_limits, bool(start_limits(record, policy, now))
    yield w.high_fall_risk, risk is None or _in_highest_band(risk, policy)
    sternal = Precaution.STERNAL in record.precautions
    yield w.sternal_by_figure, sternal and policy.handling.sternal == "figure"
    yield w.sternal_close, sternal and policy.handling.sternal == "close"
    yield w.no_hand_lifting, policy.handling.manual_lifting == "none"
    yield w.operated, record.operation is not None and not _looked_at_since(record, record.operation.at)


def _looked_at_since(record: Record, at: datetime) -> bool:
    return record.assessed_at is not None and record.assessed_at > at


def _of_the_legs(
    orders: Mapping[Limb, LimbOrder], body_kg: float | None, failed: frozenset[Limb]
) -> Iterator[Sentence]:
    """A leg that failed its test bears as little as one that may only touch."""
    legs = {leg: _meant(orders[leg]) for leg in _LEGS if leg in orders}
    worst = max((status.rank for status in legs.values()), default=0)
    worst = max(worst, WeightBearing.TTWB.rank) if failed else worst
    for leg, status in legs.items():
        yield w.LEG_LIMITED[leg], status.rank >= WeightBearing.PWB.rank
    yield w.leg_limited, worst >= WeightBearing.PWB.rank
    yield w.leg_off, worst >= WeightBearing.TTWB.rank
    yield w.leg_never_down, worst >= WeightBearing.NWB.rank
    sound = [leg for leg in _LEGS if leg not in failed]
    carried = sum(_share_carried(orders[leg], body_kg) if leg in orders else 1.0 for leg in sound)
    yield w.legs_cannot_carry, round(carried, 6) < 1


def _share_carried(order: LimbOrder, body_kg: float | None) -> float:
    """The share of the body a leg under this order may carry; kilograms of an unknown body are no share."""
    if _meant(order).rank <= WeightBearing.WBAT.rank:
        return 1.0
    if _meant(order) is not WeightBearing.PWB:
        return 0.0
    if order.percent is not None:
        return order.percent / 100
    return order.kg / body_kg if order.kg and body_kg else 0.0


def _meant(order: LimbOrder) -> WeightBearing:
    """The status to plan for: part weight with a figure of nothing is no weight until somebody answers."""
    nothing = order.status is WeightBearing.PWB and 0 in (order.kg, order.percent)
    return WeightBearing.NWB if nothing else order.status


def _of_the_arms(orders: Mapping[Limb, LimbOrder]) -> Iterator[Sentence]:
    arms = [orders[arm].status.rank for arm in _ARMS if arm in orders]
    yield w.arm_limited, any(rank >= WeightBearing.PWB.rank for rank in arms)
    none = len(arms) == len(_ARMS) and all(rank >= WeightBearing.NWB.rank for rank in arms)
    yield w.no_arm_by_order, none


def _of_the_aids(record: Record) -> Iterator[Sentence]:
    aids = record.aids or ()
    excluded = {item.what for item in excluded_aids(record)} if aids else set()
    allowed = [aid for aid in aids if aid in w.OWN_AID and aid not in excluded]
    yield from ((w.OWN_AID[aid], True) for aid in allowed)
    yield w.walker_at_hand, bool({*w.WALKERS} & {*aids})
    yield w.no_allowed_aid, not allowed
    mastered = {*TAKES_LOAD} & {*allowed} & {*record.proficient_with}
    yield w.not_mastered, not mastered
    yield w.no_platform_walker, Aid.PLATFORM_WALKER not in aids


def _of_the_weight(record: Record, policy: Policy) -> Iterator[Sentence]:
    rows, kg, height = policy.handling, record.counted_kg, record.height_cm
    yield w.not_an_adult, record.child is True or (kg is not None and kg < rows.adult_kg)
    if kg is None:
        unweighed = (w.weight_unknown, w.from_100_lb, w.from_200_lb, w.heavy, w.beyond_lateral)
        yield from ((word, True) for word in unweighed)
        return
    lb = _lb(kg)
    yield w.from_100_lb, lb >= rows.lighter_row_lb
    yield w.from_200_lb, lb >= rows.heavier_row_lb
    yield w.beyond_lateral, _lateral_count(lb, policy) > rows.lateral_most
    bmi = _bmi(kg, height) if height else 0.0
    yield w.over_turn_bmi, bmi > rows.turn_bmi
    yield w.over_any_turn_bmi, bmi > rows.turn_bmi_any
    yield w.over_toilet, lb >= rows.toilet_lb
    yield w.heavy, lb >= rows.heavy_lb or bmi >= rows.heavy_bmi


def _lb(kg: float) -> float:
    """Pounds, to the millionth: a weight recorded as 200 lb is 200 lb and not a hair under."""
    return round(kg / KG_PER_LB, 6)


def _bmi(kg: float, cm: float) -> float:
    """Body mass index, kg per square metre, to the millionth: exactly 40 is 40."""
    return round(kg * 10_000 / (cm * cm), 6)


def _limit_lb(said: int, policy: Policy) -> float:
    conditions = []
    if w.unpredictable.holds(said):
        conditions.append(loads.Condition.UNPREDICTABLE)
    if w.many_lines.holds(said):
        conditions.append(loads.Condition.LINES)
    return loads.helper_limit_lb(policy, conditions)


def _figures(record: Record, policy: Policy) -> Figures:
    counts = policy.handling
    return Figures(
        load=1,
        used=0,
        lateral_by_weight=lateral_helpers(record.counted_kg, policy),
        log_roll_spinal=counts.log_roll_spinal,
        log_roll_cervical=counts.log_roll_cervical,
        log_roll_cleared=counts.log_roll_cleared,
        floor_by_hand=counts.floor_by_hand,
        floor_flat=counts.floor_flat,
        lift_helpers=counts.lift_helpers,
        lift_helpers_heavy=counts.lift_helpers_heavy,
        lighter_row_lb=counts.lighter_row_lb,
        heavier_row_lb=counts.heavier_row_lb,
        lateral_step_lb=counts.lateral_step_lb,
        lateral_most=counts.lateral_most,
        toilet_lb=counts.toilet_lb,
        adult_kg=counts.adult_kg,
        turn_bmi=counts.turn_bmi,
        turn_bmi_any=counts.turn_bmi_any,
        turn_at_risk_h=counts.turn_at_risk_h,
        turn_high_risk_h=counts.turn_high_risk_h,
    )


def lateral_helpers(weight_kg: float | None, policy: Policy) -> int:
    """Three, and one more for each further 100 lb over 200, partial hundreds rounded up (VHA 2014).

    No more than the policy's most, where a lift takes over.
    """
    if weight_kg is None:
        return policy.handling.lateral_most
    return min(_lateral_count(_lb(weight_kg), policy), policy.handling.lateral_most)


def _lateral_count(lb: float, policy: Policy) -> int:
    over = lb - policy.handling.heavier_row_lb
    return 3 + max(0, ceil(round(over / policy.handling.lateral_step_lb, 9)))


# -- One task ---------------------------------------------------------------------------------------------


def for_task(task: Task, shared: Common, record: Record, policy: Policy, raised: Level | None) -> Situation:
    """The words for one task: the common ones, its own help, its own load."""
    said, worst = shared.said, shared.worst
    if raised in w.RAISED_TO:
        said |= w.RAISED_TO[raised].bit
        worst |= said
    used = record.helpers_used.get(task, 0)
    help_ = record.help.get(task)
    own = w.used_two.bit if used > 1 else 0
    if help_ is None or help_ in _NOT_DONE:
        own |= w.UNKNOWN["help"].bit if help_ is None else _NOT_DONE[help_]
        situation = Situation(said | own, worst | own | _HIDDEN["help"], shared.figures._replace(used=used))
        return _fallen(situation) if task is Task.FLOOR else situation
    load = load_lb(task, help_, record.counted_kg, policy)
    most = most_by_hand(task, policy)
    needed = ceil(round(load / shared.limit_lb, 9)) if load else 1
    if record.counted_kg is None and load_lb(task, help_, 1.0, policy):
        needed = most + 1
    own |= words_of("help", help_)
    own |= all_said(((w.load_needs_more, needed > 1), (w.load_beyond_hands, needed > most)))
    figures = shared.figures._replace(load=min(needed, most), used=used)
    situation = Situation(said | own, worst | own, figures, load)
    return _fallen(situation) if task is Task.FLOOR else situation


def _fallen(now: Situation) -> Situation:
    """On the floor after a fall the way up is said though little is known: the lift. Awake must be known.

    It stands on the fall, not on the assessment before it, so it outlives that one's end.
    """
    if not (w.fell | w.on_the_floor).holds(now.said):
        return now
    unknown = (_ANY_UNKNOWN | sum(_NOT_DONE.values()) | w.out_of_date.bit) & ~w.UNKNOWN["alertness"].bit
    return Situation(now.said & ~unknown, now.worst & ~unknown, now.figures, now.load_lb)


def most_by_hand(task: Task, policy: Policy) -> int:
    """The most people who may share a load by hand before equipment takes it."""
    counts = policy.handling
    most = counts.standing_max_helpers if task in STANDING else counts.manual_max_helpers
    return min(most, counts.manual_max_helpers)


def load_lb(task: Task, help_: Help, weight_kg: float | None, policy: Policy) -> float | None:
    """The load the helpers carry together, lb; None without a weight or where nothing is lifted."""
    effort = loads.HELP_UPPER_SHARE.get(help_, 0.0)
    if weight_kg is None or effort <= 0 or task not in OUT_OF_BED:
        return None
    return _lb(weight_kg) * policy.body_share[task] * effort


def _in_highest_band(risk: FallRisk, policy: Policy) -> bool:
    """Whether the highest possible score stands in the highest band of its instrument."""
    own = policy.fall_risk.bands.get(risk.instrument)
    least = (
        max(own.values()) if own else max(band.least for band in instruments(policy)[risk.instrument].bands)
    )
    return risk.score >= least
