"""What was true stays true until somebody ends it: one bed over hours, each hazard its own ending."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from mobicard.derive import Policy
from mobicard.derive.over_time.open_hazards import carried_on
from mobicard.facts import FallEvent
from mobicard.facts.words import Level, Task
from mobicard.ward import BedView, Clock, Ward, WardRefused
from tests.records import assessed

MORNING = datetime(2026, 3, 2, 7, 10)
DROP = {"lying": {"sbp": 120, "dbp": 80}, "standing_1min": {"sbp": 96, "dbp": 66}}
HELD = {"lying": {"sbp": 120, "dbp": 80}, "standing_1min": {"sbp": 118, "dbp": 79}}
LYING = {"lying": {"sbp": 118, "dbp": 79}}


def at(ward: Ward, moment: datetime) -> None:
    """Move the ward's clock."""
    ward.clock = Clock.fixed(moment)


def taken_in(ward: Ward, **facts: object) -> BedView:
    """A patient who does everything alone, looked at in the morning."""
    at(ward, MORNING)
    view = ward.stays.admit("5N-01")
    record = assessed("5N-01", assessed_at=MORNING, assessed_by="JN", **facts)
    return ward.save(view.stay, record, view.version)


def looked_at(ward: Ward, view: BedView, moment: datetime, **facts: object) -> BedView:
    """Assessed again from nothing, as from a form or a file that says only this."""
    at(ward, moment)
    record = assessed("5N-01", assessed_at=moment, assessed_by="AB", **facts)
    return ward.save(view.stay, record, ward.bed(view.stay).version)


# -- The handoff is read by somebody who was away ---------------------------------------------------------


@pytest.mark.parametrize(
    ("clock", "there"), [("06:20", True), ("06:45", True), ("07:10", True), ("07:30", False)]
)
def test_the_night_is_in_the_handoff_until_the_day_has_begun(ward: Ward, clock: str, there: bool) -> None:
    """A change at 03:10; the day begins at 07:00 and its handoff is over at 07:30."""
    evening = datetime(2026, 3, 2, 18, 40)
    view = taken_in(ward)
    view = looked_at(ward, view, evening)
    view = looked_at(ward, view, datetime(2026, 3, 3, 3, 10), standing="unable", stepping="unable")
    hour, minute = map(int, clock.split(":"))
    at(ward, datetime(2026, 3, 3, hour, minute))
    assert bool(ward.handoff().changed) is there


# -- A fall -----------------------------------------------------------------------------------------------


FALL = FallEvent(at=datetime(2026, 3, 2, 7, 40), head_strike="yes", anticoagulated="yes", witnessed=True,
                 neck_pain="no", injury="none")  # fmt: skip


@pytest.mark.parametrize("cleared", [True, False])
def test_looking_at_the_legs_does_not_end_a_fall(ward: Ward, cleared: bool) -> None:
    """Fell 07:40, head struck, on a blood thinner; cleared 08:00 or not; assessed 08:05; never up."""
    view = taken_in(ward)
    at(ward, datetime(2026, 3, 2, 7, 45))
    view = ward.fell(view.stay, FALL, view.version)
    if cleared:
        facts = {"cleared_by": "Dr NN", "cleared_at": datetime(2026, 3, 2, 8, 0)}
        at(ward, datetime(2026, 3, 2, 8, 0))
        view = ward.fell(view.stay, FALL.model_copy(update=facts), view.version)
    view = looked_at(ward, view, datetime(2026, 3, 2, 8, 5))
    assert view.plan.after_fall is not None
    levels = {task: one.level for task, one in view.plan.tasks.items() if task is not Task.FLOOR}
    assert set(levels.values()) == {Level.REMAIN}
    assert any("neuro" in step.lower() for step in view.plan.after_fall.steps)


def test_a_fall_ends_once_up_and_looked_at_after_that(ward: Ward) -> None:
    """Up at 08:10: a look before that ends nothing, one after it does."""
    view = taken_in(ward)
    facts = {
        "cleared_by": "Dr NN",
        "cleared_at": datetime(2026, 3, 2, 8, 0),
        "up_at": datetime(2026, 3, 2, 8, 10),
    }
    at(ward, datetime(2026, 3, 2, 8, 10))
    view = ward.fell(view.stay, FALL.model_copy(update=facts), view.version)
    early = looked_at(ward, view, datetime(2026, 3, 2, 8, 9))
    assert early.plan.after_fall is not None
    assert early.plan.level is Level.REMAIN
    late = looked_at(ward, view, datetime(2026, 3, 2, 8, 20))
    assert late.plan.after_fall is None
    assert late.plan.level is Level.SELF


def test_a_record_that_says_nothing_of_the_fall_keeps_it(ward: Ward) -> None:
    """Two looks later the fall nobody got up from is still there, with its hour."""
    view = taken_in(ward)
    at(ward, datetime(2026, 3, 2, 7, 45))
    view = ward.fell(view.stay, FALL, view.version)
    for hours in (1, 14):
        view = looked_at(ward, view, MORNING + timedelta(hours=hours))
        assert view.record.fall_event is not None
        assert view.record.fall_event.at == FALL.at


# -- Pressure on standing ---------------------------------------------------------------------------------


def caution(view: BedView) -> bool:
    return any(reason.rule == "vitals.pressure_drops" for reason in view.plan.tasks[Task.STAND].reasons)


def test_a_pressure_drop_outlives_its_hours_and_the_next_looks(ward: Ward) -> None:
    """24/14 at 07:10: a caution thirteen hours later, after looks without vitals, after one lying."""
    view = taken_in(ward, vitals=DROP)
    at(ward, MORNING + timedelta(hours=13))
    assert caution(ward.bed(view.stay))
    view = looked_at(ward, view, MORNING + timedelta(hours=13))
    assert caution(view)
    view = looked_at(ward, view, MORNING + timedelta(hours=25), vitals=LYING)
    assert caution(view)
    assert view.plan.orthostatic is not None
    assert "02 Mar 07:10" in view.plan.orthostatic.says
    assert "measure again" in view.plan.orthostatic.says


def test_a_normal_standing_reading_ends_the_drop(ward: Ward) -> None:
    view = taken_in(ward, vitals=DROP)
    view = looked_at(ward, view, MORNING + timedelta(hours=13))
    view = looked_at(ward, view, MORNING + timedelta(hours=14), vitals=HELD)
    assert not caution(view)
    view = looked_at(ward, view, MORNING + timedelta(hours=15))
    assert not caution(view)


# -- An operation -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("minutes", "ended"), [(0, False), (1, True)])
def test_a_look_in_the_minute_of_the_operation_is_not_after_it(minutes: int, ended: bool) -> None:
    """What the minute hides is taken as the worse: looked at before it."""
    at = datetime(2026, 3, 2, 10, 0)
    before = assessed("5N-01", assessed_at=at, operation={"at": at})
    after = assessed("5N-01", assessed_at=at + timedelta(minutes=minutes))
    assert (carried_on(before, after, Policy()).operation is None) is ended


def test_after_an_operation_the_old_level_does_not_stand(ward: Ward) -> None:
    """Noted at 10:00 for a patient who walked alone: nobody gets up, two in bed, no judgement lowers it."""
    view = taken_in(ward)
    at(ward, datetime(2026, 3, 2, 10, 0))
    view = ward.procedure(view.stay, "hip nailing")
    assert view.plan.level is Level.REMAIN
    assert view.plan.tasks[Task.TURN].helpers == 2
    with pytest.raises(WardRefused, match="operation or procedure"):
        ward.override(view, Level.SELF, "walks as before")
    again = looked_at(ward, view, datetime(2026, 3, 2, 11, 0))
    assert again.plan.level is Level.SELF
    assert again.record.operation is None


def test_time_alone_never_lowers_help(ward: Ward) -> None:
    """Every quarter of an hour for two days after the last look: no move asks for less than before."""
    view = taken_in(ward, vitals=DROP, standing="supported")
    last = dict.fromkeys(Task, 0)
    for quarter in range(0, 48 * 4):
        at(ward, MORNING + timedelta(minutes=15 * quarter))
        ranks = {task: one.level.rank for task, one in ward.bed(view.stay).plan.tasks.items()}
        assert all(ranks[task] >= last[task] for task in Task)
        last = ranks
