"""The situation: which of the rules' words are true of a record, and the figures the rules name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from math import ceil
from typing import NamedTuple

from mobicard.derive import loads
from mobicard.derive.equipment import Inventory, has_rated
from mobicard.derive.fall_risk import instruments
from mobicard.derive.model import FallRisk, Orthostatic
from mobicard.derive.over_time.after_fall import fall_words
from mobicard.derive.vitals import start_limits
from mobicard.derive.weight_bearing import excluded_aids
from mobicard.facts import LimbOrder, Record
from mobicard.facts.units import KG_PER_LB
from mobicard.facts.words import Aid, Equipment, Help, Level, Limb, Task, WeightBearing, Word
from mobicard.rules import words as w
from mobicard.rules.policy import Policy

LIFTED = (Task.SIT_UP, Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK)
"""The moves in which helpers may carry part of the body; lying moves slide on a sheet or hang in a lift."""

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
    lift_helpers: int
    lift_helpers_heavy: int
    lighter_row_lb: float
    heavier_row_lb: float
    lateral_step_lb: float
    lateral_most: int
    toilet_lb: float


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


# -- Words by table ---------------------------------------------------------------------------------------


def _table(fact: str) -> dict[Word, int]:
    """For each answer of a fact with an order, the words it says."""
    steps = w.LADDERS[fact]
    answers: type[Word] = type(steps[0][0])
    return {a: sum(word.bit for least, word in steps if a.rank >= least.rank) for a in answers}


_SAID_BY: dict[str, dict[Word, int]] = {fact: _table(fact) for fact in FACTS}
_HELP = _table("help")
_WORST = {fact: sum(word.bit for _, word in steps) for fact, steps in w.LADDERS.items()}
_UNKNOWN = {fact: word.bit for fact, word in w.UNKNOWN.items()}
_ANY_UNKNOWN = sum(_UNKNOWN.values())
_NOT_DONE = {answer: word.bit for answer, word in w.NOT_DONE.items()}
_PRECAUTION = {item: word.bit for item, word in w.PRECAUTION.items()}
_OWN_AID = {aid: word.bit for aid, word in w.OWN_AID.items()}
_CARRIES = {WeightBearing.FWB: 2, WeightBearing.WBAT: 2, WeightBearing.PWB: 1}
_ORDER_RANK = {status: status.rank for status in WeightBearing}
_PWB, _TTWB, _NWB = (status.rank for status in (WeightBearing.PWB, WeightBearing.TTWB, WeightBearing.NWB))
_LEGS = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
_ARMS = (Limb.LEFT_ARM, Limb.RIGHT_ARM)


def common(
    record: Record,
    policy: Policy,
    now: datetime,
    risk: FallRisk | None,
    drop: Orthostatic | None,
    inventory: Inventory | None = None,
) -> Common:
    """The words true for every task, those a missing fact may hide, and the figures."""
    said = hidden = 0
    for fact in FACTS:
        answer = getattr(record, fact)
        if answer is None:
            said |= _UNKNOWN[fact]
            hidden |= _WORST[fact]
        else:
            said |= _SAID_BY[fact][answer]
    for item in record.precautions:
        said |= _PRECAUTION[item]
    if not has_rated(Equipment.POWERED_STANDING_AID, record.weight_kg, inventory):
        said |= w.no_rated_standing_aid.bit
    said |= (
        _order_words(record)
        | _aid_words(record)
        | _weight_words(record, policy)
        | _line_words(record, policy)
    )
    if drop is not None and drop.positive:
        said |= w.pressure_drops.bit
    if record.vitals is not None and start_limits(record, policy, now):
        said |= w.outside_limits.bit
    if risk is not None and _in_highest_band(risk, policy):
        said |= w.high_fall_risk.bit
    if policy.handling.manual_lifting == "none":
        said |= w.no_hand_lifting.bit
    if record.operation is not None and not _looked_at_since(record, record.operation.at):
        said |= w.operated.bit
    if record.fall_event is not None:
        said |= fall_words(record, now, said)
    return Common(said, said | hidden, _limit_lb(said, policy), _figures(record, policy))


def _looked_at_since(record: Record, at: datetime) -> bool:
    return record.assessed_at is not None and record.assessed_at > at


def _order_words(record: Record) -> int:
    orders = record.weight_bearing
    if not orders:
        return 0
    said = 0
    legs = [_meant(orders[leg]) for leg in _LEGS if leg in orders]
    worst = max((_ORDER_RANK[status] for status in legs), default=0)
    for leg, word in w.LEG_LIMITED.items():
        if leg in orders and _ORDER_RANK[_meant(orders[leg])] >= _PWB:
            said |= word.bit
    if worst >= _PWB:
        said |= w.leg_limited.bit
    if worst >= _TTWB:
        said |= w.leg_off.bit
    if worst >= _NWB:
        said |= w.leg_never_down.bit
    if sum(_CARRIES.get(status, 0) for status in legs) + 2 * (2 - len(legs)) < 2:
        said |= w.legs_cannot_carry.bit
    if any(_ORDER_RANK[orders[arm].status] >= _PWB for arm in _ARMS if arm in orders):
        said |= w.arm_limited.bit
    if all(arm in orders and _ORDER_RANK[orders[arm].status] >= _NWB for arm in _ARMS):
        said |= w.no_arm_by_order.bit
    return said


def _meant(order: LimbOrder) -> WeightBearing:
    """The status to plan for: part weight with a figure of nothing is no weight until somebody answers."""
    nothing = order.status is WeightBearing.PWB and 0 in (order.kg, order.percent)
    return WeightBearing.NWB if nothing else order.status


def _aid_words(record: Record) -> int:
    if not record.aids:
        return w.no_platform_walker.bit | w.no_allowed_aid.bit
    said = 0 if Aid.PLATFORM_WALKER in record.aids else w.no_platform_walker.bit
    excluded = {item.what for item in excluded_aids(record)}
    own = [aid for aid in record.aids if aid in _OWN_AID and aid not in excluded]
    for aid in own:
        said |= _OWN_AID[aid]
    return said if own else said | w.no_allowed_aid.bit


def _weight_words(record: Record, policy: Policy) -> int:
    if record.weight_kg is None:
        return w.from_100_lb.bit | w.from_200_lb.bit
    rows, lb, said = policy.handling, _lb(record.weight_kg), 0
    if lb >= rows.lighter_row_lb:
        said |= w.from_100_lb.bit
    if lb >= rows.heavier_row_lb:
        said |= w.from_200_lb.bit
    if _lateral_count(lb, policy) > rows.lateral_most:
        said |= w.beyond_lateral.bit
    if lb >= rows.toilet_lb:
        said |= w.over_toilet.bit
    height = record.height_cm
    if lb >= rows.heavy_lb or (height and _bmi(record.weight_kg, height) >= rows.heavy_bmi):
        said |= w.heavy.bit
    return said


def _lb(kg: float) -> float:
    """Pounds, to the millionth: a weight recorded as 200 lb is 200 lb and not a hair under."""
    return round(kg / KG_PER_LB, 6)


def _bmi(kg: float, cm: float) -> float:
    """Body mass index, kg per square metre, to the millionth: exactly 40 is 40."""
    return round(kg * 10_000 / (cm * cm), 6)


def _line_words(record: Record, policy: Policy) -> int:
    if not record.lines:
        return 0
    many = len(record.lines) >= policy.handling.many_lines
    return w.has_lines.bit | (w.many_lines.bit if many else 0)


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
        lateral_by_weight=lateral_helpers(record.weight_kg, policy),
        log_roll_spinal=counts.log_roll_spinal,
        log_roll_cervical=counts.log_roll_cervical,
        log_roll_cleared=counts.log_roll_cleared,
        floor_by_hand=counts.floor_by_hand,
        lift_helpers=counts.lift_helpers,
        lift_helpers_heavy=counts.lift_helpers_heavy,
        lighter_row_lb=counts.lighter_row_lb,
        heavier_row_lb=counts.heavier_row_lb,
        lateral_step_lb=counts.lateral_step_lb,
        lateral_most=counts.lateral_most,
        toilet_lb=counts.toilet_lb,
    )


def lateral_helpers(weight_kg: float | None, policy: Policy) -> int:
    """Three, and one more for each further 100 lb over 200, partial hundreds rounded up (VHA 2014).

    No more than the policy's most, where a lift takes over.
    """
    if weight_kg is None:
        return 3
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
    help_ = record.help.get(task)
    used = record.helpers_used.get(task, 0)
    if used > 1:
        said |= w.used_two.bit
        worst |= w.used_two.bit
    if help_ is None or help_ in _NOT_DONE:
        bits = _UNKNOWN["help"] if help_ is None else _NOT_DONE[help_]
        situation = Situation(said | bits, worst | bits | _WORST["help"], shared.figures._replace(used=used))
        return _fallen(situation) if task is Task.FLOOR else situation
    bits = _HELP[help_]
    load = load_lb(task, help_, record.weight_kg, policy)
    assumed = load or _assumed_load_lb(task, help_, record, policy)
    needed = ceil(round(assumed / shared.limit_lb, 9)) if assumed else 1
    most = policy.handling.manual_max_helpers
    if needed > 1:
        bits |= w.load_needs_more.bit
    if needed > most:
        bits |= w.load_beyond_hands.bit
    figures = shared.figures
    if needed > 1 or used:
        figures = figures._replace(load=min(needed, most), used=used)
    situation = Situation(said | bits, worst | bits, figures, load)
    return _fallen(situation) if task is Task.FLOOR else situation


def _fallen(now: Situation) -> Situation:
    """On the floor after a fall the way up is said though little is known: the lift. Awake must be known."""
    if not (w.fell | w.on_the_floor).holds(now.said):
        return now
    unknown = (_ANY_UNKNOWN | sum(_NOT_DONE.values())) & ~_UNKNOWN["alertness"]
    return Situation(now.said & ~unknown, now.worst & ~unknown, now.figures, now.load_lb)


def load_lb(task: Task, help_: Help, weight_kg: float | None, policy: Policy) -> float | None:
    """The load the helpers carry together, lb; None without a weight or where nothing is lifted."""
    effort = loads.HELP_UPPER_SHARE.get(help_, 0.0)
    if weight_kg is None or effort <= 0 or task not in LIFTED:
        return None
    share: float = getattr(policy.body_share, task.value)
    return _lb(weight_kg) * share * effort


def _assumed_load_lb(task: Task, help_: Help, record: Record, policy: Policy) -> float | None:
    """Without a weight the people are counted as for the heavier row of the tables; no share is claimed."""
    if record.weight_kg is not None:
        return None
    return load_lb(task, help_, policy.handling.heavier_row_lb * KG_PER_LB, policy)


def _in_highest_band(risk: FallRisk, policy: Policy) -> bool:
    """Whether the highest possible score stands in the highest band of its instrument."""
    own = policy.fall_risk.bands.get(risk.instrument)
    least = (
        max(own.values()) if own else max(band.least for band in instruments(policy)[risk.instrument].bands)
    )
    return risk.score >= least
