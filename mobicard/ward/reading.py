"""The reader's use case: gathering every bed's now, before and course for the handoff."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from mobicard.derive import plan_for
from mobicard.derive.handoff import BedShift, Handoff, build_handoff
from mobicard.facts import RecordRefused, read_record
from mobicard.facts.words import Level, Task
from mobicard.ward.shifts import shift_start
from mobicard.ward.views import BedView, Door

if TYPE_CHECKING:
    from mobicard.ward.ward import Ward

ASSESSING = ("record", "same", "correct")


def handoff_of(ward: Ward, assignment: str | None) -> Handoff:
    """The handoff of the unit, or of one assignment, at the ward's time now."""
    now = ward.now
    views = ward.board()
    courses = levels_over_stay(ward)
    shifts = [_bed_shift(view, courses.get(view.stay, ()), goals_done(view, now, ward)) for view in views]
    return build_handoff(shifts, now, ward.policy, assignment)


def levels_over_stay(ward: Ward) -> Mapping[str, tuple[tuple[datetime, Level], ...]]:
    """Each stay's level at each of its assessments, oldest first, in one pass over the ledger."""
    courses: dict[str, list[tuple[datetime, Level]]] = defaultdict(list)
    for entry in ward.ledger.entries(kinds=ASSESSING):
        facts = entry.body.get("record")
        if not isinstance(facts, Mapping):
            continue
        try:
            record = read_record(facts)
        except RecordRefused:
            continue
        at = ward.clock.ward_time(entry.at)
        courses[entry.stay].append((at, plan_for(record, ward.policy, at, ward.settings.inventory).level))
    return {stay: tuple(course) for stay, course in courses.items()}


def goals_done(view: BedView, now: datetime, ward: Ward) -> dict[Task, int]:
    """Moves ticked as reached this shift, by task."""
    start = shift_start(now, ward.policy.shift)
    done: Counter[Task] = Counter()
    for tick in view.ticks:
        at = tick.get("at")
        moment = ward.clock.ward_time(at) if isinstance(at, datetime) else None
        if tick.get("outcome") == "reached" and (moment is None or moment >= start):
            done[Task(str(tick["task"]))] += 1
    return dict(done)


def _bed_shift(view: BedView, course: tuple[tuple[datetime, Level], ...], done: dict[Task, int]) -> BedShift:
    return BedShift(
        bed=view.bed,
        stay=view.stay,
        record=view.record,
        plan=view.plan,
        before=view.before,
        history=course,
        assignment=view.assignment,
        door_ok=view.door is Door.CURRENT,
        goals_done=done,
    )
