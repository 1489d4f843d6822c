"""Invented beds, people and units for the day plan, and a second opinion on every rule a plan must keep."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import combinations

from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.words import Equipment, Level, Task
from mobicard.hands.moves_asked import BedNeed
from mobicard.hands.schedule import DayPlan, Move, Placed
from mobicard.hands.supply import OnDuty, Span, Supply, Unit
from mobicard.rules.policy import Policy
from mobicard.rules.policy_hands import HandsPolicy

START = datetime(2026, 3, 2, 7, 0)
SHIFT = Span(START, START + timedelta(hours=12))
POLICY: HandsPolicy = Policy().hands
LIFT = Equipment.FULL_BODY_LIFT
HELPERS = {Level.SELF: 0, Level.NEARBY: 1, Level.LINK: 1, Level.TEAM: 2, Level.POWER: 2, Level.HOIST: 2}


def at(text: str) -> datetime:
    """A time of the invented day."""
    return datetime.fromisoformat(f"2026-03-02T{text}")


def policy(**changed: object) -> HandsPolicy:
    """The default policy with some figures changed."""
    return Policy(hands=changed).hands


def without_staff(supply: Supply, initials: str, since: datetime) -> Supply:
    """The supply once somebody has left."""
    gone = Span(since, since + timedelta(days=2))
    return replace(supply, staff=tuple(p.away(gone) if p.initials == initials else p for p in supply.staff))


def without_unit(supply: Supply, name: str) -> Supply:
    """The supply once a unit is out of use."""
    return replace(supply, units=tuple(unit for unit in supply.units if unit.name != name))


def plan(
    bed: str, level: Level, per_task: Mapping[Task, Level] | None = None, *, valid: datetime | None = None
) -> Plan:
    """A plan with the same level for every task but those named; helpers as HELPERS says."""
    tasks = {}
    for task in Task:
        own = (per_task or {}).get(task, level)
        lift = (LIFT,) if own is Level.HOIST else ()
        tasks[task] = TaskPlan(task, own, HELPERS.get(own), f"the way of {own.value}", lift)
    return Plan(
        bed,
        level,
        level,
        HELPERS.get(level),
        tasks,
        (),
        None,
        None,
        (),
        (),
        valid or at("19:30"),
        False,
        "TESTED",
    )


def need(bed: str, level: Level, per_task: Mapping[Task, Level] | None = None, **facts: object) -> BedNeed:
    """One bed with its record's wishes and a plan."""
    return BedNeed(Record.model_validate({"bed": bed, "weight_kg": 80, **facts}), plan(bed, level, per_task))


def person(
    initials: str, role: str = "aide", beds: Iterable[str] = (), *away: Span, on: Span = SHIFT
) -> OnDuty:
    """Somebody on duty ``on``, but for the stretches ``away``."""
    staff = OnDuty(initials, role, tuple(beds), (on,))
    for span in away:
        staff = staff.away(span)
    return staff


def lift(name: str, swl_kg: float | None = 200.0) -> Unit:
    """A full-body lift."""
    return Unit(name, LIFT, swl_kg)


def move(
    name: str, bed: str, start: str, end: str, *, helpers: int = 1, minutes: int = 8, **more: object
) -> Move:
    """One move by hand, its window as times of the invented day."""
    told: dict[str, object] = {
        "id": name,
        "bed": bed,
        "task": Task.WALK,
        "level": Level.LINK,
        "helpers": helpers,
        "equipment": (),
        "minutes": minutes,
        "earliest": at(start),
        "latest": at(end),
        "why": "test",
        "weight_kg": 80.0,
        **more,
    }
    return Move(**told)  # type: ignore[arg-type]


def broken(plan: DayPlan, supply: Supply, policy: HandsPolicy) -> list[str]:
    """Every rule the plan breaks, worked out from clock times alone; empty for a sound plan."""
    late = [item.instead for item in plan.waiting if item.instead]
    said = [f"{item.move.id} outside its window" for item in plan.placed if not _in_window(item)]
    said += [f"{item.move.id}: listed as late, but is not" for item in late if item.late_min <= 0]
    every = [*plan.placed, *late]
    said += [f"{item.move.id}: {len(item.people)} helpers" for item in every if _wrong_people(item, supply)]
    said += [text for item in every for text in _wrong_units(item, supply, policy)]
    for one, other in combinations(every, 2):
        said += clash(one, other, policy)
    return said


def _in_window(item: Placed) -> bool:
    return item.move.earliest <= item.start and item.end <= item.move.latest


def _wrong_people(item: Placed, supply: Supply) -> bool:
    staff = {one.initials: one for one in supply.staff}
    there = all(staff[name].is_there(Span(item.start, item.end)) for name in item.people)
    return len(set(item.people)) != item.move.helpers or len(item.people) != item.move.helpers or not there


def _wrong_units(item: Placed, supply: Supply, policy: HandsPolicy) -> list[str]:
    counted = [kind for kind in item.move.equipment if kind not in policy.at_bed]
    units = {unit.name: unit for unit in supply.units}
    if [units[name].kind for name in item.units] != counted:
        return [f"{item.move.id}: units {item.units} for {counted}"]
    weight = item.move.weight_kg or 0.0
    return [f"{item.move.id}: {n} too weak" for n in item.units if (units[n].swl_kg or -1.0) < weight]


def clash(one: Placed, other: Placed, policy: HandsPolicy) -> list[str]:
    """What two placements break together: a person in two places, a lift twice at once, no rest between."""
    first, then = sorted((one, other), key=lambda item: item.start)
    gap = int((then.start - first.end).total_seconds() // 60)
    said = []
    if set(one.people) & set(other.people) and gap < walk_min(one.move.bed, other.move.bed, policy):
        said.append(f"{set(one.people) & set(other.people)} in two places: {one.move.id}, {other.move.id}")
    if set(one.units) & set(other.units) and gap < policy.lift_fetch_min:
        said.append(f"{set(one.units) & set(other.units)} twice at once: {one.move.id}, {other.move.id}")
    if one.move.bed == other.move.bed:
        rest = policy.rest_min if one.move.rests and other.move.rests else 0
        if gap < rest:
            said.append(f"no rest between {one.move.id} and {other.move.id}")
    return said


def walk_min(here: str, there: str, policy: HandsPolicy) -> int:
    """Minutes between two beds written like "4W-12A": none in a room, near up to so many rooms, else far."""
    one, other = int(here[3:5]), int(there[3:5])
    if one == other:
        return 0
    return policy.walk_near_min if abs(one - other) <= policy.near_rooms else policy.walk_far_min


def together(placed: Sequence[Placed]) -> int:
    """The most moves of two helpers or more at one minute, counted minute by minute."""
    heavy = [item for item in placed if item.move.helpers >= 2]
    minutes = {item.start + timedelta(minutes=n) for item in heavy for n in range(item.move.minutes)}
    return max((sum(item.start <= m < item.end for item in heavy) for m in minutes), default=0)
