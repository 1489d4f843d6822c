"""The clerk's use cases: which doors no longer match, what hangs, and what a code stands for."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from mobicard.ward import BedView, Clock, Door, Ward, WardRefused
from mobicard.ward.clerk.printing import by_doors
from mobicard.ward.station.settings import Settings
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
    assert [(job.bed, job.take_down) for job in jobs] == [("5N-02", second.door_code)]
    assert ward.doors.check(first.door_code).state == "current"


def test_a_card_of_an_older_plan_is_never_confirmed(ward: Ward) -> None:
    """A plan that changed between printing and hanging: the clerk is told to print again."""
    view = recorded(ward, "5N-03")
    ward.doors.prepare(ward.doors.jobs())
    batch = ward.doors.batch()
    ward.save(view.stay, view.record.changed(standing="unable"), view.version)
    with pytest.raises(WardRefused, match="print it again"):
        ward.doors.confirm_hung(batch)


def test_what_waits_in_the_queue_is_not_hung_without_saying_that_it_came_out(ward: Ward) -> None:
    recorded(ward, "5N-03")
    ward.doors.prepare(ward.doors.jobs(), waits=True)
    with pytest.raises(WardRefused, match="look at the printer"):
        ward.doors.batch()
    assert ward.doors.confirm_hung(ward.doors.batch(came_out=True)) == 1
    assert ward.doors.batch(came_out=True) == []


def test_one_old_card_keeps_no_other_from_being_noted(ward: Ward) -> None:
    """The batch is not refused whole: what matches hangs, what does not is named."""
    view = recorded(ward, "5N-03")
    recorded(ward, "5N-04")
    ward.doors.prepare(ward.doors.jobs())
    batch = ward.doors.batch()
    ward.save(view.stay, view.record.changed(standing="unable"), view.version)
    with pytest.raises(WardRefused, match=r"5N-03: .*; the other 1 noted as hung"):
        ward.doors.confirm_hung(batch)
    assert ward.find("5N-04").door is Door.CURRENT
    assert ward.find("5N-03").door is not Door.CURRENT


def test_of_two_clerks_at_once_the_second_is_told(ward: Ward) -> None:
    """Printed twice, noted twice: the one who comes second hears of the first."""
    recorded(ward, "5N-03")
    first, second = ward.doors.jobs(), ward.doors.jobs()
    ward.doors.prepare(first)
    assert ward.doors.meanwhile(second) == ["5N-03"]
    assert ward.doors.jobs()[0].says.endswith("(printed 02 Mar 08:00 already)")
    ward.doors.confirm_hung(first)
    with pytest.raises(WardRefused, match="5N-03: noted as hung already, by somebody else"):
        ward.doors.confirm_hung(second)


def test_two_cards_at_one_door_both_come_down(ward: Ward) -> None:
    """One patient left, one moved away: the slip names both cards for the walk to that door."""
    left, moved = recorded(ward, "5N-01"), recorded(ward, "5N-02")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.stays.discharge(left)
    ward.stays.move(moved, "5N-01")
    ward.doors.confirm_hung([job for job in ward.doors.jobs() if job.hang])
    there = ward.find("5N-01")
    ward.stays.move(there, "5N-09")
    lines = {line.bed: line.take_down for line in by_doors(ward.doors.jobs())}
    assert lines["5N-01"] == f"{left.door_code}, {there.door_code}"


def test_the_slip_goes_by_doors_after_a_swap(ward: Ward) -> None:
    """Two patients changed about: at each door one card comes down, then one goes up."""
    first, second = recorded(ward, "5N-01"), recorded(ward, "5N-02")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.stays.swap(first, second)
    now = {view.bed: view.door_code for view in ward.board()}
    lines = by_doors(ward.doors.jobs())
    assert [(line.bed, line.take_down, line.hang) for line in lines] == [
        ("5N-01", first.door_code, now["5N-01"]),
        ("5N-02", second.door_code, now["5N-02"]),
    ]


def test_a_card_outlives_its_stay_only_until_the_clerk_takes_it_down(ward: Ward) -> None:
    """After a discharge the old card is on the list to come down, and its code says so."""
    view = recorded(ward, "5N-04")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.stays.discharge(view)
    jobs = ward.doors.jobs()
    assert [(job.bed, job.take_down, job.hang) for job in jobs] == [("5N-04", view.door_code, None)]
    assert ward.doors.check(view.door_code).state == "replaced"
    ward.doors.confirm_hung(jobs)
    assert ward.doors.jobs() == []


def test_check_says_when_and_by_what_a_card_was_replaced(ward: Ward) -> None:
    """A replaced code names the time and the code that holds now; a made-up one is unknown."""
    view = recorded(ward, "5N-05")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.clock = Clock.fixed(datetime(2026, 3, 2, 9, 30))
    after = ward.save(view.stay, view.record.changed(standing="supported"), view.version)
    answer = ward.doors.check(view.door_code.lower())
    assert (answer.state, answer.at, answer.by_code) == (
        "replaced",
        datetime(2026, 3, 2, 9, 30),
        after.door_code,
    )
    assert ward.doors.check("ZZZZZZ").state == "unknown"
    assert "looked at 02 Mar 08:00 by JN" in ward.doors.check(after.door_code).says


def on(day: int, hour: int, minute: int = 0) -> Clock:
    return Clock.fixed(datetime(2026, 3, day, hour, minute))


def test_without_boxes_an_ended_card_is_a_door_that_no_longer_matches(ward: Ward, tmp_path: Path) -> None:
    """Nobody looked since the shift ended: the door says something nobody stands behind."""
    folder = tmp_path / "hourly"
    folder.mkdir()
    (folder / "policy.toml").write_text("[door]\nstrip = 0\n", encoding="utf-8")
    ward = Ward(ward.ledger, Settings.found(config_dir=folder), ward.clock, by="JN", drafts=tmp_path / "d")
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.clock = on(2, 19, 31)
    assert [job.bed for job in ward.doors.jobs()] == ["5N-06"]
    answer = ward.doors.check(view.door_code)
    assert (answer.state, answer.at) == ("replaced", datetime(2026, 3, 2, 19, 30))


def test_a_card_that_was_never_hung_is_not_said_to_be_replaced_in_the_future(ward: Ward) -> None:
    """Its boxes would have lasted two days: “replaced on 29 Nov 07:30”, on the 27th."""
    view = recorded(ward, "5N-06")
    ward.clock = on(2, 20, 30)
    answer = ward.doors.check(view.door_code)
    assert answer.state == "replaced"
    assert answer.at is None
    assert " on " not in answer.says


def test_two_quiet_shifts_print_no_door(ward: Ward) -> None:
    """Looked at again, nothing changed: the next box is initialled, nobody prints."""
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    for day, hour in ((2, 19), (3, 7)):
        ward.clock = on(day, hour, 10)
        assert ward.doors.jobs() == []
        view = ward.same_as_before(ward.bed(view.stay))
        assert ward.doors.jobs() == []


def test_late_by_an_hour_the_card_says_itself_that_it_has_ended(ward: Ward) -> None:
    """At least these people, and look first: nothing to print until somebody has looked."""
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    ward.clock = on(2, 20, 30)
    assert ward.bed(view.stay).plan.expired
    assert ward.doors.jobs() == []
    answer = ward.doors.check(view.door_code)
    assert answer.state == "current"
    assert "ended 02 Mar 19:30: at least these people, and look first" in answer.says


def test_a_full_strip_is_due_however_quiet_the_shifts(ward: Ward) -> None:
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    assert view.door_lasts == datetime(2026, 3, 4, 19, 30)
    for day, hour in ((2, 19), (3, 7), (3, 19), (4, 7), (4, 19)):
        ward.clock = on(day, hour, 10)
        view = ward.same_as_before(ward.bed(view.stay))
    assert ward.doors.jobs() == []
    ward.clock = on(4, 19, 31)
    jobs = ward.doors.jobs()
    assert [(job.hang, job.take_down) for job in jobs] == [(view.door_code, view.door_code)]
    ward.doors.prepare(jobs)
    assert ward.bed(view.stay).door is Door.PREPARED
    ward.doors.confirm_hung(ward.doors.batch())
    assert ward.doors.jobs() == []


def test_a_bedside_card_has_its_own_code_over_its_rounds_and_goals(ward: Ward) -> None:
    """A changed turn interval leaves the door as it is, and not the card at the bed."""
    view = recorded(ward, "5N-06")
    ward.doors.confirm_hung(ward.doors.jobs())
    after = ward.save(view.stay, view.record.changed(turn_every_h=2), view.version)
    assert ward.doors.jobs() == []
    assert after.plan.code != view.plan.code
    assert ward.doors.check(view.plan.code).state == "replaced"
    assert "bedside card" in ward.doors.check(after.plan.code).says


def test_a_slip_of_the_key_is_no_code_and_says_which_was_meant(ward: Ward) -> None:
    """Not “take it down”: that card may be right."""
    view = recorded(ward, "5N-06")
    code = view.door_code
    slip = ("2" if code[0] != "2" else "3") + code[1:]
    assert ward.doors.check(slip).says.endswith(f"did you mean {code} (5N-06)?")
    for typed in (
        f" {code.lower()} ",
        f"card {code}",
        f"{code[:3]}-{code[3:]}",
        f"https://ward.test/c/{code}",
    ):
        assert ward.doors.check(typed).state == "current"


def test_the_card_of_one_who_moved_comes_down_from_the_door_it_hangs_on(ward: Ward) -> None:
    """After a move the old card still hangs on the old door: the clerk is sent there, not to the new bed."""
    view = recorded(ward, "5N-01")
    ward.doors.confirm_hung(ward.doors.jobs())
    moved = ward.stays.move(view, "5N-09")
    (job,) = ward.doors.jobs()
    assert (job.bed, job.hang, job.take_down, job.take_down_at) == (
        "5N-09",
        moved.door_code,
        view.door_code,
        "5N-01",
    )
    assert "from the door of 5N-01" in job.says
    ward.doors.confirm_hung([job])
    assert ward.doors.jobs() == []
    down = [entry for entry in ward.ledger.entries(kinds=["taken_down"]) if entry.stay == view.stay]
    assert [entry.body["bed"] for entry in down] == ["5N-01"]
