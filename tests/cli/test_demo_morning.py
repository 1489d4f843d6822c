"""The invented unit at ten to seven: whoever opens it has something to do, whatever the machine's hour."""

from __future__ import annotations

import tomllib
from datetime import UTC, datetime, timedelta
from importlib.resources import files
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.cli.station import Station
from mobicard.demo.clock import clock_of, set_clock, ten_to
from mobicard.demo.morning import fill_morning
from mobicard.demo.unit import unit
from mobicard.derive import Policy
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward

SHIFT = Policy().shift


@pytest.mark.parametrize(
    ("machine", "there"),
    [
        ("2026-11-27T03:00", "2026-11-26T06:50"),
        ("2026-11-27T06:49", "2026-11-26T06:50"),
        ("2026-11-27T06:50", "2026-11-27T06:50"),
        ("2026-11-27T15:00", "2026-11-27T06:50"),
        ("2026-11-27T23:59", "2026-11-27T06:50"),
    ],
)
def test_it_is_ten_to_seven_there_whatever_the_hour_is_here(machine: str, there: str) -> None:
    assert ten_to(datetime.fromisoformat(machine), SHIFT) == datetime.fromisoformat(there)


def test_the_shifts_are_the_facilitys_own() -> None:
    shift = Policy(shift={"starts": ["15:00", "23:00", "07:30"]}).shift
    assert ten_to(datetime(2026, 11, 27, 15), shift) == datetime(2026, 11, 27, 7, 20)


@pytest.fixture
def ward(tmp_path: Path) -> Ward:
    """The unit as it stands at ten to seven."""
    now = datetime(2026, 11, 27, 6, 50)
    ward = Ward(
        Ledger.open(tmp_path / "unit.sqlite"),
        Settings.found(config_dir=tmp_path),
        Clock.fixed(now),
        demo=True,
    )
    fill_morning(ward, now)
    return ward


def test_somebody_has_something_to_do(ward: Ward) -> None:
    """Beds due, one fall in the night, one operation, one new, one passed over, some doors."""
    beds = {view.bed: view for view in ward.board()}
    told = unit()["morning"]
    assert len(beds) == 24
    assert [view.bed for view in beds.values() if view.plan.after_fall] == [told["fall"]["bed"]]
    assert [view.bed for view in beds.values() if view.procedure_at] == [told["operation"]["bed"]]
    assert beds[told["admitted"]["bed"]].recorded_at is None
    assert "overdue since" in beds["5N-19"].due_says
    due = [view for view in beds.values() if view.due == "due"]
    assert sum(view.assignment == "JN" for view in due) == 6
    assert 2 <= len(ward.doors.jobs()) <= 8


def test_no_entry_is_of_the_time_to_come(ward: Ward) -> None:
    assert max(entry.at for entry in ward.ledger.entries()) <= ward.clock.utc()


def test_who_looked_is_on_the_duty_list_of_that_hour(ward: Ward) -> None:
    """The night's looks are the night nurses', by the list that comes with the unit."""
    listed = tomllib.loads(files("mobicard.demo").joinpath("staff.toml").read_text(encoding="utf-8"))["staff"]
    night = {one["initials"] for one in listed if one["from"] == "19:30" and one["role"] == "nurse"}
    day = {one["initials"] for one in listed if one["from"] == "07:00" and one["role"] == "nurse"}
    assert {view.recorded_by for view in ward.board()} - {None, ""} == night
    assert {view.assignment for view in ward.board()} == day


def test_its_clock_goes_on_from_there(tmp_path: Path) -> None:
    """A minute here is a minute there; a ledger without the file beside it has the machine's own time."""
    here = datetime(2026, 11, 27, 15, 12, tzinfo=UTC)
    ledger = tmp_path / "demo.sqlite"
    usual = Clock(lambda: here, UTC)
    assert clock_of(str(ledger), usual) is None
    set_clock(ledger, datetime(2026, 11, 27, 6, 50), lambda: here)
    there = clock_of(str(ledger), usual, lambda: here + timedelta(minutes=3))
    assert there is not None
    assert there.now() == datetime(2026, 11, 27, 6, 53)
    assert clock_of(str(tmp_path / "other.sqlite"), usual) is None


@pytest.mark.parametrize(
    "text", ["", "ward = 3", "ward = 2026-11-27T06:50:00", "ward = 3\nmachine = 4", "\x00", "machine = "]
)
def test_a_clock_that_cannot_be_read_is_none(tmp_path: Path, text: str) -> None:
    (tmp_path / "demo.sqlite.clock").write_text(text)
    assert clock_of(str(tmp_path / "demo.sqlite"), Clock(lambda: datetime.now(UTC), UTC)) is None


def test_opened_by_a_command_it_is_still_morning_there(tmp_path: Path) -> None:
    """No option beside the ledger; a time told wins."""
    assert run(["demo", "--ledger-only", "--out", str(tmp_path / "demo")]) == 0
    ledger = str(tmp_path / "demo" / "demo.sqlite")
    opened = Station(ledger, None, None, None, None, "JN", None)
    assert f"{opened.now:%H:%M}" in ("06:50", "06:51", "06:52")
    assert sum(view.due == "due" for view in opened.ward.board()) >= 10
    later = Station(ledger, None, None, None, None, "JN", "2026-11-27T18:50")
    assert later.now == datetime(2026, 11, 27, 18, 50)
