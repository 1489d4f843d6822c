"""The situation: which of the rules' words are true of this record, task by task."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import ceil
from typing import Any

from mobicard.derive import loads
from mobicard.facts import Record
from mobicard.facts.units import lb_from_kg
from mobicard.facts.words import Aid, Help, Limb, Task, WeightBearing, Word
from mobicard.rules import words as w
from mobicard.rules.policy import Policy
from mobicard.rules.unknown import DECIDING

FACTS = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms")


def _bits(word: w.When) -> int:
    (bit,) = word.groups
    return bit


def _said_by_rank(fact: str) -> Callable[[int], int]:
    steps = [(rank, _bits(word)) for rank, word in w.LADDERS[fact]]
    return lambda rank: sum(bit for least, bit in steps if rank >= least)


def _table(fact: str, answers: type[Word]) -> dict[Word, int]:
    said = _said_by_rank(fact)
    return {answer: said(rank) for rank, answer in enumerate(answers)}


SAID: dict[Word, int] = {}
"""For each answer of a fact with an order, the words it says."""
for _fact in FACTS:
    _answers = Record.model_fields[_fact].annotation
    SAID |= _table(_fact, next(a for a in _answers.__args__ if a is not type(None)))  # type: ignore[union-attr]

_SAID_HELP: dict[Word, int] = _table("help", Help)
for _answer, _word in w.NOT_DONE.items():
    _SAID_HELP[_answer] |= _bits(_word)

_WORST: dict[str, int] = {fact: sum(_bits(word) for _, word in w.LADDERS[fact]) for fact in (*FACTS, "help")}
_UNKNOWN: dict[str, int] = {fact: _bits(word) for fact, word in w.UNKNOWN.items()}
_PRECAUTION = {item: _bits(word) for item, word in w.PRECAUTION.items()}

_LEG_CARRIES = {WeightBearing.FWB: 2, WeightBearing.WBAT: 2, WeightBearing.PWB: 1}


@dataclass(frozen=True, slots=True)
class Situation:
    """What the rules need of one task: words said, words a missing fact might hide, and the load in lb."""

    said: int
    worst: int
    load_lb: float | None
    limit_lb: float
    lifters: int


def common_words(record: Record, policy: Policy) -> tuple[int, int]:
    """The words true for every task, and those plus what missing facts might hide."""
    said = hidden = 0
    for fact in FACTS:
        answer = getattr(record, fact)
        if answer is None:
            said |= _UNKNOWN[fact]
            hidden |= _WORST[fact]
        else:
            said |= SAID[answer]
    for item in record.precautions:
        said |= _PRECAUTION[item]
    said |= _order_words(record) | _weight_words(record, policy) | _line_words(record, policy)
    if policy.handling.manual_lifting == "none":
        said |= _bits(w.no_hand_lifting)
    return said, said | hidden


def _order_words(record: Record) -> int:
    said = 0 if Aid.PLATFORM_WALKER in record.aids else _bits(w.no_platform_walker)
    orders = record.weight_bearing
    if not orders:
        return said
    legs = [orders[limb].status if limb in orders else WeightBearing.FWB for limb in Limb if limb.is_leg]
    if any(status.rank >= WeightBearing.PWB.rank for status in legs):
        said |= _bits(w.leg_limited)
    if any(status.rank >= WeightBearing.TTWB.rank for status in legs):
        said |= _bits(w.leg_off)
    if any(status.rank >= WeightBearing.NWB.rank for status in legs):
        said |= _bits(w.leg_never_down)
    if sum(_LEG_CARRIES.get(status, 0) for status in legs) < 2:
        said |= _bits(w.legs_cannot_carry)
    if any(not limb.is_leg and order.status.rank >= WeightBearing.PWB.rank for limb, order in orders.items()):
        said |= _bits(w.arm_limited)
    return said


def _weight_words(record: Record, policy: Policy) -> int:
    rows = policy.handling
    if record.weight_kg is None:
        return _bits(w.from_100_lb) | _bits(w.from_200_lb)
    lb = round(lb_from_kg(record.weight_kg), 6)
    said = 0
    if lb >= rows.lighter_row_lb:
        said |= _bits(w.from_100_lb)
    if lb >= rows.heavier_row_lb:
        said |= _bits(w.from_200_lb)
    if lb >= rows.toilet_lb:
        said |= _bits(w.over_toilet)
    height = record.height_cm
    if lb >= rows.heavy_lb or (height and record.weight_kg / (height / 100) ** 2 >= rows.heavy_bmi):
        said |= _bits(w.heavy)
    return said


def _line_words(record: Record, policy: Policy) -> int:
    if not record.lines:
        return 0
    many = len(record.lines) >= policy.handling.many_lines
    return _bits(w.has_lines) | (_bits(w.many_lines) if many else 0)


def task_situation(
    task: Task, common: tuple[int, int], record: Record, policy: Policy, limit: float
) -> Situation:
    """The words for one task: the common ones, its own help, its own load."""
    said, worst = common
    help_ = record.help.get(task)
    if help_ is None:
        said |= _UNKNOWN["help"]
        worst |= said | _WORST["help"]
        return Situation(said, worst, None, limit, 1)
    bits = _SAID_HELP[help_]
    load = load_lb(task, help_, record.weight_kg, policy)
    needed = ceil(round(load / limit, 9)) if load else 1
    most = policy.handling.manual_max_helpers
    if needed > 1:
        bits |= _bits(w.load_needs_more)
    if needed > most:
        bits |= _bits(w.load_beyond_hands)
    return Situation(said | bits, worst | bits, load, limit, min(needed, most))


def load_lb(task: Task, help_: Help, weight_kg: float | None, policy: Policy) -> float | None:
    """The load the helpers carry together, lb; None without a weight or where nothing is lifted."""
    share: float | None = getattr(policy.body_share, task.value, None)
    effort = loads.upper_share(help_) if help_.was_done else 0.0
    if weight_kg is None or share is None or effort <= 0:
        return None
    return lb_from_kg(weight_kg) * share * effort


def limit_for(said: int, policy: Policy) -> float:
    """The most one helper may bear under these conditions, lb."""
    conditions = []
    if w.not_cooperative.holds(said):
        conditions.append(loads.Condition.UNPREDICTABLE)
    if w.many_lines.holds(said):
        conditions.append(loads.Condition.LINES)
    return loads.helper_limit_lb(policy, conditions)


def facts_behind(bits: int, task: Task, record: Record) -> dict[str, Any]:
    """The facts these words stand on, as they are recorded."""
    found: dict[str, Any] = {}
    while bits:
        bit = bits & -bits
        bits ^= bit
        fact = w.FACT_OF[bit]
        if fact == "help":
            answer = record.help.get(task)
            found[f"help.{task.value}"] = answer.value if answer else "not assessed"
        elif fact not in found and fact != "policy":
            found[fact] = _plain(getattr(record, fact), fact in DECIDING[task] or fact in FACTS)
    return found


def _plain(value: Any, assessed: bool) -> Any:
    if value is None:
        return "not assessed" if assessed else "not recorded"
    if isinstance(value, Word):
        return value.value
    if isinstance(value, Mapping):
        return {key.value: order.status.value for key, order in value.items()}
    if isinstance(value, tuple):
        return [item.value if isinstance(item, Word) else getattr(item, "kind", str(item)) for item in value]
    return value if isinstance(value, int | float | str) else "see record"
