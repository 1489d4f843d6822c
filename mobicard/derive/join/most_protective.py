"""The join: the most cautious level, the most helpers, all equipment and cautions, with every reason."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from mobicard.derive.join.reasons import Stated, state
from mobicard.derive.join.what_is_true import Figures
from mobicard.facts.words import Equipment, Level, Precaution, Task
from mobicard.rules import people_needed
from mobicard.rules import words as w
from mobicard.rules.protocol import RULES_FOR
from mobicard.rules.rule import Rule

LEVELS = tuple(Level)
RANK = {level: rank for rank, level in enumerate(LEVELS)}
NEARBY, TEAM, POWER, HOIST, REMAIN = (
    RANK[level] for level in (Level.NEARBY, Level.TEAM, Level.POWER, Level.HOIST, Level.REMAIN)
)

BY_HAND = {Equipment.GAIT_BELT, Equipment.SEATED_TRANSFER_AID}
WALKING = {
    Equipment.FRONT_WHEELED_WALKER,
    Equipment.PLATFORM_WALKER,
    Equipment.FOUR_WHEELED_WALKER,
    Equipment.CRUTCHES,
    Equipment.CANE,
}
ITEMS = tuple(Equipment)
SLUNG = {Equipment.FULL_BODY_LIFT, Equipment.SUPINE_SLING, Equipment.REPOSITIONING_SLING}
"""What a sling would be rolled under: not for one who has to be lifted flat."""

Asked = tuple[tuple[Rule, tuple[int, ...]], ...]
"""Rules with their conditions laid open."""

ASKED: dict[Task, Asked] = {
    task: tuple((rule, rule.when.groups) for rule in rules) for task, rules in RULES_FOR.items()
}
CAUTIONED: dict[Task, Asked] = {
    task: tuple((rule, groups) for rule, groups in rules if rule.demand.cautions)
    for task, rules in ASKED.items()
}

NO_USE: dict[Level, set[Equipment]] = {
    Level.SELF: BY_HAND,
    Level.NEARBY: BY_HAND,
    Level.LINK: set(),
    Level.TEAM: set(),
    Level.POWER: {*BY_HAND, *WALKING},
    Level.HOIST: {
        *BY_HAND,
        *WALKING,
        Equipment.POWERED_STANDING_AID,
        Equipment.FRICTION_REDUCING_SHEET,
        Equipment.LATERAL_TRANSFER_AID,
        Equipment.AIR_ASSISTED_LATERAL_DEVICE,
    },
    Level.REMAIN: set(Equipment),
}
"""Equipment with no use at a level: a lift takes the belt's and the board's place, never the reverse."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One task's joined demands; ``movers`` share the load, ``helpers`` counts those who watch lines too."""

    level: Level
    helpers: int | None
    movers: int
    equipment: tuple[Equipment, ...]
    cautions: tuple[str, ...]
    stated: tuple[Stated, ...]


@lru_cache(maxsize=32768)
def outcome(task: Task, said: int, worst: int, figures: Figures) -> Outcome:
    """The join for one task of every rule the words fire. It depends on nothing else, so it is remembered."""
    fired = _fired(ASKED[task], said)
    rank = max(RANK[rule.demand.level] for rule in fired if rule.demand.level)
    movers = max(_count(rule, figures) for rule in fired)
    watchers = max(rule.demand.watchers for rule in fired)
    rank, movers, added = _settle(rank, movers, watchers, said, figures)
    level = LEVELS[rank]
    stands = added + [rule for rule in fired if not _only_a_floor(rule, rank)]
    if w.out_of_date.holds(said):
        stands = [rule for rule in stands if rule.demand.level is Level.REMAIN or rule.demand.cautions]
    stands.sort(key=lambda rule: _weight(rule, figures), reverse=True)
    warned = _fired(CAUTIONED[task], worst)
    maybe = [rule for rule in warned if not rule.when.holds(said)]
    stated = (
        *(state(rule, said, task, figures) for rule in stands),
        *(state(rule, worst, task, figures) for rule in maybe),
    )
    cautions = tuple(dict.fromkeys([text for rule in warned for text in rule.demand.cautions]))
    return Outcome(
        level=level,
        helpers=None if rank == REMAIN else movers + watchers,
        movers=movers,
        equipment=_equipment(fired, level, said),
        cautions=cautions,
        stated=stated,
    )


def _fired(rules: Asked, said: int) -> list[Rule]:
    """The rules whose condition holds: the innermost loop of every plan, so its two loops are written out."""
    found = []
    for rule, groups in rules:
        for group in groups:
            if said & group == group:
                found.append(rule)
                break
    return found


def _settle(
    rank: int, movers: int, watchers: int, said: int, figures: Figures
) -> tuple[int, int, list[Rule]]:
    """Someone is at least NEARBY, two are a team, a lift has its own least number."""
    if rank == REMAIN:
        return rank, movers, []
    if rank in (POWER, HOIST):
        heavy = w.heavy.holds(said)
        least = figures.lift_helpers_heavy if heavy else figures.lift_helpers
        rule = people_needed.LIFT_HEAVY if heavy else people_needed.LIFT_TWO
        return rank, max(movers, least), [rule] if least > movers else []
    if movers + watchers >= 2 and rank < TEAM:
        return TEAM, movers, [people_needed.TEAM]
    if movers + watchers >= 1 and rank < NEARBY:
        return NEARBY, movers, [people_needed.SOMEONE]
    return rank, movers, []


def _only_a_floor(rule: Rule, rank: int) -> bool:
    """A rule that holds of everyone and asks for less than the outcome is no reason for it."""
    level = rule.demand.level
    return rule.when is w.ALWAYS and level is not None and RANK[level] < rank


def _weight(rule: Rule, figures: Figures) -> tuple[int, int]:
    """What asks for most stands first among the reasons."""
    level = rule.demand.level
    return (RANK[level] if level else -1, _count(rule, figures))


def _count(rule: Rule, figures: Figures) -> int:
    count = rule.demand.helpers
    return count if isinstance(count, int) else int(getattr(figures, count))


def _equipment(fired: list[Rule], level: Level, said: int) -> tuple[Equipment, ...]:
    asked = {item for rule in fired for item in rule.demand.equipment} - NO_USE[level]
    if w.PRECAUTION[Precaution.NO_GAIT_BELT].holds(said):
        asked.discard(Equipment.GAIT_BELT)
    if w.lifted_flat.holds(said):
        asked -= SLUNG
    return tuple([item for item in ITEMS if item in asked])
