"""The shift handoff: what changed, what is due, who needs two or a lift, then each bed in one line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from mobicard.derive.conflicts import at_the_bed, in_the_record
from mobicard.derive.handing_over.next_due import turn_due, turn_says
from mobicard.derive.model import Plan, Reason, TaskPlan
from mobicard.derive.over_time.changes import Change, changes
from mobicard.derive.over_time.handoff_values import (
    BedLine,
    BedShift,
    ChangedBed,
    DueItem,
    GoalLine,
    GroupedChange,
    Handoff,
    ManyHands,
)
from mobicard.derive.over_time.validity import handoff_since
from mobicard.facts import Appointment
from mobicard.facts.moves import DAY, MOVES
from mobicard.facts.words import Equipment, Task
from mobicard.rules.policy import Policy

LIFTS = frozenset(
    {
        Equipment.POWERED_STANDING_AID,
        Equipment.FULL_BODY_LIFT,
        Equipment.REPOSITIONING_SLING,
        Equipment.SUPINE_SLING,
    }
)
"""Equipment that has to be found and brought before the move starts."""


_Due = tuple[str, str, datetime | None, bool]
"""Kind, sentence, time, late: what beds have in common where they are due the same thing."""


def build_handoff(
    beds: Sequence[BedShift],
    now: datetime,
    policy: Policy,
    scope: str | None = None,
    since: datetime | None = None,
) -> Handoff:
    """The handoff of the unit, or of one assignment, at ``now``; beds keep the order they come in.

    ``since`` is the time the beds' ``before`` stood at: the start of the shift that is ending, if None.
    """
    chosen = [bed for bed in beds if scope is None or bed.assignment == scope]
    return Handoff(
        scope=scope,
        at=now,
        since=since or handoff_since(now, policy.shift),
        holds_until=_holds_until(chosen),
        changed=_changed(chosen),
        due=_due(chosen, now, policy),
        demands=_demands(chosen),
        beds=tuple(_line(bed) for bed in chosen),
        unassigned=tuple(bed.bed for bed in beds if bed.assignment is None) if scope is not None else (),
    )


def _holds_until(beds: Iterable[BedShift]) -> datetime | None:
    times = [bed.plan.valid_until for bed in beds if bed.plan.valid_until and not bed.plan.expired]
    return min(times, default=None)


def _changed(beds: Iterable[BedShift]) -> tuple[ChangedBed, ...]:
    """Beds with a new plan; those that now ask for more help come first, new beds next, eased ones last."""
    out = []
    for bed in beds:
        found = () if bed.before is None else _grouped(changes(bed.before, bed.plan))
        old = None if bed.before is None else bed.before.shown_level
        if bed.before is None or found or old is not bed.plan.shown_level:
            out.append(ChangedBed(bed.bed, bed.record.label, old, bed.plan.shown_level, found))
    return tuple(sorted(out, key=_urgency))


def _urgency(bed: ChangedBed) -> int:
    if bed.old is None:
        return 1
    if bed.new.rank > bed.old.rank or any(not change.eases for change in bed.differences):
        return 0
    return 2


_WEIGHT = {"after a fall": 0, "level": 1, "helpers": 2, "equipment": 3, "cautions": 5}
"""What is read first of a bed's differences; limits, fall risk and pressure stand between."""


def _grouped(found: Iterable[Change]) -> tuple[GroupedChange, ...]:
    """The same difference on several moves said once: more help first, the headline move before others."""
    groups: dict[tuple[str, str, str, bool], list[Change]] = {}
    for change in found:
        groups.setdefault((change.what, change.old, _new_side(change), change.eases), []).append(change)
    out = [_merged(group) for group in groups.values()]
    return tuple(sorted(out, key=_reading_order))


def _reading_order(group: GroupedChange) -> tuple[bool, int]:
    weight = _WEIGHT.get(group.what, 4)
    if Task.CHAIR in group.tasks and group.what in ("level", "helpers"):
        weight = 0  # the move the card's own level is for
    return group.eases, weight


def _new_side(change: Change) -> str:
    """The new state with the equipment it now takes, which only the change's sentence has."""
    _, found, tools = change.says.partition(f"-> {change.new}")
    return change.new + tools if found else change.new


def _merged(group: Sequence[Change]) -> GroupedChange:
    first = next((change for change in group if change.task is Task.CHAIR), group[0])
    why: dict[str, Reason] = {}
    for change in (first, *group):
        for reason in change.why:
            why.setdefault(reason.says, reason)
    tasks = sorted((change.task for change in group if change.task), key=lambda task: task.rank)
    new, reasons = _new_side(first), tuple(why.values())
    return GroupedChange(tuple(tasks), first.what, first.old, new, first.says, reasons, first.eases)


def _due(beds: Iterable[BedShift], now: datetime, policy: Policy) -> tuple[DueItem, ...]:
    """Late things first, the gravest of them leading, then by the clock; the same for several beds is one."""
    earliest = now - timedelta(hours=policy.handoff.planned_past_h)
    grouped: dict[_Due, list[str]] = {}
    for bed in beds:
        for kind, says, at, late in _bed_due(bed, now, earliest):
            grouped.setdefault((kind, says, at, late), []).append(bed.bed)
    items = [DueItem(tuple(names), kind, says, at, late) for (kind, says, at, late), names in grouped.items()]
    return tuple(sorted(items, key=lambda item: (_gravity(item), item.at is None, item.at or now)))


OLD = timedelta(hours=24)
"""An order that has stood longer is asked about. Common practice, no source: orders are looked at daily."""

_GRAVE = (
    *("after a fall", "head observations", "assessment", "conflict", "order"),
    *("override", "planned", "turn", "question", "door card"),
)


def _gravity(item: DueItem) -> int:
    """Place among what is late; everything still to come goes by its time alone."""
    return _GRAVE.index(item.kind) if item.overdue and item.kind in _GRAVE else len(_GRAVE)


def _bed_due(bed: BedShift, now: datetime, earliest: datetime) -> Iterator[_Due]:
    plan = bed.plan
    if plan.after_fall is not None:
        yield "after a fall", plan.after_fall.says, None, True
    if plan.head_observations is not None:
        head = plan.head_observations
        yield "head observations", f"{head.gap}; {head.rest}".lstrip("; "), head.due, head.late
    yield _assessment_due(plan, now)
    if not bed.door_ok:
        yield "door card", "the door no longer matches: print and change it", None, True
    for conflict in at_the_bed(plan.conflicts):
        yield "conflict", conflict.says, None, True
    if in_the_record(plan.conflicts):
        yield "conflict", "the record disagrees with itself: see the bedside card", None, True
    for order in bed.record.orders:
        if order.until is not None or now - order.asked_at > OLD:
            yield "order", f"{order.says}: still so?", order.until, order.until is None or order.until <= now
    if plan.override is not None:
        lapses = plan.override.lapses_at
        yield "override", f"level set by {plan.override.by} lapses: assess again", lapses, lapses <= now
    for visit in bed.record.appointments:
        if visit.at >= earliest:
            yield "planned", _planned(visit, now), visit.at, visit.at < now
    yield from _intervals(bed, now)
    for asked in bed.questions:
        yield "question", f"{asked.says} ({asked.by} {asked.at:%d %b %H:%M})", None, True


def _intervals(bed: BedShift, now: datetime) -> Iterator[_Due]:
    if bed.record.turn_every_h:
        at = turn_due(bed.record.turn_every_h, bed.turned_at)
        yield "turn", turn_says(bed.record.turn_every_h, bed.turned_at), at, at is not None and at <= now
    if bed.record.toilet_every_h:
        yield "toilet", f"every {bed.record.toilet_every_h:g} h", None, False


def _planned(visit: Appointment, now: datetime) -> str:
    what = MOVES[visit.task].says + (f": {visit.note}" if visit.note else "")
    return f"{what} (done? nobody has said so)" if visit.at < now else what


def _assessment_due(plan: Plan, now: datetime) -> _Due:
    if plan.valid_until is None or plan.assessed_at is None:
        return "assessment", "not assessed yet: ask before moving", None, True
    if plan.expired and plan.assessed_at > now:
        return "assessment", "dated ahead of now: check its time, look again before moving", None, True
    if plan.expired:
        return "assessment", "out of date: look again before moving", plan.valid_until, True
    return "assessment", "next look by", plan.valid_until, False


def _demands(beds: Iterable[BedShift]) -> tuple[ManyHands, ...]:
    """Beds that need two or more people or a lift for a move of the day, most people first; expired ones out.

    Nobody stands behind an expired plan: it is in the due list instead, as overdue.
    """
    found = [_demand(bed) for bed in beds if not bed.plan.expired]
    return tuple(sorted((d for d in found if d), key=lambda d: (-d.helpers, -d.level.rank)))


def _demand(bed: BedShift) -> ManyHands | None:
    heavy = [bed.plan.tasks[task] for task in DAY if _is_heavy(bed.plan.tasks.get(task))]
    if not heavy:
        return None
    equipment = {item for plan in heavy for item in plan.equipment if item in LIFTS}
    return ManyHands(
        bed.bed,
        bed.plan.shown_level,
        max((plan.helpers or 0 for plan in heavy), default=0),
        tuple(plan.task for plan in heavy),
        tuple(sorted(equipment, key=lambda item: item.rank)),
    )


def _is_heavy(plan: TaskPlan | None) -> bool:
    if plan is None:
        return False
    return (plan.helpers or 0) >= 2 or any(item in LIFTS for item in plan.equipment)


def _line(bed: BedShift) -> BedLine:
    goals = tuple(
        GoalLine(
            goal.task,
            goal.times_per_shift,
            bed.goals_done.get(goal.task, 0),
            bed.goals_say.get(goal.task, ""),
        )
        for goal in bed.record.goals
    )
    helpers = None if bed.plan.expired else bed.plan.helpers
    return BedLine(
        bed.bed,
        bed.record.label,
        bed.assignment,
        bed.plan.shown_level,
        helpers,
        bed.plan,
        bed.record,
        goals,
        bed.history,
        bed.door_ok,
        bed.before,
        bed.turned_at,
        bed.questions,
    )
