"""One ledger of several units: each station sees and plans its own, unless the house is asked for."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from mobicard.facts.text import in_unit, unit_of
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward, WardRefused
from tests.conftest import MORNING
from tests.records import assessed

BEDS = ("4W-01", "4W-02", "5N-01", "5N-02")


@pytest.fixture
def house(ward: Ward) -> Ward:
    """Two units of two beds each, looked at, with a card at every door."""
    for bed in BEDS:
        view = ward.stays.admit(bed)
        ward.save(view.stay, assessed(bed, weight_kg=80), view.version)
    jobs = ward.doors.jobs()
    ward.doors.prepare(jobs)
    ward.doors.confirm_hung(jobs)
    return ward


def of(house: Ward, unit: str) -> Ward:
    """A station of one unit, over the same ledger."""
    return Ward(house.ledger, house.settings, house.clock, by="PK", unit=unit, drafts=house.drafts.folder)


@pytest.mark.parametrize(
    ("bed", "unit"),
    [("5N-12A", "5N"), ("4W North-12", "4W"), ("ICU 3", "ICU"), ("5N-12-A", "5N"), ("12A", ""), ("-3", "")],
)
def test_a_bed_names_its_unit_first(bed: str, unit: str) -> None:
    assert unit_of(bed) == unit
    assert not unit or in_unit(bed, unit)


def test_a_station_of_a_unit_shows_its_beds_alone(house: Ward) -> None:
    here = of(house, "4w")
    assert [view.bed for view in here.board()] == ["4W-01", "4W-02"]
    assert [view.bed for view in house.board()] == list(BEDS)
    assert here.find("5N-01") is None
    assert [line.bed for line in here.handoff().beds] == ["4W-01", "4W-02"]


def test_what_is_saved_next_door_changes_nothing_here_and_what_is_saved_here_does(house: Ward) -> None:
    here = of(house, "4W")
    before = here.board()
    theirs, ours = house.find("5N-01"), house.find("4W-01")
    assert theirs
    assert ours
    house.save(theirs.stay, theirs.record.changed(standing="unable"), theirs.version)
    assert here.board() == before
    house.save(ours.stay, ours.record.changed(standing="unable"), ours.version)
    assert here.board()[0].record.standing == "unable"


def test_a_patient_who_moves_between_units_leaves_one_board_and_comes_to_the_other(house: Ward) -> None:
    here, there = of(house, "4W"), of(house, "5N")
    assert len(here.board()) == len(there.board()) == 2
    view = here.board()[0]
    house.stays.move(view, "5N-09")
    assert [one.bed for one in here.board()] == ["4W-02"]
    assert [one.bed for one in there.board()] == ["5N-01", "5N-02", "5N-09"]


def test_only_cards_at_this_units_doors_are_to_be_taken_down_here(house: Ward) -> None:
    """Those next door, of stays that go on there, were all listed as left hanging."""
    here = of(house, "4W")
    assert here.doors.jobs() == []
    view = house.find("4W-01")
    assert view
    house.stays.discharge(view)
    assert [job.bed for job in here.doors.jobs()] == ["4W-01"]
    assert of(house, "5N").doors.jobs() == []


def test_the_last_batch_is_this_units_last(house: Ward) -> None:
    here, there = of(house, "4W"), of(house, "5N")
    for station in (here, there):
        station.doors.prepare(station.doors.jobs(changed_only=False))
    view = house.find("4W-01")
    assert view
    assert {job.bed[:2] for job in here.doors.batch()} <= {"4W"}
    assert {job.bed[:2] for job in there.doors.batch()} <= {"5N"}


def test_a_card_from_another_unit_is_told_for_what_it_is(house: Ward) -> None:
    card = house.find("5N-01")
    assert card
    assert card.hung_code
    told = of(house, "4W").doors.check(card.hung_code)
    assert (told.state, told.bed) == ("current", "5N-01")
    assert of(house, "4W").doors.check(card.plan.code).state in {"current", "unknown"}


def test_each_unit_has_its_own_day_plan(house: Ward, tmp_path: Path) -> None:
    staff = tmp_path / "staff.toml"
    staff.write_text('[[staff]]\ninitials = "AB"\nrole = "nurse"\nfrom = "07:00"\nto = "19:00"\n')
    settings = Settings.found(config_dir=tmp_path, staff=staff)
    plans = {}
    for unit in ("4W", "5N"):
        station = Ward(house.ledger, settings, Clock.fixed(MORNING), by="PK", unit=unit, drafts=tmp_path)
        plans[unit] = station.hands.make(solver=False)
    for unit, plan in plans.items():
        station = Ward(house.ledger, settings, Clock.fixed(MORNING), by="PK", unit=unit, drafts=tmp_path)
        assert station.hands.kept() == plan
    assert Ward(house.ledger, settings, Clock.fixed(MORNING), drafts=tmp_path).hands.kept() is None


def test_a_units_own_files_go_before_the_houses(tmp_path: Path) -> None:
    own = tmp_path / "units" / "5N"
    own.mkdir(parents=True)
    (tmp_path / "policy.toml").write_text("[door]\nshow_label = true\n")
    (own / "inventory.toml").write_text('[[item]]\nclass = "full_body_lift"\nname = "ours"\n')
    settings = Settings.found(config_dir=tmp_path, unit="5n")
    assert settings.inventory_path == own / "inventory.toml"
    assert settings.policy_path == tmp_path / "policy.toml"
    assert Settings.found(config_dir=tmp_path, unit="../5N").inventory_path is None


def test_no_question_of_a_unit_reads_all_entries(house: Ward, monkeypatch: pytest.MonkeyPatch) -> None:
    """The handoff read every tick there ever was, for the questions left open."""

    def all_of_them(*_: object, **__: object) -> object:
        raise AssertionError("the whole ledger was read")

    monkeypatch.setattr(Ledger, "entries", all_of_them)
    here = of(house, "4W")
    here.board(house.now - timedelta(hours=12))
    here.handoff()
    here.doors.jobs()
    here.doors.check("AAAAAA")
    here.hands.kept()
    here.stays.ended()


def test_which_cards_the_queue_holds_is_one_question(house: Ward, monkeypatch: pytest.MonkeyPatch) -> None:
    jobs = house.doors.jobs(changed_only=False)
    house.doors.prepare(jobs[:2], waits=True)
    asked: list[object] = []
    of_kinds = Ledger.of_kinds
    monkeypatch.setattr(Ledger, "of_kinds", lambda *words: asked.append(words) or of_kinds(*words))
    assert house.doors.waiting(jobs) == ["4W-01", "4W-02"]
    assert len(asked) == 1


def test_a_list_of_the_house_is_read_for_this_unit(house: Ward) -> None:
    from mobicard.ward.census import census_preview

    seen = census_preview(of(house, "4W"), b"Bed,Visit No\n4W-03,V1\n5N-03,V2\n")
    assert [one.bed for one in seen.admit] == ["4W-03"]


def test_a_bed_of_another_unit_is_called_that(house: Ward) -> None:
    from mobicard.cli.beds import in_bed
    from mobicard.cli.station import Refused

    with pytest.raises(Refused, match="no bed of 4W"):
        in_bed(of(house, "4W"), "5N-01")
    with pytest.raises((Refused, WardRefused), match="not occupied"):
        in_bed(of(house, "4W"), "4W-09")


def test_a_printed_code_is_told_without_planning_the_house(
    house: Ward, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found by its print; also for who lies now where it was to hang, with the same findings."""
    view = house.find("4W-01")
    assert view
    planned: list[str] = []
    made = Ward._view
    monkeypatch.setattr(
        Ward, "_view", lambda self, state, *more: planned.append(state.bed) or made(self, state, *more)
    )
    assert house.doors.check(view.door_code).state == "current"
    assert set(planned) == {"4W-01"}
    house.stays.discharge(view)
    assert house.doors.check(view.door_code).state == "replaced"
    again = house.stays.admit("4W-01")
    house.save(again.stay, assessed("4W-01", weight_kg=80), again.version)
    told = house.doors.check(view.door_code)
    assert (told.state, told.bed) == ("current", "4W-01")
