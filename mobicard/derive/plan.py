"""The plan: every rule that fires, joined task by task into the most protective outcome."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from mobicard.derive.card_code import plan_code
from mobicard.derive.conflicts import contradictions
from mobicard.derive.equipment import EquipmentCheck, Inventory, check
from mobicard.derive.fall_risk import assess
from mobicard.derive.join.floor import above, floor, why_not_lower
from mobicard.derive.join.groups import most, out_of_bed, people
from mobicard.derive.join.method import method_for
from mobicard.derive.join.most_protective import RANK, outcome
from mobicard.derive.join.override import InForce, in_force, lowered, refused
from mobicard.derive.join.reasons import Recorded, Stated
from mobicard.derive.join.what_is_true import FACTS, Common, common, for_task
from mobicard.derive.model import Conflict, FallRisk, LastKnown, Orthostatic, Plan, Reason, TaskPlan
from mobicard.derive.over_time.after_fall import after_fall
from mobicard.derive.over_time.fall_cleared import fall_conflicts
from mobicard.derive.over_time.head_timetable import head_observations
from mobicard.derive.over_time.turning import turn_interval
from mobicard.derive.over_time.validity import valid_until, wall
from mobicard.derive.vitals import START_SOURCE, is_stale, orthostatic, start_limits
from mobicard.derive.weight_bearing import limb_limits, stronger_side
from mobicard.facts import Record
from mobicard.facts.moves import IN_CHAIR, OUT_OF_BED, STANDING, UP
from mobicard.facts.record import THREE_VALUED
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Level, Task
from mobicard.rules.policy import Policy
from mobicard.rules.protocol import STANDING_AID_RULED_OUT
from mobicard.rules.words import no_rated_standing_aid, no_standing_aid, out_of_date

TASKS = tuple(Task)
RAISABLE = (*OUT_OF_BED, *IN_CHAIR, Task.FLOOR)
"""The moves an override may raise: getting up in any way; lying in bed goes on as derived."""

Tasks = dict[Task, TaskPlan]

ALSO_ASKED = (*THREE_VALUED, "weak_side")
"""What raises no level when nobody asked, and is named singly all the same."""

AHEAD = timedelta(hours=1)
"""An assessment dated further ahead than this is a slip of the pen: nobody stands behind it."""


def plan_for(record: Record, policy: Policy, now: datetime, inventory: Inventory | None = None) -> Plan:
    """The handling plan of a record at a time. ``now`` and the record's times are the ward's wall clock.

    ``inventory`` is what the unit has (the packaged one by default). Never raises for a valid Record and
    Policy: what is not known gives a plan that says "not until".
    """
    plan = plan_then(record, policy, now, inventory)
    return replace(plan, code=plan_code(plan, record, policy))


def level_then(record: Record, policy: Policy, then: datetime, inventory: Inventory | None = None) -> Level:
    """The level a plan of that time said, or last knew."""
    plan = plan_then(record, policy, then, inventory)
    return plan.last_known.level if plan.last_known else plan.level


def plan_then(record: Record, policy: Policy, then: datetime, inventory: Inventory | None = None) -> Plan:
    """The plan of a time that is over, to compare with: as ``plan_for``, but no page needs its code."""
    now = wall(then, policy)
    planner = _planner(record, policy, now, inventory)
    words, ahead, ended = planner.words, _dated_ahead(record, now), _ended(record, policy, now)
    moves = planner.ended() if ended else planner.moves(now)
    tasks, asked, until = moves.tasks, moves.asked, moves.until
    checked = _checked(tasks, record, inventory)
    slips = (*fall_conflicts(record), *_slips(record, ahead, now), *_class_changed(record, words, tasks))
    up = out_of_bed(tasks)
    return Plan(
        bed=record.bed,
        level=most(up).level,
        derived_level=moves.derived,
        helpers=people(up),
        tasks=tasks,
        weight_bearing=limb_limits(record, policy),
        fall_risk=planner.risk,
        orthostatic=planner.drop,
        conflicts=(*contradictions(record), *planner.conflicts, *moves.conflicts, *slips, *checked.conflicts),
        not_assessed=not_assessed(record, policy, now),
        valid_until=until,
        expired=until is None or ended,
        code="",
        assessed_at=record.assessed_at,
        assessed_by=record.assessed_by,
        override=asked.shown,
        after_fall=after_fall(record, words.said, tasks),
        head_observations=head_observations(record, policy, now),
        general=tuple(_general(planner, checked)),
        last_known=planner.last_known(now) if ended and not ahead else None,
        headline_task=most(up).task,
        gear=checked.gear,
    )


def why_not_judged(
    record: Record, level: Level, policy: Policy, now: datetime, inventory: Inventory | None = None
) -> str:
    """Why nobody may judge the headline move at this level now, in words; nothing where one may.

    Raising is free, above what an ended assessment said too. Lowering is refused where the record contradicts
    it, or holds no longer.
    """
    now = wall(now, policy)
    planner = _planner(record, policy, now, inventory)
    tasks = {task: planner.task(task) for task in TASKS}
    if level.rank >= most(out_of_bed(tasks)).level_rank:
        return ""
    if _ended(record, policy, now):
        return "the assessment no longer holds. Assess again first; then judge"
    return why_not_lower(level, tasks, record, planner.words, policy)


def _planner(record: Record, policy: Policy, now: datetime, inventory: Inventory | None) -> _Planner:
    risk, conflicts = assess(record, policy)
    drop = orthostatic(record, policy, now)
    words = common(record, policy, now, risk, drop, inventory)
    side, readings = stronger_side(record), start_limits(record, policy, now)
    return _Planner(record, policy, risk, conflicts, drop, words, side, Recorded(record, policy), readings)


@dataclass(frozen=True, slots=True)
class _Moves:
    """All moves as they are to be done, what the rules alone would have said, and until when."""

    tasks: Tasks
    derived: Level
    asked: InForce
    until: datetime | None
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class _Planner:
    """One record's tasks: the same words for all, each task's own help and load beside them."""

    record: Record
    policy: Policy
    risk: FallRisk | None
    conflicts: tuple[Conflict, ...]
    drop: Orthostatic | None
    words: Common
    side: str | None
    recorded: Recorded
    readings: tuple[str, ...]
    reasons: dict[Stated, Reason] = field(default_factory=dict)

    def moves(self, now: datetime) -> _Moves:
        """Every move joined, then a named person's own judgement over it."""
        record, policy = self.record, self.policy
        joined = {task: self.task(task) for task in TASKS}
        derived = most(out_of_bed(joined)).level
        until = _end(record, policy)
        asked = in_force(record, derived, until, policy, now)
        if asked.lowers and asked.shown is not None:
            why = why_not_lower(asked.shown.level, joined, record, self.words, policy)
            asked = refused(asked, derived, why) if why else asked
        joined, conflicts = self.judged(joined, asked)
        if until is not None and asked.lowers and asked.shown is not None:
            until = min(until, asked.shown.lapses_at)
        return _Moves(joined, derived, asked, until, conflicts)

    def ended(self) -> _Moves:
        """Every move once the assessment has ended: none to be done by it, and no judgement over it."""
        bit = out_of_date.bit
        words = replace(self.words, said=self.words.said | bit, worst=self.words.worst | bit)
        late = replace(self, words=words)
        tasks = {task: late.task(task) for task in TASKS}
        return _Moves(tasks, most(out_of_bed(tasks)).level, InForce(), _end(self.record, self.policy), ())

    def last_known(self, now: datetime) -> LastKnown | None:
        """What the headline move was, once it has ended: a raise counts as long as the assessment did."""
        record = self.record
        if record.assessed_at is None:
            return None
        level = self.level(None)
        asked = in_force(record, level, _end(record, self.policy), self.policy, now)
        if asked.raises_to is not None:
            level = self.level(asked.raises_to)
        return LastKnown(level, record.assessed_at, record.assessed_by)

    def level(self, raised: Level | None) -> Level:
        """The level word of the moves out of bed."""
        return most(out_of_bed({task: self.task(task, raised) for task in STANDING})).level

    def task(self, task: Task, raised: Level | None = None) -> TaskPlan:
        """One task's plan from its joined outcome."""
        now = for_task(task, self.words, self.record, self.policy, raised)
        found = outcome(task, now.said, now.worst, now.figures)
        share = None
        if now.load_lb and found.helpers and RANK[found.level] <= RANK[Level.TEAM]:
            share = now.load_lb / found.movers
        return TaskPlan(
            task=task,
            level=found.level,
            helpers=found.helpers,
            method=method_for(task, found.level, now.said, self.side, found.equipment),
            equipment=found.equipment,
            share_kg=round(kg_from_lb(share), 1) if share else None,
            share_lb=round(share, 1) if share else None,
            limit_lb=round(self.words.limit_lb, 1) if share else None,
            cautions=found.cautions,
            reasons=tuple([self._reason(stated) for stated in found.stated]),
        )

    def _reason(self, stated: Stated) -> Reason:
        """The reason, one for all the moves it is stated of."""
        if (kept := self.reasons.get(stated)) is None:
            kept = self.reasons[stated] = self._made(stated)
        return kept

    def _made(self, stated: Stated) -> Reason:
        """The reason; of a vital sign, the reading itself."""
        reason = stated.reason(self.recorded)
        if stated.rule not in ("vitals.near_limits", "vitals.outside_limits"):
            return reason
        return replace(reason, says=f"{' '.join(self.readings)} {reason.says}")

    def judged(self, tasks: Tasks, asked: InForce) -> tuple[Tasks, tuple[Conflict, ...]]:
        """The tasks under an override: those it raises joined anew, the headline move lowered."""
        if asked.raises_to is None:
            return tasks, asked.conflicts
        raised = {task: self.task(task, asked.raises_to) for task in RAISABLE}
        if not asked.lowers or asked.shown is None:
            return {**tasks, **raised}, asked.conflicts
        seen = floor(self.record, self.words, self.policy).helpers
        conflicts = []
        for move in above(tasks, asked.shown.level):
            now = for_task(move.task, self.words, self.record, self.policy, None)
            raised[move.task], conflict = lowered(move, asked.shown, now.said, self.side, seen)
            conflicts.append(conflict)
        return {**tasks, **raised}, (*asked.conflicts, *conflicts)


def _checked(tasks: Tasks, record: Record, inventory: Inventory | None) -> EquipmentCheck:
    demanded = {item for plan in tasks.values() for item in plan.equipment}
    return check(demanded, record.counted_kg, inventory)


def _general(planner: _Planner, checked: EquipmentCheck) -> Iterator[Reason]:
    """What holds for all moves: readings outside their limits, how often to turn, what equipment bears."""
    yield from _readings(planner.readings)
    yield from turn_interval(planner.record, planner.policy)
    yield from (_rated(note, planner.record) for note in checked.notes)


def _readings(told: tuple[str, ...]) -> Iterator[Reason]:
    """Each vital sign outside its limits, with its value: of all moves that lead out of bed."""
    for says in told:
        yield Reason("vitals.near_limits", says, {}, START_SOURCE)


def _rated(note: str, record: Record) -> Reason:
    weight = record.counted_kg if record.counted_kg is not None else "not recorded"
    return Reason("equipment.rating", note, {"weight_kg": weight}, "the unit's inventory; FDA, patient lifts")


def _class_changed(record: Record, words: Common, tasks: Tasks) -> tuple[Conflict, ...]:
    """Said aloud: the lift is asked for because no standing aid here is rated for the patient."""
    otherwise = words.said & ~no_rated_standing_aid.bit
    if not no_rated_standing_aid.holds(words.said) or no_standing_aid.holds(otherwise):
        return ()
    if not any(reason.rule in STANDING_AID_RULED_OUT for task in UP for reason in tasks[task].reasons):
        return ()
    if record.counted_kg is None:
        says = "Weight not recorded: no standing aid is known to bear it, so planned for the lift; "
        says += "weigh, or judge it by eye."
    else:
        of = both_masses(record.counted_kg)
        says = f"No powered standing aid on the unit is rated for {of}: planned for the lift; "
        says += "ask for one if standing is wanted."
    return (Conflict(says, ("weight_kg", "inventory")),)


def _end(record: Record, policy: Policy) -> datetime | None:
    return valid_until(record.assessed_at, policy) if record.assessed_at else None


def _ended(record: Record, policy: Policy, now: datetime) -> bool:
    """Whether the assessment holds no longer, or is dated ahead; one without a time cannot end."""
    end = _end(record, policy)
    return end is not None and (now > end or _dated_ahead(record, now))


def _dated_ahead(record: Record, now: datetime) -> bool:
    return record.assessed_at is not None and record.assessed_at > now + AHEAD


def _slips(record: Record, ahead: bool, now: datetime) -> tuple[Conflict, ...]:
    """Times that cannot be yet: a slip of the pen, said so that somebody puts it right."""
    found = []
    if ahead:
        says = "The assessment is dated ahead of now: check its date and time."
        found.append(Conflict(says, ("assessed_at",)))
    fall = record.fall_event
    for name in ("at", "cleared_at", "up_at") if fall else ():
        moment = getattr(fall, name)
        if moment is not None and moment > now + AHEAD:
            says = f"After the fall: {name} is ahead of now, so it does not count yet; check the time."
            found.append(Conflict(says, (f"fall_event.{name}",)))
    return tuple(found)


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
    if record.counted_kg is None:
        missing.append("weight_kg")
    vitals = record.vitals
    if vitals is None or is_stale(vitals.at or record.assessed_at, policy, now):
        missing.append("vitals")
    missing += [name for name in ("fall_risk", "assessed_at", "assessed_by") if getattr(record, name) is None]
    missing += [fact for fact in ALSO_ASKED if not record.asked(fact)]
    return tuple(missing)
