"""Cautions as shown: of what was seen only, the most harmful first, a limb's limit with its figure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

from mobicard.derive.model import LimbLimit, Plan, TaskPlan
from mobicard.facts.moves import ALL
from mobicard.facts.units import both_masses
from mobicard.facts.words import Level, WeightBearing
from mobicard.rules.protocol import RULES, harm
from mobicard.rules.rule import Rule

MOST = 4
"""Cautions of one move that are read before the rest stands under “more”. Common practice, no source."""

NOT_SEEN = "not assessed"

KEEP_TO_LIMIT = "keep to its weight limit"


def told(plan: Plan, move: TaskPlan) -> tuple[str, ...]:
    """The cautions of a move as they are shown, ranked by harm."""
    return tuple(shown for _, shown in as_ruled(plan, move))


def as_ruled(plan: Plan, move: TaskPlan) -> Iterator[tuple[str, str]]:
    """Each caution in its rule's words and as shown, by harm; what nobody looked at is none here.

    A move nobody makes now has none of people, gear or how it would be done; after a fall the steps say who
    turns a patient that vomits.
    """
    seen = {reason.rule for reason in move.reasons if NOT_SEEN not in reason.because.values()}
    unseen = {reason.rule for reason in move.reasons} - seen
    hidden = {one for one in move.cautions if _ids(one) & unseen and not _ids(one) & seen}
    if move.helpers is None:
        hidden |= {one for one in move.cautions if not _whatever_is_done(one)}
    if plan.after_fall is not None and plan.after_fall.state == "do_not_move":
        hidden |= {
            one for one in move.cautions if any(rule.startswith("spine.at_once") for rule in _ids(one))
        }
    shown = sorted((one for one in move.cautions if one not in hidden), key=_harm)
    for caution in shown:
        if says := _with_order(caution, plan.weight_bearing):
            yield caution, says


def by_caution(plan: Plan) -> dict[str, tuple[TaskPlan, ...]]:
    """Each caution with the moves it holds for, in the order of a day, the most harmful first."""
    held: dict[str, list[TaskPlan]] = {}
    for move in plan.tasks.values():
        for caution in told(plan, move):
            held.setdefault(caution, []).append(move)
    return {caution: tuple(moves) for caution, moves in sorted(held.items(), key=lambda one: _harm(one[0]))}


@cache
def _rules(caution: str) -> tuple[Rule, ...]:
    return tuple(rule for rule in RULES if caution in rule.demand.cautions)


@cache
def _ids(caution: str) -> frozenset[str]:
    return frozenset(rule.id for rule in _rules(caution))


@cache
def _whatever_is_done(caution: str) -> bool:
    """Whether it is true of the patient without any move, or is itself what keeps them where they are."""
    rules = [rule for rule in _rules(caution) if not rule.id.startswith("weight.")]
    of_the_patient = any(rule.tasks == ALL and not rule.demand.watchers for rule in rules)
    return of_the_patient or not _rules(caution) or any(rule.demand.level is Level.REMAIN for rule in rules)


@cache
def _harm(caution: str) -> int:
    return min((harm(rule) for rule in _rules(caution)), default=2)


def _with_order(caution: str, limits: Sequence[LimbLimit]) -> str:
    """A limited leg's caution with the most it may bear, or what is done where it may bear nothing.

    Of a leg that is not there nothing is said: there is no limit to keep to.
    """
    leg, _, says = caution.partition(": ")
    if says != KEEP_TO_LIMIT:
        return caution
    own = (limit for limit in limits if limit.limb.value.replace("_", " ").capitalize() == leg)
    limit = next(own, None)
    if limit is not None and limit.status is WeightBearing.ABSENT_LIMB:
        return ""
    return f"{leg}: {kept}" if limit and (kept := _kept(limit)) else caution


def _kept(limit: LimbLimit) -> str:
    if limit.status is WeightBearing.NWB:
        return "no weight; foot down: sit again"
    return f"at most {both_masses(limit.limit_kg)}" if limit.limit_kg else ""
