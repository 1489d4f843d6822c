"""The ward's clock over a daylight-saving change and after a jump back. Source: IANA tzdata, 2026."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from mobicard.derive.over_time.validity import shift_start
from mobicard.facts.words import Level
from mobicard.ledger import Ledger
from mobicard.ward import BedView, Clock, Due, Settings, Ward
from mobicard.ward.station.clock import ClockRefused
from tests.records import assessed

ZONE = "Europe/Zurich"
FORWARD = datetime(2026, 3, 29, 1, 0, tzinfo=UTC)
"""02:00 becomes 03:00 (IANA tzdata, rule EU)."""
BACK = datetime(2026, 10, 25, 1, 0, tzinfo=UTC)
"""03:00 becomes 02:00 (IANA tzdata, rule EU)."""


class Hands:
    """A clock somebody sets."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def hands() -> Hands:
    return Hands(FORWARD)


@pytest.fixture
def ward(tmp_path: Path, hands: Hands) -> Iterator[Ward]:
    """A ward in Zurich over an empty ledger; ``hands`` sets its clock."""
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        settings = Settings.found(config_dir=tmp_path / "config")
        yield Ward(ledger, settings, Clock.for_zone(ZONE, hands), by="JN", drafts=tmp_path / "drafts")


def recorded(ward: Ward) -> BedView:
    view = ward.stays.admit("5N-01")
    return ward.save(view.stay, assessed("5N-01"), view.version)


@pytest.mark.parametrize("change", [FORWARD, BACK])
def test_a_shift_begins_and_a_card_ends_by_the_wall_clock(ward: Ward, hands: Hands, change: datetime) -> None:
    """Recorded before the change, read after it: the same shift, the same end on the card."""
    hands.at = change - timedelta(minutes=90)
    before = recorded(ward)
    shift = shift_start(ward.now, ward.policy.shift)
    hands.at = change + timedelta(minutes=90)
    after = ward.bed(before.stay)
    assert shift_start(ward.now, ward.policy.shift) == shift
    assert after.plan.valid_until == before.plan.valid_until
    assert (after.plan.code, after.due) == (before.plan.code, Due.OK)
    assert before.plan.valid_until is not None
    hands.at = ward.clock.utc_of(before.plan.valid_until) + timedelta(minutes=1)
    assert ward.bed(before.stay).due is Due.OVERDUE


def test_a_move_in_the_hour_that_comes_twice_is_after_the_look_before_it(ward: Ward, hands: Hands) -> None:
    """Looked at 02:50, clocks back, moved at 02:10: the wall says before, the ledger knows after."""
    hands.at = BACK - timedelta(minutes=10)
    view = recorded(ward)
    hands.at = BACK + timedelta(minutes=10)
    assert ward.now < (view.record.assessed_at or ward.now)
    moved = ward.stays.move(view, "5N-02")
    assert moved.due_says == "reassess after the move"
    assert "moved bed since" in (ward.why_not_same(moved) or "")


def test_a_clock_set_back_hides_nothing(ward: Ward, hands: Hands) -> None:
    """The station's clock jumps back two hours: what is saved next stands; a look ahead of it is none."""
    view = recorded(ward)
    hands.at -= timedelta(hours=2)
    later = ward.save(view.stay, view.record.changed(arms="one"), view.version)
    assert ward.board()[0].record.arms == "one"
    ward.procedure(view.stay, "scan")
    assert "procedure since" in (ward.why_not_same(ward.bed(view.stay)) or "")
    assert (later.due, later.due_says, later.plan.shown_level) == (
        Due.OVERDUE,
        "ahead of the clock",
        Level.REMAIN,
    )
    assert [entry.kind for entry in ward.ledger.history(view.stay)] == [
        "admit",
        "record",
        "record",
        "procedure",
        "record",
    ]
    assert later.version < ward.bed(view.stay).version


def test_a_judged_level_after_a_move_is_no_look(ward: Ward, hands: Hands) -> None:
    """A record saved without looking does not clear what the move asked for; a look does."""
    view = recorded(ward)
    hands.at += timedelta(minutes=10)
    moved = ward.stays.move(view, "5N-02")
    judged = ward.override(moved, moved.plan.level, "as tried yesterday")
    assert judged.due_says == "reassess after the move"
    assert "moved bed since" in (ward.why_not_same(judged) or "")
    seen = ward.save(view.stay, ward.assessed_now(judged.record), judged.version)
    assert seen.due is Due.OK


@pytest.mark.parametrize(
    ("zone", "says"),
    [
        ("Mars/Olympus", "is none it knows"),
        (":Mars/Olympus", "is none it knows"),
        ("Zurich", "is none it knows"),
        ("../../etc/passwd", "is none it knows"),
        ("XYZ-25", "a day or more from UTC"),
    ],
)
def test_a_machine_in_no_zone_is_refused(zone: str, says: str, machine_in: Callable[[str], None]) -> None:
    """The system would take it for UTC without a word, and every card would hold until the wrong hour."""
    machine_in(zone)
    with pytest.raises(ClockRefused) as refused:
        Clock.for_zone(None)
    assert says in refused.value.says
    assert "shift.timezone" in refused.value.says


@pytest.mark.parametrize(
    "zone", ["", "UTC", ZONE, f":{ZONE}", "CET-1CEST,M3.5.0/2,M10.5.0/3", "<+0330>-3:30", ":/etc/localtime"]
)
def test_every_zone_the_system_knows_is_taken(zone: str, machine_in: Callable[[str], None]) -> None:
    """A name, a file, or a rule written out: POSIX.1, section 8.3."""
    if zone.startswith(":/") and not Path(zone[1:]).exists():
        pytest.skip("this machine has no zone of its own")
    machine_in(zone)
    assert Clock.for_zone(None).now().year >= 2026


def test_the_facilitys_zone_stands_in_for_the_machines(machine_in: Callable[[str], None]) -> None:
    machine_in("Mars/Olympus")
    assert Clock.for_zone(ZONE, Hands(FORWARD)).now() == datetime(2026, 3, 29, 3, 0)


@pytest.fixture
def machine_in(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Put the machine into a zone, as its TZ says it."""

    def put(zone: str) -> None:
        monkeypatch.setenv("TZ", zone)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()
