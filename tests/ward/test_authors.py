"""The author on a card is the person signed in, whatever a record that comes in says of itself."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import pytest

from mobicard.facts import Record
from mobicard.facts.words import Level
from mobicard.ledger import NewEntry
from mobicard.ledger.staff import people
from mobicard.ward import Clock, Ward, WardRefused
from mobicard.ward.reader.audit import audit
from tests.conftest import MORNING
from tests.ledger.places import CHEAP, START
from tests.records import assessed

PINS = {"KP": "8402", "JN": "7193", "AB": "5086"}


@pytest.fixture
def staffed(ward: Ward, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], Ward]:
    """The ward with a staff list; gives it with somebody signed in."""
    monkeypatch.setattr(people, "COST", CHEAP)
    ward.ledger.staff.add("KP", "keeper", PINS["KP"], "KP", START)
    ward.sign_in("KP", PINS["KP"])
    for who in ("JN", "AB"):
        ward.ledger.staff.add(who, "nurse", PINS[who], "KP", START)

    def signed_in(who: str) -> Ward:
        ward.sign_in(who, PINS[who])
        return ward

    return signed_in


def look(bed: str, by: str, at: datetime = MORNING) -> Record:
    return assessed(bed, assessed_at=at, assessed_by=by)


def test_nobody_records_in_anothers_name(staffed: Callable[[str], Ward]) -> None:
    ward = staffed("JN")
    view = ward.stays.admit("5N-01", "RA")
    with pytest.raises(WardRefused, match="signed in as JN, and this says it was seen or judged by AB"):
        ward.save(view.stay, look("5N-01", "AB"), view.version)
    assert ward.save(view.stay, look("5N-01", "JN"), view.version).plan.assessed_by == "JN"


def test_nor_tells_a_late_look_of_anothers(staffed: Callable[[str], Ward]) -> None:
    ward = staffed("JN")
    view = ward.stays.admit("5N-01", "RA")
    seen = ward.save(view.stay, look("5N-01", "JN"), view.version)
    with pytest.raises(WardRefused, match="by AB"):
        ward.save(view.stay, look("5N-01", "AB", datetime(2026, 3, 2, 6, 0)), seen.version)


def test_nor_judges_in_it(staffed: Callable[[str], Ward]) -> None:
    ward = staffed("JN")
    view = ward.stays.admit("5N-01", "RA")
    over = {"level": "TEAM", "reason": "slipped twice", "by": "DR", "at": MORNING}
    with pytest.raises(WardRefused, match="by DR"):
        ward.save(view.stay, look("5N-01", "JN").changed(override=over), view.version)


def test_what_another_saw_and_judged_stands_under_their_name(staffed: Callable[[str], Ward]) -> None:
    """A judgement, an order or a correction over another's look takes nobody's name away."""
    ward = staffed("JN")
    view = ward.stays.admit("5N-01", "RA")
    seen = ward.save(view.stay, look("5N-01", "JN"), view.version)
    ward = staffed("AB")
    judged = ward.override(seen, Level.TEAM, "slipped twice")
    assert (judged.plan.assessed_by, judged.record.override.by) == ("JN", "AB")
    ward = staffed("JN")
    noted = ward.procedure(view.stay, "hip nailing")
    last = ward.ledger.history(view.stay)[-2].version
    assert ward.correct(view.stay, last, seen.record, "wrong bed", noted.version).plan.assessed_by == "JN"


def test_without_a_staff_list_initials_are_what_somebody_says(ward: Ward) -> None:
    ward.clock = Clock.fixed(MORNING)
    view = ward.stays.admit("5N-01", "RA")
    assert ward.save(view.stay, look("5N-01", "AB"), view.version).plan.assessed_by == "AB"


def test_a_time_made_up_past_the_program_is_in_the_audit(ward: Ward) -> None:
    """Whoever writes into the file or with by hand tells any time; the ledger's clock is kept."""
    view = ward.stays.admit("5N-01", "RA")
    assert audit(ward)[-1].says == "", "a clock that was told another time says so itself"
    ward.clock = Clock.for_zone("UTC")
    ward.append(NewEntry(view.stay, "seen", datetime(2019, 1, 1, 8, 0, tzinfo=UTC), "JN"))
    (line,) = [one for one in audit(ward) if one.did == "saw"]
    assert line.at.year == 2019
    assert line.received is not None
    assert line.says == f"received {line.received:%d %b %Y %H:%M}"
    assert abs(line.received - datetime.now(UTC).replace(tzinfo=None)) < timedelta(minutes=5)
