"""An override: raising joins like any rule; lowering is shown, bounded and short-lived."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from mobicard.derive.join import NO_USE, RANK
from mobicard.derive.method import method_for
from mobicard.derive.model import Conflict, OverrideShown, Reason, TaskPlan
from mobicard.derive.validity import next_start
from mobicard.facts import Record
from mobicard.facts.words import Level
from mobicard.rules.policy import Policy
from mobicard.rules.raised import CARRIES, LEAST_HELPERS

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

    It raises every standing move below its level, as long as the record holds. Where the headline move was
    derived above it, it lowers that one move only, until the end of the shift it was made in.
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
    if derived is Level.REMAIN:
        says = "No override lowers REMAIN: clear the reason first."
        return InForce(raises_to=asked.level, conflicts=(_says(says),))
    if now > lapses:
        says = f"The override to {asked.level} by {asked.by} lapsed at {lapses:%Y-%m-%d %H:%M}."
        return InForce(raises_to=asked.level, conflicts=(_says(says),))
    shown = OverrideShown(asked.level, asked.reason, asked.by, asked.at, True, lapses)
    return InForce(shown, raises_to=asked.level, lowers=True)


def _says(says: str) -> Conflict:
    return Conflict(says, FIELDS)


def lowered(plan: TaskPlan, shown: OverrideShown, said: int, side: str | None) -> tuple[TaskPlan, Conflict]:
    """The headline move at a lowered level: never fewer people than the level itself needs, nor none at all.

    No share is claimed: by the named person's judgement the patient does more than the recorded help says.
    """
    level = shown.level
    least = max(LEAST_HELPERS[level], 1 if plan.helpers else 0)
    keep = [item for item in plan.equipment if item not in NO_USE[level] and item not in _carriers(level)]
    equipment = tuple(sorted({*keep, *CARRIES.get(level, ())}, key=lambda item: item.rank))
    reason = Reason(
        "override.lowered",
        f"Lowered from {plan.level} to {level} by {shown.by}: {shown.reason}",
        {"override": level.value},
        "house rule: raising the level is free; lowering needs a name and a reason",
    )
    conflict = Conflict(
        f"Lowered to {level} by {shown.by}: the record asks for {plan.level} with {plan.helpers}.",
        ("override", f"help.{plan.task}"),
    )
    return (
        replace(
            plan,
            level=level,
            helpers=least,
            method=method_for(plan.task, level, said, side),
            equipment=equipment,
            share_kg=None,
            share_lb=None,
            limit_lb=None,
            reasons=(reason, *plan.reasons),
        ),
        conflict,
    )


def _carriers(level: Level) -> set[object]:
    return {item for other, items in CARRIES.items() if other is not level for item in items}
