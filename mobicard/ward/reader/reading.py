"""The reader's use case: gathering every bed's now, before and course for the handoff."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime

from mobicard.derive.over_time.handoff import build_handoff
from mobicard.derive.over_time.handoff_values import BedShift, Handoff, Question
from mobicard.derive.plan import level_then
from mobicard.facts import RecordRefused, read_record
from mobicard.facts.text import without_controls
from mobicard.facts.words import Level, Task
from mobicard.hands.ticks import GoalProgress, HowFar, Went, progress, ticks_of
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
    asked = open_questions(beds, shown)
    shifts = [
        replace(
            _bed_shift(view, courses.get(view.stay, ()), progress(view.record, ticks_of(view.ticks), start)),
            turned_at=_turned_at(beds, view),
            questions=asked.get(view.stay, ()),
        )
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
        courses[entry.stay].append((at, level_then(record, beds.policy, at, beds.settings.inventory)))
    return {stay: tuple(course) for stay, course in courses.items()}


def open_questions(beds: Beds, stays: Collection[str]) -> Mapping[str, tuple[Question, ...]]:
    """The questions left open at these stays, oldest first: each stands until somebody settles it."""
    asked: dict[str, dict[int, Question]] = defaultdict(dict)
    for entry in beds.ledger.of_kinds(stays, ("tick",)):
        asked[entry.stay].pop(_number(entry.body.get("settles")), None)
        says = entry.body.get("asks")
        if isinstance(says, str) and says.strip():
            at = beds.clock.ward_time(entry.at)
            asked[entry.stay][entry.version] = Question(
                entry.version, without_controls(says)[:120], entry.by, at
            )
    return {stay: tuple(ones.values()) for stay, ones in asked.items() if ones}


def _number(said: object) -> int:
    return said if isinstance(said, int) else 0


def _turned_at(beds: Beds, view: BedView) -> datetime | None:
    """When the patient was last turned, as ticked: a turn not done or stopped is none."""
    found = (tick.get("at") for tick in view.ticks if _turned(tick))
    times = [at for at in found if isinstance(at, datetime)]
    return beds.clock.ward_time(max(times)) if times else None


def _turned(tick: Mapping[str, object]) -> bool:
    went = tick.get("outcome") == HowFar.REACHED.value or tick.get("went") in _TURNED
    return tick.get("task") == Task.TURN.value and went


_TURNED = (Went.DONE.value, Went.MORE_HELP.value)


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
