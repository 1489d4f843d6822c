"""The last save taken back: by who made it, for ten minutes, as a correction that says so."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from mobicard.facts import FallEvent
from mobicard.facts.words import Level
from mobicard.ward import BedView, Clock, Ward, WardRefused
from mobicard.ward.reader.audit import audit
from mobicard.ward.undo import last_save, take_back
from tests.records import assessed

AT = datetime(2026, 3, 2, 8, 0)


def at(ward: Ward, minutes: float) -> None:
    ward.clock = Clock.fixed(AT + timedelta(minutes=minutes))


def saved(ward: Ward, **facts: object) -> BedView:
    """5N-01 as looked at now by who is at the station."""
    view = ward.find("5N-01") or ward.stays.admit("5N-01")
    record = assessed("5N-01", assessed_at=ward.now, assessed_by=ward.by, **facts)
    return ward.save(view.stay, record, view.version)


def test_what_stood_before_stands_again(ward: Ward) -> None:
    first = saved(ward)
    at(ward, 5)
    wrong = saved(ward, standing="unable")
    assert wrong.plan.level is not Level.SELF
    view = take_back(ward, last_save(ward))
    assert view.record == first.record
    last = ward.ledger.history(view.stay)[-1]
    assert (last.kind, last.by) == ("correct", "JN")
    assert "taken back by JN" in last.body["why"]


@pytest.mark.parametrize(("minutes", "still"), [(10, True), (10.1, False)])
def test_for_ten_minutes(ward: Ward, minutes: float, still: bool) -> None:
    """House value, common practice, no source; both sides."""
    saved(ward)
    at(ward, minutes)
    if still:
        assert not take_back(ward, last_save(ward)).assessed
    else:
        with pytest.raises(WardRefused, match="in the last 10 minutes"):
            last_save(ward)


def test_not_what_somebody_else_has_changed_since(ward: Ward) -> None:
    saved(ward)
    ward.call_me("AB")
    saved(ward, standing="supported")
    ward.call_me("JN")
    with pytest.raises(WardRefused, match="AB has changed 5N-01 since"):
        last_save(ward)


def test_not_twice(ward: Ward) -> None:
    saved(ward)
    take_back(ward, last_save(ward))
    with pytest.raises(WardRefused, match="taken back already"):
        last_save(ward)


@pytest.mark.parametrize("what", ["fall", "operation"])
def test_a_fall_or_an_operation_noted_at_the_wrong_bed(ward: Ward, what: str) -> None:
    """Both entries of it go: the hazard is not carried on by the record saved with it."""
    first = saved(ward)
    at(ward, 3)
    if what == "fall":
        ward.fell(first.stay, FallEvent(at=AT), first.version)
    else:
        ward.procedure(first.stay, "hip nailing")
    assert ward.bed(first.stay).plan.level is Level.REMAIN
    view = take_back(ward, last_save(ward))
    assert (view.record.fall_event, view.record.operation) == (None, None)
    assert view.unseen_since == frozenset()
    assert view.plan.level is Level.SELF


def test_not_the_one_before_a_save_that_is_still_held(ward: Ward) -> None:
    view = saved(ward)
    ward.offline.outbox.hold([ward.entry(view.stay, "record", {"record": view.record.as_json()})])
    with pytest.raises(WardRefused, match="held on this station"):
        last_save(ward)


@pytest.mark.parametrize(("minutes", "still"), [(-10, True), (-10.1, False)])
def test_a_clock_set_back_gives_no_more_than_ten_minutes(ward: Ward, minutes: float, still: bool) -> None:
    saved(ward)
    at(ward, minutes)
    if still:
        assert last_save(ward).at == AT
    else:
        with pytest.raises(WardRefused, match="in the last 10 minutes"):
            last_save(ward)


def test_a_judgement_taken_back_is_a_correction_in_the_audit(ward: Ward) -> None:
    view = saved(ward)
    ward.override(view, Level.TEAM, "sleepy after the night")
    assert audit(ward)[-1].did == "overrode"
    take_back(ward, last_save(ward))
    assert audit(ward)[-1].did == "corrected"
