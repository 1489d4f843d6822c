"""The plan: every rule that fires, joined task by task into the most protective outcome."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from mobicard.derive.after_fall import after_fall
from mobicard.derive.code import digest, plan_code
from mobicard.derive.equipment import EquipmentCheck, Inventory, check
from mobicard.derive.fall_risk import assess
from mobicard.derive.join import RANK, Outcome, outcome
from mobicard.derive.method import method_for
from mobicard.derive.model import Conflict, Plan, Reason, TaskPlan
from mobicard.derive.override import InForce, Load, in_force, lowered
from mobicard.derive.reasons import Keys, Recorded
from mobicard.derive.situation import FACTS, Common, common, for_task
from mobicard.derive.validity import valid_until, wall
from mobicard.derive.vitals import is_stale, orthostatic
from mobicard.derive.weight_bearing import limb_limits, order_conflicts, stronger_side
from mobicard.facts import Record
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Level, Task
from mobicard.rules.book import STANDING_AID_RULED_OUT
from mobicard.rules.policy import Policy
from mobicard.rules.rule import UP
from mobicard.rules.words import no_rated_standing_aid

TASKS = tuple(Task)
RAISABLE = (Task.SIT_UP, *UP, Task.FLOOR)
"""The moves an override may raise: getting up in any way; lying in bed goes on as derived."""

REMEMBERED = 256
"""Finished task plans kept for one joined outcome; many records share outcomes and often the facts."""

Tasks = dict[Task, tuple[TaskPlan, bytes]]
"""Each task's plan with the digest of what it prints."""

AHEAD = timedelta(hours=1)
"""An assessment dated further ahead than this is a slip of the pen: nobody stands behind it."""


def plan_for(record: Record, policy: Policy, now: datetime, inventory: Inventory | None = None) -> Plan:
    """The handling plan of a record at a time. ``now`` and the record's times are the ward's wall clock.

    ``inventory`` is what the unit has (the packaged one by default). Never raises for a valid Record and
    Policy: what is not known gives a plan that says "not until".
    """
    now = wall(now, policy)
    # 1. What the other instruments make of the record
    risk, risk_conflicts = assess(record, policy)
    drop = orthostatic(record, policy, now)
    # 2. The words of the rules, and each task's join
    words = common(record, policy, now, risk, drop, inventory)
    recorded = Recorded(record, policy.handling.manual_lifting)
    planner = _Planner(record, policy, words, stronger_side(record), recorded, Keys(record))
    joined = {task: planner.task(task) for task in TASKS}
    derived = joined[Task.CHAIR][0].level
    # 3. Until when it holds, and a named person's own judgement
    until = valid_until(record.assessed_at, policy) if record.assessed_at else None
    ahead = record.assessed_at is not None and record.assessed_at > now + AHEAD
    asked = in_force(record, derived, until, policy, now)
    joined, judged = planner.judged(joined, asked)
    tasks = {task: plan for task, (plan, _) in joined.items()}
    if until is not None and asked.lowers and asked.shown is not None:
        until = min(until, asked.shown.lapses_at)
    # 4. Equipment against the unit's inventory
    checked = _checked(tasks, record, inventory)
    plan = Plan(
        bed=record.bed,
        level=tasks[Task.CHAIR].level,
        derived_level=derived,
        helpers=tasks[Task.CHAIR].helpers,
        tasks=tasks,
        weight_bearing=limb_limits(record, policy),
        fall_risk=risk,
        orthostatic=drop,
        conflicts=(
            *order_conflicts(record),
            *risk_conflicts,
            *judged,
            *_slips(ahead),
            *_class_changed(record, words, tasks),
            *checked.conflicts,
        ),
        not_assessed=not_assessed(record, policy, now),
        valid_until=until,
        expired=until is None or now > until or ahead,
        code="",
        assessed_at=record.assessed_at,
        assessed_by=record.assessed_by,
        override=asked.shown,
        after_fall=after_fall(record, words.said, tasks),
        general=tuple(_rated(note, record) for note in checked.notes),
    )
    return replace(plan, code=plan_code(plan, [part for _, part in joined.values()], record, policy))


@dataclass(frozen=True, slots=True)
class _Planner:
    """One record's tasks: the same words for all, each task's own help and load beside them."""

    record: Record
    policy: Policy
    words: Common
    side: str | None
    recorded: Recorded
    keys: Keys

    def task(self, task: Task, raised: Level | None = None) -> tuple[TaskPlan, bytes]:
        """One task's plan from its joined outcome, and the digest of what it prints."""
        now = for_task(task, self.words, self.record, self.policy, raised)
        found = outcome(task, now.said, now.worst, now.figures)
        share = None
        if now.load_lb and found.helpers and RANK[found.level] <= RANK[Level.TEAM]:
            share = now.load_lb / found.movers
        key = (self.side, share, self.words.limit_lb, *[self.keys[fact] for fact in found.facts])
        known = found.plans.get(key)
        if known is None:
            if len(found.plans) >= REMEMBERED:
                found.plans.clear()
            plan = self._built(task, found, now.said, share)
            known = found.plans[key] = (plan, digest(found.printed, plan.method, key))
        return known

    def _built(self, task: Task, found: Outcome, said: int, share: float | None) -> TaskPlan:
        return TaskPlan(
            task=task,
            level=found.level,
            helpers=found.helpers,
            method=method_for(task, found.level, said, self.side, found.equipment),
            equipment=found.equipment,
            share_kg=round(kg_from_lb(share), 1) if share else None,
            share_lb=round(share, 1) if share else None,
            limit_lb=round(self.words.limit_lb, 1) if share else None,
            cautions=found.cautions,
            reasons=tuple([stated.reason(self.recorded) for stated in found.stated]),
        )

    def judged(self, tasks: Tasks, asked: InForce) -> tuple[Tasks, tuple[Conflict, ...]]:
        """The tasks under an override: those it raises joined anew, the headline move lowered."""
        if asked.raises_to is None:
            return tasks, asked.conflicts
        raised = {task: self.task(task, asked.raises_to) for task in RAISABLE}
        if not asked.lowers or asked.shown is None:
            return {**tasks, **raised}, asked.conflicts
        now = for_task(Task.CHAIR, self.words, self.record, self.policy, None)
        load = Load(now.load_lb, self.words.limit_lb)
        chair, conflict = lowered(tasks[Task.CHAIR][0], asked.shown, now.said, self.side, load)
        raised[Task.CHAIR] = (chair, digest(chair.as_json()))
        return {**tasks, **raised}, (*asked.conflicts, conflict)


def _checked(tasks: dict[Task, TaskPlan], record: Record, inventory: Inventory | None) -> EquipmentCheck:
    demanded = {item for plan in tasks.values() for item in plan.equipment}
    return check(demanded, record.weight_kg, inventory)


def _rated(note: str, record: Record) -> Reason:
    weight = record.weight_kg if record.weight_kg is not None else "not recorded"
    return Reason("equipment.rating", note, {"weight_kg": weight}, "the unit's inventory; FDA, patient lifts")


def _class_changed(record: Record, words: Common, tasks: dict[Task, TaskPlan]) -> tuple[Conflict, ...]:
    """Said aloud: the lift is asked for because no standing aid here is rated for the patient."""
    if not no_rated_standing_aid.holds(words.said):
        return ()
    if not any(reason.rule in STANDING_AID_RULED_OUT for task in UP for reason in tasks[task].reasons):
        return ()
    of = f" is rated for {both_masses(record.weight_kg)}" if record.weight_kg else ""
    says = (
        f"No powered standing aid on the unit{of}: planned for the lift; ask for one if standing is wanted."
    )
    return (Conflict(says, ("weight_kg", "inventory")),)


def _slips(ahead: bool) -> tuple[Conflict, ...]:
    says = "The assessment is dated ahead of now: check its date and time."
    return (Conflict(says, ("assessed_at",)),) if ahead else ()


def not_assessed(record: Record, policy: Policy, now: datetime) -> tuple[str, ...]:
    """Every fact that is missing: the deciding ones, each task's help, then the rest.

    A help that was not tried (refused, not safe, ...) is no observation and counts as missing; so do vital
    signs older than the policy lets them count.
    """
    missing = [fact for fact in FACTS if getattr(record, fact) is None]
    for task in Task:
        seen = record.help.get(task)
        if seen is None or not seen.was_done:
            missing.append(f"help.{task.value}")
    if record.weight_kg is None:
        missing.append("weight_kg")
    vitals = record.vitals
    if vitals is None or is_stale(vitals.at or record.assessed_at, policy, now):
        missing.append("vitals")
    missing += [name for name in ("fall_risk", "assessed_at", "assessed_by") if getattr(record, name) is None]
    return (*missing, "weight_bearing") if not record.weight_bearing else tuple(missing)
