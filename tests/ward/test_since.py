"""What changed since when: the shift that is ending, the reader's last time here, any time."""

from __future__ import annotations

from datetime import datetime

import pytest

from mobicard.derive import Policy
from mobicard.derive.over_time.validity import shift_opens
from mobicard.ward import Clock, Ward, WardRefused
from mobicard.ward.reader.since import since_of
from tests.records import assessed


def at(ward: Ward, day: int, hour: int, minute: int = 0) -> datetime:
    moment = datetime(2026, 3, day, hour, minute)
    ward.clock = Clock.fixed(moment)
    return moment


def looked(ward: Ward, by: str, **facts: object) -> None:
    """5N-01 looked at now."""
    ward.call_me(by)
    view = ward.find("5N-01") or ward.stays.admit("5N-01")
    ward.save(view.stay, assessed("5N-01", assessed_at=ward.now, assessed_by=by, **facts), view.version)


@pytest.mark.parametrize(
    ("said", "when"),
    [
        ("05:30", datetime(2026, 3, 5, 5, 30)),
        ("19:30", datetime(2026, 3, 4, 19, 30)),
        ("yesterday 05:30", datetime(2026, 3, 4, 5, 30)),
        ("2026-03-03T22:15", datetime(2026, 3, 3, 22, 15)),
    ],
)
def test_a_time_as_people_write_it(ward: Ward, said: str, when: datetime) -> None:
    at(ward, 5, 12)
    assert since_of(ward, said) == when


@pytest.mark.parametrize("said", ["soon", "25:00", "2026-03-05T12:01", "2026-02-01T12:00", ""])
def test_what_is_no_time_is_refused_in_words(ward: Ward, said: str) -> None:
    at(ward, 5, 12)
    with pytest.raises(WardRefused):
        since_of(ward, said)


def test_two_days_away(ward: Ward) -> None:
    """JN left on the 2nd at six; AB saw her legs go on the 3rd; on the 5th JN asks since her own time."""
    at(ward, 2, 8)
    looked(ward, "JN")
    left = at(ward, 2, 18)
    looked(ward, "JN")
    at(ward, 3, 10)
    looked(ward, "AB", standing="unable", stepping="unable")
    at(ward, 4, 18, 40)
    looked(ward, "AB", standing="unable", stepping="unable")
    at(ward, 5, 6, 50)
    ward.call_me("JN")
    assert ward.handoff().changed == ()
    since = since_of(ward, "last")
    assert since == left
    (changed,) = ward.handoff(since=since).changed
    assert changed.bed == "5N-01"
    assert ward.handoff(since=since).as_json()["since"] == "2026-03-02T18:00"


def test_taken_over_this_morning(ward: Ward) -> None:
    """Once the handoff is over, last is when JN took over; during it, her time before."""
    left = at(ward, 4, 18)
    looked(ward, "JN")
    taken = at(ward, 5, 7, 10)
    ward.mark_read(ward.find("5N-01").stay)
    assert since_of(ward, "last") == left
    at(ward, 5, 12)
    assert since_of(ward, "last") == taken


def test_one_who_was_never_here(ward: Ward) -> None:
    at(ward, 5, 12)
    ward.call_me("ZZ")
    with pytest.raises(WardRefused, match="ZZ has taken nothing over"):
        since_of(ward, "last")


def test_one_bed_taken_over_late_hides_nothing_of_another(ward: Ward) -> None:
    """5N-01 and 5N-02 read at 07:40; 5N-01 changes at 09:00; 5N-02 read again at 11:00: it is still told."""
    at(ward, 5, 7, 5)
    looked(ward, "AB")
    other = ward.stays.admit("5N-02")
    ward.call_me("JN")
    taken = at(ward, 5, 7, 40)
    ward.mark_read(ward.find("5N-01").stay)
    ward.mark_read(other.stay)
    at(ward, 5, 9)
    looked(ward, "AB", standing="unable", stepping="unable")
    ward.call_me("JN")
    at(ward, 5, 11)
    ward.mark_read(other.stay)
    at(ward, 5, 12)
    assert since_of(ward, "last") == taken
    assert "5N-01" in {bed.bed for bed in ward.handoff(since=taken).changed}


def test_a_time_zone_is_refused(ward: Ward) -> None:
    at(ward, 5, 12)
    with pytest.raises(WardRefused, match="the ward's own clock"):
        since_of(ward, "2026-03-05T05:30+09:00")


def test_an_old_order_is_asked_about(ward: Ward) -> None:
    """Bed rest of more than a day stands among what is due; one of this morning does not."""
    at(ward, 4, 8)
    looked(ward, "JN", precautions=["bed_rest"])
    asked = [item.says for item in ward.handoff().due if item.kind == "order"]
    assert asked == []
    at(ward, 5, 8, 1)
    (item,) = [item for item in ward.handoff().due if item.kind == "order"]
    assert item.says == "bed rest since 04 Mar 08:00: still so?"


def test_one_persons_handoff_is_since_they_were_last_here(ward: Ward) -> None:
    """JN left on the 2nd; AB saw the legs go on the 3rd: told to JN on the 5th, not to the unit."""
    at(ward, 2, 18)
    looked(ward, "JN")
    ward.assign([ward.find("5N-01").stay], "JN")
    at(ward, 3, 10)
    looked(ward, "AB", standing="unable", stepping="unable")
    at(ward, 4, 18, 40)
    looked(ward, "AB", standing="unable", stepping="unable")
    at(ward, 5, 6, 50)
    assert ward.handoff().changed == ()
    assert [bed.bed for bed in ward.handoff("JN").changed] == ["5N-01"]


def test_one_who_was_never_here_reads_since_the_ending_shift(ward: Ward) -> None:
    at(ward, 5, 6, 50)
    looked(ward, "AB")
    assert ward.handoff("ZZ").since == ward.handoff().since


@pytest.mark.parametrize(
    ("minute", "opens"), [(29, datetime(2026, 3, 4, 18, 30)), (30, datetime(2026, 3, 5, 6, 30))]
)
def test_what_is_said_in_the_lead_of_a_shift_counts_for_it(minute: int, opens: datetime) -> None:
    """The packaged policy: shifts at seven, half an hour's lead."""
    assert shift_opens(datetime(2026, 3, 5, 6, minute), Policy().shift) == opens


def test_a_question_left_open_goes_on_to_every_handoff_until_it_is_settled(ward: Ward) -> None:
    """Days later too, and neither marks the bed as read back nor counts as having taken over."""
    at(ward, 2, 8)
    looked(ward, "JN")
    stay = ward.find("5N-01").stay  # type: ignore[union-attr]
    ward.ask(stay, "which knee gave way?")
    at(ward, 5, 8)
    looked(ward, "AB")
    [line] = ward.handoff(None).beds
    assert [(one.says, one.by) for one in line.questions] == [("which knee gave way?", "JN")]
    assert ward.find("5N-01").read_by == {}  # type: ignore[union-attr]
    ward.settle(stay, line.questions[0].number)
    assert ward.handoff(None).beds[0].questions == ()


def test_a_question_of_no_words_is_refused(ward: Ward) -> None:
    at(ward, 2, 8)
    looked(ward, "JN")
    with pytest.raises(WardRefused, match="3 to 120"):
        ward.ask(ward.find("5N-01").stay, " ? ")  # type: ignore[union-attr]
