"""The reader's use case: gathering every bed's now, before and course for the handoff."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import datetime

from mobicard.derive import plan_for
from mobicard.derive.over_time.handoff import build_handoff
from mobicard.derive.over_time.handoff_values import BedShift, Handoff
from mobicard.facts import RecordRefused, read_record
from mobicard.facts.words import Level
from mobicard.hands.ticks import GoalProgress, progress, ticks_of
from mobicard.ward.beds import Beds
from mobicard.ward.reader.since import away_since
from mobicard.ward.views import BedView, Door

ASSESSING = ("record", "same", "correct")


def handoff_of(beds: Beds, assignment: str | None, since: datetime | None = None) -> Handoff:
    """The handoff of the unit, or of one assignment, at the ward's time now, compared with ``since``."""
    now = beds.now
    start = since or away_since(beds, assignment)
    views = beds.board(start)
    shown = {view.stay for view in views if assignment is None or view.assignment == assignment}
    courses = levels_over_stay(beds, shown)
    shifts = [
        _bed_shift(view, courses.get(view.stay, ()), progress(view.record, ticks_of(view.ticks), start))
        for view in views
    ]
    return build_handoff(shifts, now, beds.policy, assignment, since=start)


def levels_over_stay(beds: Beds, stays: Collection[str]) -> Mapping[str, tuple[tuple[datetime, Level], ...]]:
    """Level at each assessment of these stays, oldest first."""
    courses: dict[str, list[tuple[datetime, Level]]] = defaultdict(list)
    for entry in beds.ledger.of_kinds(stays, ASSESSING):
        facts = entry.body.get("record")
        if not isinstance(facts, Mapping):
            continue
        try:
            record = read_record(facts)
        except RecordRefused:
            continue
        at = beds.clock.ward_time(entry.at)
        plan = plan_for(record, beds.policy, at, beds.settings.inventory)
        courses[entry.stay].append((at, plan.last_known.level if plan.last_known else plan.level))
    return {stay: tuple(course) for stay, course in courses.items()}


def _bed_shift(
    view: BedView, course: tuple[tuple[datetime, Level], ...], goals: tuple[GoalProgress, ...]
) -> BedShift:
    return BedShift(
        bed=view.bed,
        stay=view.stay,
        record=view.record,
        plan=view.plan,
        before=view.before,
        history=course,
        assignment=view.assignment,
        door_ok=view.door is Door.CURRENT,
        goals_done={goal.task: goal.done for goal in goals},
        goals_say={goal.task: goal.says for goal in goals},
    )
