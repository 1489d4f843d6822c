"""The house: which unit is short, which lift is free; what a unit has not written is never enough."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner

from mobicard.cli.main import cli
from mobicard.hands.house.page import house_html, house_lines
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward
from mobicard.ward.reader.house import house_of
from tests.conftest import MORNING
from tests.records import assessed

STAFF = '[[staff]]\ninitials = "{}"\nrole = "nurse"\nfrom = "07:00"\nto = "19:30"\n'
LIFT = '[[item]]\nclass = "full_body_lift"\nname = "{}"\nsafe_load = "440 lb"\nwhere = "room 3"\n'
BY_LIFT = {
    "weight_kg": 80,
    "sitting": "unable",
    "standing": "unable",
    "stepping": "unable",
    "goals": [{"task": "chair", "times_per_shift": 2}],
}
STEADY = {"standing": "steady", "stepping": "walks", "sitting": "steady", "arms": "both"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A house whose unit 4W has written what it has, and 5N has not."""
    own = tmp_path / "config" / "units" / "4W"
    own.mkdir(parents=True)
    (own / "staff.toml").write_text(STAFF.format("AB") + STAFF.format("CD"))
    (own / "inventory.toml").write_text(LIFT.format("ceiling lift"))
    return tmp_path / "config"


@pytest.fixture
def house(folder: Path, tmp_path: Path) -> Ward:
    """Somebody who is moved by lift in 4W, somebody in 5N."""
    ledger = Ledger.open(tmp_path / "house.sqlite")
    ward = Ward(ledger, Settings.found(config_dir=folder), Clock.fixed(MORNING), by="JN", drafts=tmp_path)
    for bed in ("4W-01", "5N-01"):
        view = ward.stays.admit(bed)
        ward.save(view.stay, assessed(bed, **BY_LIFT), view.version)
    return ward


def of_unit(house: Ward, name: str, at: timedelta = timedelta()) -> Ward:
    settings = Settings.found(config_dir=house.settings.config_dir, unit=name)
    clock = Clock.fixed(MORNING + at)
    return Ward(house.ledger, settings, clock, by="AB", unit=name, drafts=house.drafts.folder)


def test_a_unit_that_has_written_nothing_is_not_known_and_no_lift_is_made_up(house: Ward) -> None:
    found = house_of(house)
    first, second = found.units
    assert (first.unit, second.unit) == ("4W", "5N")
    assert second.state == "not known"
    assert (second.people, second.there) == (None, None)
    assert [lift.unit for lift in found.lifts] == ["4W"]
    assert any("5N" in note and "inventory.toml" in note for note in found.notes)


def test_a_lift_is_free_only_by_a_plan_that_the_unit_itself_made(house: Ward) -> None:
    assert [lift.state for lift in house_of(house).lifts] == ["not known"]
    desk = of_unit(house, "4w")
    plan = desk.hands.make(solver=False)
    (use, *_) = [item for item in plan.by_time() if "ceiling lift" in item.units]
    (lift,) = house_of(house).lifts
    before = "in use" if use.start <= house.now else "free"
    assert (lift.state, lift.until) == (before, use.end if before == "in use" else use.start)
    house.clock = Clock.fixed(use.start)
    (lift,) = house_of(house).lifts
    assert (lift.state, lift.until, lift.bed) == ("in use", use.end, "4W-01")


def test_a_lift_out_of_use_is_never_free(house: Ward, folder: Path) -> None:
    out = '[[out]]\nequipment = "full_body_lift"\nwhy = "battery"\n'
    (folder / "units" / "4W" / "staff.toml").write_text(STAFF.format("AB") + out)
    of_unit(house, "4W").hands.make(solver=False)
    (lift,) = house_of(house).lifts
    assert lift.state == "out of use"


def test_a_unit_without_the_lift_it_needs_is_short(house: Ward, folder: Path) -> None:
    (folder / "units" / "4W" / "inventory.toml").write_text('[[item]]\nclass = "gait_belt"\n')
    first = house_of(house).by_need[0]
    assert (first.unit, first.state) == ("4W", "short")
    assert any("full-body lift" in says for says in first.short)
    assert [(gear.beds, gear.here) for gear in first.gear] == [(1, 0)]


def test_a_unit_with_somebody_not_assessed_is_never_called_enough(house: Ward) -> None:
    view = house.find("4W-01")
    assert view
    house.save(view.stay, assessed("4W-01", **STEADY), view.version)
    assert house_of(house).units[0].state == "enough"
    house.stays.admit("4W-02")
    first = house_of(house).units[0]
    assert (first.state, first.not_assessed) == ("not known", 1)
    assert first.also[0].startswith("1 of 2 not assessed")


def test_a_broken_file_of_one_unit_is_said_and_the_others_are_told(house: Ward, folder: Path) -> None:
    (folder / "units" / "4W" / "inventory.toml").write_text("[[item]\n")
    found = house_of(house)
    assert {one.unit: one.state for one in found.units} == {"4W": "not known", "5N": "not known"}
    assert any("4W" in note and "inventory.toml" in note for note in found.notes)


def test_what_the_house_has_once_is_not_counted_for_each_unit(house: Ward, folder: Path) -> None:
    (folder / "inventory.toml").write_text(LIFT.format("pool lift"))
    assert [lift.name for lift in house_of(house).lifts] == ["ceiling lift"]


def test_beds_that_name_no_unit_are_counted_and_said(house: Ward) -> None:
    house.stays.admit("12")
    found = house_of(house)
    assert found.unnamed == 1
    assert any("begin with no unit" in line for line in house_lines(found))


def test_every_line_and_the_page_say_until_when_they_hold(house: Ward) -> None:
    found = house_of(house)
    page = house_html(found)
    for says in (*house_lines(found), page):
        assert "<script" not in says
    assert "Holds until 08:30" in list(house_lines(found))[-1]
    assert "Holds until 08:30" in page
    assert "<b>4W</b>" in page
    assert "ceiling lift" in page


def test_the_command_tells_of_every_unit_whichever_this_station_is_of(
    house: Ward, folder: Path, tmp_path: Path
) -> None:
    words = [
        "--ledger",
        str(tmp_path / "house.sqlite"),
        "--config",
        str(folder),
        "--by",
        "JN",
        "--unit",
        "4W",
    ]
    words += ["--now", MORNING.isoformat()]
    ran = CliRunner().invoke(cli, [*words, "house", "--json", "--out", str(tmp_path / "out")])
    assert ran.exit_code == 0, ran.output
    told = json.loads(ran.output)
    assert [one["unit"] for one in told["units"]] == ["4W", "5N"]
    assert {Path(path).name for path in told["files"]} == {"house.html", "house.pdf"}
    listed = CliRunner().invoke(cli, [*words, "stay", "list"])
    assert "4W-01" in listed.output
    assert "5N-01" not in listed.output
