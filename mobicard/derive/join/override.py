"""An override: raising joins like any rule; lowering is shown, bounded and short-lived."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from mobicard.derive.join.floor import effective
from mobicard.derive.join.method import method_for
from mobicard.derive.join.most_protective import NO_USE, RANK
from mobicard.derive.model import Conflict, OverrideShown, Reason, TaskPlan
from mobicard.derive.over_time.validity import next_start
from mobicard.facts import Record
from mobicard.facts.words import Equipment, Level, Precaution
from mobicard.rules import words as w
from mobicard.rules.by_patient.own_judgement import CARRIES, LEAST_HELPERS
from mobicard.rules.policy import Policy
from mobicard.rules.rule import source_texts

FIELDS = ("override",)
CLOCKS_APART = timedelta(minutes=5)
"""How far two stations' clocks may differ before an override counts as dated ahead."""


@dataclass(frozen=True, slots=True)
class InForce:
    """What an override does now: shown on the pages, what it raises or lowers to, what it cannot do."""

    shown: OverrideShown | None = None
    raises_to: Level | None = None
    lowers: bool = False
    conflicts: tuple[Conflict, ...] = ()


def in_force(
    record: Record, derived: Level, until: datetime | None, policy: Policy, now: datetime
) -> InForce:
    """What the record's override does at ``now``, against the derived level of the headline move.

    It raises every standing move below its level, as long as the record holds. It lowers the moves out of bed
    that were derived above it (chair, toilet, standing up), until the end of the shift it was made in or the
    next assessment.
    """
    asked = record.override
    if asked is None:
        return InForce()
    if asked.at > now + CLOCKS_APART:
        return InForce(conflicts=(_says(f"The override by {asked.by} is dated ahead: not in force."),))
    lapses = next_start(asked.at, policy)
    if RANK[asked.level] >= RANK[derived]:
        lapses = max(lapses, until or lapses)
        shown = OverrideShown(asked.level, asked.reason, asked.by, asked.at, False, lapses)
        return InForce(shown, raises_to=asked.level)
    if now > lapses:
        says = f"The override to {asked.level} by {asked.by} lapsed at {lapses:%Y-%m-%d %H:%M}."
        return InForce(raises_to=asked.level, conflicts=(_says(says),))
    if record.assessed_at and asked.at < record.assessed_at.replace(second=0, microsecond=0):
        says = f"The override to {asked.level} by {asked.by} ended with the next look: judge again."
        return InForce(raises_to=asked.level, conflicts=(_says(says),))
    shown = OverrideShown(asked.level, asked.reason, asked.by, asked.at, True, lapses)
    return InForce(shown, raises_to=asked.level, lowers=True)


def refused(asked: InForce, derived: Level, why: str) -> InForce:
    """A lowering that the record contradicts: not in force, and the plan says why."""
    if asked.shown is None:
        return asked
    says = f"No override lowers {derived} to {asked.shown.level} ({asked.shown.by})"
    return InForce(raises_to=asked.raises_to, conflicts=(_says(f"{says}: {why.rstrip('.')}."),))


def _says(says: str) -> Conflict:
    return Conflict(says, FIELDS)


def lowered(
    plan: TaskPlan, shown: OverrideShown, said: int, side: str | None, seen: int
) -> tuple[TaskPlan, Conflict]:
    """The headline move at a lowered level: no fewer people than the level needs, than were seen, than one.

    SELF with someone needed is NEARBY. No share stands in the plan, since by the named person's judgement the
    patient does more than the record says.
    """
    level = effective(shown.level, plan)
    people = max(LEAST_HELPERS[level], seen, 1 if plan.helpers else 0)
    equipment = _equipment(plan, level, said)
    reason = Reason(
        "override.lowered",
        f"Lowered from {plan.level} to {level} by {shown.by}: {shown.reason}",
        {"override": level.value},
        source_texts()["house_override"],
    )
    changed = replace(
        plan,
        level=level,
        helpers=people,
        method=method_for(plan.task, level, said, side, equipment),
        equipment=equipment,
        share_kg=None,
        share_lb=None,
        limit_lb=None,
        reasons=(reason, *plan.reasons),
    )
    says = f"Lowered to {level} by {shown.by}: the record asks for {plan.level} with {plan.helpers}."
    return changed, Conflict(says, (*FIELDS, f"help.{plan.task}"))


def _equipment(plan: TaskPlan, level: Level, said: int) -> tuple[Equipment, ...]:
    """What the lowered move needs: the level's own, a belt for hands on, a board where nobody stands."""
    carriers = {item for items in CARRIES.values() for item in items}
    found = {item for item in plan.equipment if item not in NO_USE[level] and item not in carriers}
    found |= set(CARRIES.get(level, ()))
    if level in (Level.LINK, Level.TEAM):
        seated = (w.no_weight | w.cannot_step).holds(said)
        found |= {Equipment.GAIT_BELT, *([Equipment.SEATED_TRANSFER_AID] if seated else [])}
    if w.PRECAUTION[Precaution.NO_GAIT_BELT].holds(said):
        found.discard(Equipment.GAIT_BELT)
    return tuple(item for item in Equipment if item in found)
