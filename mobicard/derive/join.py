"""The join: the most cautious level, the most helpers, the union of equipment and cautions, with every reason."""

from __future__ import annotations

from math import ceil

from mobicard.derive.method import method_for
from mobicard.derive.model import Reason, TaskPlan
from mobicard.derive.situation import Situation, facts_behind
from mobicard.facts import Record
from mobicard.facts.units import kg_from_lb, lb_from_kg
from mobicard.facts.words import Equipment, Level, Task
from mobicard.rules import words as w
from mobicard.rules.book import RULES_FOR
from mobicard.rules.policy import Policy
from mobicard.rules.rule import Rule, shown_source

LEVELS = tuple(Level)
RANK = {level: level.rank for level in Level}
LIFTS = (Level.POWER, Level.HOIST)

HELD_BY_HAND = {Equipment.GAIT_BELT, Equipment.SEATED_TRANSFER_AID}
DROPPED = {
    Level.SELF: {*HELD_BY_HAND, Equipment.FRICTION_REDUCING_SHEET},
    Level.NEARBY: {*HELD_BY_HAND},
    Level.LINK: set[Equipment](),
    Level.TEAM: set[Equipment](),
    Level.POWER: {*HELD_BY_HAND},
    Level.HOIST: {*HELD_BY_HAND, Equipment.POWERED_STANDING_AID, Equipment.FRICTION_REDUCING_SHEET},
    Level.REMAIN: set(Equipment),
}
"""Equipment that makes no sense at a level: a lift takes the belt's and the board's place, never the reverse."""


def join(task: Task, now: Situation, record: Record, policy: Policy) -> TaskPlan:
    """One task's outcome from every rule that fires."""
    fired = [rule for rule in RULES_FOR[task] if rule.when.holds(now.said)]
    rank = max(RANK[rule.demand.level] for rule in fired if rule.demand.level)
    movers = max(_count(rule, now, record, policy) for rule in fired)
    watchers = max(rule.demand.watchers for rule in fired)
    rank, movers = _settle(rank, movers, watchers, now, policy)
    level = LEVELS[rank]
    cautions, hidden = _cautions(task, now)
    asked = [rule for rule in fired if _counts(rule, level)]
    equipment = _equipment(asked, level, now)
    share = now.load_lb / movers if now.load_lb and movers and level.rank <= RANK[Level.TEAM] else None
    return TaskPlan(
        task=task,
        level=level,
        helpers=None if level is Level.REMAIN else movers + watchers,
        method=method_for(task, level, now.said),
        equipment=equipment,
        share_kg=round(kg_from_lb(share), 1) if share else None,
        share_lb=round(share, 1) if share else None,
        limit_lb=now.limit_lb if share else None,
        cautions=cautions,
        reasons=tuple(_reason(rule, task, now.said, record) for rule in asked)
        + tuple(_reason(rule, task, now.worst, record) for rule in hidden),
    )


def _settle(rank: int, movers: int, watchers: int, now: Situation, policy: Policy) -> tuple[int, int]:
    """Two or more helpers are at least a team; a lift has its own least number."""
    if rank in (RANK[Level.POWER], RANK[Level.HOIST]):
        heavy = w.heavy.holds(now.said)
        least = policy.handling.lift_helpers_heavy if heavy else policy.handling.lift_helpers
        return rank, max(movers, least)
    if movers + watchers >= 2:
        return max(rank, RANK[Level.TEAM]), movers
    if movers + watchers >= 1:
        return max(rank, RANK[Level.NEARBY]), movers
    return rank, movers


def _counts(rule: Rule, level: Level) -> bool:
    """Whether the rule still says something at the joined level."""
    return level is Level.SELF or rule.demand.level is not Level.SELF


def _count(rule: Rule, now: Situation, record: Record, policy: Policy) -> int:
    count = rule.demand.helpers
    if isinstance(count, int):
        return count
    if count == "load":
        return now.lifters
    if count == "lateral_by_weight":
        return lateral_helpers(record.weight_kg, policy)
    return int(getattr(policy.handling, count))


def lateral_helpers(weight_kg: float | None, policy: Policy) -> int:
    """Three, and one more for each further 100 lb over 200, partial hundreds rounded up (VHA 2014)."""
    if weight_kg is None:
        return 3
    over = round(lb_from_kg(weight_kg) - policy.handling.heavier_row_lb, 6)
    return 3 + max(0, ceil(over / policy.handling.lateral_step_lb))


def _cautions(task: Task, now: Situation) -> tuple[tuple[str, ...], list[Rule]]:
    """The cautions, and the rules that only a missing fact makes possible."""
    texts: dict[str, None] = {}
    hidden = []
    for rule in RULES_FOR[task]:
        if rule.demand.cautions and rule.when.holds(now.worst):
            texts |= dict.fromkeys(rule.demand.cautions)
            if not rule.when.holds(now.said):
                hidden.append(rule)
    return tuple(texts), hidden


def _equipment(rules: list[Rule], level: Level, now: Situation) -> tuple[Equipment, ...]:
    asked = {item for rule in rules for item in rule.demand.equipment} - DROPPED[level]
    if w.no_belt.holds(now.said):
        asked.discard(Equipment.GAIT_BELT)
    return tuple(item for item in Equipment if item in asked)


def _reason(rule: Rule, task: Task, said: int, record: Record) -> Reason:
    because = facts_behind(rule.when.fired_by(said), task, record)
    return Reason(rule.id, rule.says, because, shown_source(rule))
