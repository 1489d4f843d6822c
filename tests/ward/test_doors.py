"""The clerk's use cases: which doors no longer match, what hangs, and what a code stands for."""

from __future__ import annotations

from datetime import datetime

import pytest

from mobicard.ward import BedView, Clock, Door, Ward, WardRefused
from tests.records import assessed


def recorded(ward: Ward, bed: str) -> BedView:
    """A bed with an assessment, its door still bare."""
    view = ward.stays.admit(bed)
    return ward.save(view.stay, assessed(bed), view.version)


def test_a_new_patient_has_no_card_and_a_printed_one_hangs_only_when_said(ward: Ward) -> None:
    """Printing is not hanging: the door counts as current once the clerk says so."""
    recorded(ward, "5N-01")
    jobs = ward.doors.jobs()
    assert [(job.bed, job.take_down) for job in jobs] == [("5N-01", None)]
    ward.doors.prepare(jobs)
    assert ward.board()[0].door is Door.PREPARED
    ward.doors.confirm_hung(ward.doors.batch())
    assert ward.board()[0].door is Door.CURRENT
    assert ward.doors.jobs() == []


def test_only_the_door_that_no_longer_matches_is_printed_again(ward: Ward) -> None:
    """One changed fact, one door; the slip names what comes down."""
    first, second = recorded(ward, "5N-01"), recorded(ward, "5N-02")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.save(second.stay, second.record.changed(standing="supported"), second.version)
    jobs = ward.doors.jobs()
    assert [(job.bed, job.take_down) for job in jobs] == [("5N-02", second.plan.code)]
    assert ward.doors.check(first.plan.code).state == "current"


def test_a_card_of_an_older_plan_is_never_confirmed(ward: Ward) -> None:
    """A plan that changed between printing and hanging: the clerk is told to print again."""
    view = recorded(ward, "5N-03")
    ward.doors.prepare(ward.doors.jobs())
    batch = ward.doors.batch()
    ward.save(view.stay, view.record.changed(standing="unable"), view.version)
    with pytest.raises(WardRefused, match="print it again"):
        ward.doors.confirm_hung(batch)


def test_a_card_outlives_its_stay_only_until_the_clerk_takes_it_down(ward: Ward) -> None:
    """After a discharge the old card is on the list to come down, and its code says so."""
    view = recorded(ward, "5N-04")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.stays.discharge(view)
    jobs = ward.doors.jobs()
    assert [(job.bed, job.take_down, job.hang) for job in jobs] == [("5N-04", view.plan.code, None)]
    assert ward.doors.check(view.plan.code).state == "replaced"
    ward.doors.confirm_hung(jobs)
    assert ward.doors.jobs() == []


def test_check_says_when_and_by_what_a_card_was_replaced(ward: Ward) -> None:
    """A replaced code names the time and the code that holds now; a made-up one is unknown."""
    view = recorded(ward, "5N-05")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.clock = Clock.fixed(datetime(2026, 3, 2, 9, 30))
    after = ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    answer = ward.doors.check(view.plan.code.lower())
    assert (answer.state, answer.at, answer.by_code) == (
        "replaced",
        datetime(2026, 3, 2, 9, 30),
        after.plan.code,
    )
    assert ward.doors.check("ZZZZZZ").state == "unknown"


def test_an_expired_card_is_a_door_that_no_longer_matches(ward: Ward) -> None:
    """Nobody looked since the shift ended: the door says something nobody stands behind."""
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.clock = Clock.fixed(datetime(2026, 3, 2, 19, 31))
    assert [job.bed for job in ward.doors.jobs()] == ["5N-06"]
    answer = ward.doors.check(view.plan.code)
    assert (answer.state, answer.at) == ("replaced", datetime(2026, 3, 2, 19, 30))


def test_the_card_of_one_who_moved_comes_down_from_the_door_it_hangs_on(ward: Ward) -> None:
    """After a move the old card still hangs on the old door: the clerk is sent there, not to the new bed."""
    view = recorded(ward, "5N-01")
    ward.doors.confirm_hung(ward.doors.jobs())
    moved = ward.stays.move(view, "5N-09")
    (job,) = ward.doors.jobs()
    assert (job.bed, job.hang, job.take_down, job.take_down_at) == (
        "5N-09",
        moved.plan.code,
        view.plan.code,
        "5N-01",
    )
    assert "from the door of 5N-01" in job.says
    ward.doors.confirm_hung([job])
    assert ward.doors.jobs() == []
    down = [entry for entry in ward.ledger.entries(kinds=["taken_down"]) if entry.stay == view.stay]
    assert [entry.body["bed"] for entry in down] == ["5N-01"]
