"""The plan: every rule that fires, joined task by task into the most protective outcome."""

from __future__ import annotations

from datetime import datetime

from mobicard.derive.code import with_code
from mobicard.derive.join import join
from mobicard.derive.model import Plan, TaskPlan
from mobicard.derive.situation import FACTS, common_words, limit_for, task_situation
from mobicard.derive.validity import valid_until, wall
from mobicard.facts import Record
from mobicard.facts.words import Task
from mobicard.rules.policy import Policy


def plan_for(record: Record, policy: Policy, now: datetime, inventory: object | None = None) -> Plan:
    """The handling plan of a record at a time. ``now`` and the record's times are the ward's wall clock.

    Never raises for a valid Record and Policy: what is not known gives a plan that says "not until".
    """
    now = wall(now, policy)
    tasks = task_plans(record, policy)
    headline = tasks[Task.CHAIR]
    assessed = wall(record.assessed_at, policy) if record.assessed_at else None
    until = valid_until(assessed, policy) if assessed else None
    plan = Plan(
        bed=record.bed,
        level=headline.level,
        derived_level=headline.level,
        helpers=headline.helpers,
        tasks=tasks,
        weight_bearing=(),
        fall_risk=None,
        orthostatic=None,
        conflicts=(),
        not_assessed=not_assessed(record),
        valid_until=until,
        expired=until is None or now > until,
        code="",
        assessed_at=assessed,
        assessed_by=record.assessed_by,
    )
    return with_code(plan, record, policy)


def task_plans(record: Record, policy: Policy) -> dict[Task, TaskPlan]:
    """Each task's joined outcome."""
    common = common_words(record, policy)
    limit = limit_for(common[0], policy)
    return {
        task: join(task, task_situation(task, common, record, policy, limit), record, policy) for task in Task
    }


def not_assessed(record: Record) -> tuple[str, ...]:
    """Every fact that is missing: the deciding ones, each task's help, then the rest."""
    missing = [fact for fact in FACTS if getattr(record, fact) is None]
    for task in Task:
        answer = record.help.get(task)
        if answer is None or not answer.was_done:
            missing.append(f"help.{task.value}")
    rest = ("weight_kg", "vitals", "fall_risk")
    missing += [fact for fact in rest if getattr(record, fact) is None]
    if not record.weight_bearing:
        missing.append("weight_bearing")
    return tuple(missing)
