"""Late, double, backwards: an older look is history; when it happened and when it was known are kept."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from mobicard.facts.words import Level, Precaution
from mobicard.ward import BedView, Clock, Ward
from mobicard.ward.reader.audit import audit
from tests.records import assessed

EIGHT = datetime(2026, 3, 2, 8, 0)


def at(ward: Ward, minutes: float) -> datetime:
    moment = EIGHT + timedelta(minutes=minutes)
    ward.clock = Clock.fixed(moment)
    return moment


def told(ward: Ward, seen: datetime, **facts: object) -> BedView:
    """A look of ``seen``, told now by who saw the present record."""
    view = ward.find("5N-01") or ward.stays.admit("5N-01")
    return ward.save(view.stay, assessed("5N-01", assessed_at=seen, assessed_by="AB", **facts), view.version)


def test_an_older_look_is_history(ward: Ward) -> None:
    """Looked at 08:00: cannot stand. At 08:20 a look of 07:30 comes in: steady. The newer one stands."""
    at(ward, 0)
    told(ward, EIGHT, standing="unable", stepping="unable")
    received = at(ward, 20)
    view = told(ward, EIGHT - timedelta(minutes=30))
    assert view.record.assessed_at == EIGHT
    assert view.plan.level is not Level.SELF
    entry = ward.ledger.history(view.stay)[-1]
    assert entry.body["late"]["assessed_at"] == "2026-03-02T07:30:00"
    assert ward.clock.ward_time(entry.at) == received
    assert audit(ward, "5N-01")[-1].says == "told late: a look of 2026-03-02T07:30:00"


def test_a_hazard_told_late_is_carried_on(ward: Ward) -> None:
    """The newer look said nothing of the bed rest that the older one knew of."""
    at(ward, 0)
    told(ward, EIGHT)
    at(ward, 20)
    view = told(ward, EIGHT - timedelta(minutes=30), precautions=["bed_rest"])
    assert view.record.precautions == (Precaution.BED_REST,)
    assert view.plan.level is Level.REMAIN


def test_the_same_look_told_twice_changes_nothing(ward: Ward) -> None:
    at(ward, 0)
    first = told(ward, EIGHT, standing="supported")
    at(ward, 5)
    again = told(ward, EIGHT, standing="supported")
    assert again.record == first.record
    assert again.plan == first.plan


def test_a_clock_set_back_is_in_the_audit(ward: Ward) -> None:
    """An entry at 08:00, the next one says 07:00: both sides of a minute."""
    at(ward, 0)
    told(ward, EIGHT)
    at(ward, -1)
    ward.mark_read(ward.board()[0].stay)
    assert "set back" not in audit(ward)[-1].says
    at(ward, -60)
    ward.mark_read(ward.board()[0].stay)
    assert audit(ward)[-1].says == "the clock was set back"


def test_a_look_made_now_is_the_present_though_the_wall_clock_went_back(ward: Ward) -> None:
    """25 Oct 2026, Zurich: at 02:50 summer time steady, at 02:15 winter time (25 minutes on) cannot stand.

    Source of the day and hour: IANA time zone database, Europe/Zurich.
    """
    zurich = ZoneInfo("Europe/Zurich")
    ward.clock = Clock(lambda: datetime(2026, 10, 25, 0, 50, tzinfo=UTC), zurich)
    view = ward.stays.admit("5N-01")
    view = ward.save(view.stay, ward.assessed_now(assessed("5N-01")), view.version)
    ward.clock = Clock(lambda: datetime(2026, 10, 25, 1, 15, tzinfo=UTC), zurich)
    unable = view.record.changed(standing="unable", stepping="unable")
    view = ward.save(view.stay, ward.assessed_now(unable), view.version)
    assert view.record.standing == "unable"
    assert view.late is None


def test_a_look_made_after_a_fast_clock_was_put_right_is_the_present(ward: Ward) -> None:
    """Half an hour too fast, then right again; one that is not of now is history still."""
    at(ward, 30)
    view = told(ward, EIGHT + timedelta(minutes=30))
    at(ward, 0)
    unable = view.record.changed(standing="unable", stepping="unable")
    view = ward.save(view.stay, ward.assessed_now(unable), view.version)
    assert view.record.standing == "unable"
    at(ward, 40)
    late = told(ward, EIGHT - timedelta(minutes=1))
    assert late.record.standing == "unable"
    assert "Your look of 02 Mar 07:59 is kept as history: the one of 02 Mar 08:00 is newer." in late.late_says


def test_a_told_time_stands_beside_the_machines_and_accuses_nobody_else(ward: Ward) -> None:
    """Both sides of a minute; the entry after it is by a clock that was never set back."""
    at(ward, 0)
    view = told(ward, EIGHT)
    machine = ward.clock.instant
    ward.clock = Clock.told(EIGHT + timedelta(minutes=1), machine)
    ward.mark_read(view.stay)
    assert audit(ward)[-1].says == ""
    ward.clock = Clock.told(EIGHT + timedelta(minutes=1, seconds=1), machine)
    ward.mark_read(view.stay)
    assert audit(ward)[-1].says.startswith("told another time")
    ward.clock = Clock.told(EIGHT + timedelta(days=1500), machine)
    ward.mark_read(view.stay)
    assert audit(ward)[-1].says == "told another time: the machine's was 02 Mar 2026 08:00"
    at(ward, 1)
    ward.mark_read(view.stay)
    assert audit(ward)[-1].says == ""
