"""Folders that are closed or read-only: what is hidden is not taken for missing, a save still stands."""

from __future__ import annotations

from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.ledger import LedgerReadOnly
from mobicard.ledger.outbox import Outbox
from mobicard.rules.policy import Policy
from mobicard.ward import Settings, Ward, WardRefused
from mobicard.ward.census import census_preview
from mobicard.ward.station.drafts import Draft, Drafts
from mobicard.ward.station.settings import SettingsRefused
from tests.conftest import MORNING
from tests.nobody import as_nobody


@pytest.fixture
def closed(open_folder: Path) -> Path:
    """A folder that only its owner may look into."""
    folder = open_folder / "closed"
    folder.mkdir(mode=0o700)
    return folder


def test_a_policy_that_is_hidden_is_not_taken_for_none(closed: Path) -> None:
    """It may ask for more help than the packaged one; whether there is one cannot be seen."""
    (closed / "policy.toml").write_text("")
    with as_nobody(), pytest.raises(SettingsRefused, match=r"policy\.toml: cannot be looked at.*--config"):
        Settings.found(config_dir=closed)


@pytest.mark.parametrize("name", ["instruments", "phrases"])
def test_a_folder_of_the_facility_that_is_hidden_is_not_taken_for_empty(open_folder: Path, name: str) -> None:
    (open_folder / name).mkdir(mode=0o000)
    settings, _ = Settings.found(config_dir=open_folder), Policy()  # the packaged files, read as who may
    with as_nobody(), pytest.raises(SettingsRefused, match=f"{name}: cannot be looked at"):
        _ = settings.policy if name == "instruments" else settings.phrases


def test_a_home_that_is_not_there_has_no_files_of_the_facility() -> None:
    assert Settings.found(config_dir=Path("/nonexistent/deep")).policy_path is None


def test_a_zone_the_machine_does_not_know_is_refused_where_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    policy = tmp_path / "policy.toml"
    policy.write_text('[shift]\ntimezone = "Mars/Olympus"\n', encoding="utf-8")
    assert run(["--config", str(tmp_path), "plan", "--rules"]) == 0
    assert run(["--ledger", str(tmp_path / "l.sqlite"), "ledger", "new"]) == 0
    assert run(["--config", str(tmp_path), "--ledger", str(tmp_path / "l.sqlite"), "stay", "list"]) == 1
    said = capsys.readouterr().err
    assert f"{policy}: shift.timezone “Mars/Olympus” is no time zone this machine knows" in said


def test_an_old_key_of_a_bed_list_that_is_hidden(
    ward: Ward, open_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without it a patient of an earlier list would not be found again by the visit number."""
    (open_folder / "census.key").write_bytes(b"kept till now")
    (open_folder / "census.key").chmod(0o600)
    ward.settings = Settings.found(config_dir=open_folder)
    with as_nobody(), pytest.raises(WardRefused, match=r"cannot be read at .*MOBICARD_CENSUS_KEY"):
        census_preview(ward, b"Bed,Initials,Visit No\n5N-01,RA,4711\n")
    monkeypatch.setenv("MOBICARD_CENSUS_KEY", "given")
    with as_nobody():
        assert len(census_preview(ward, b"Bed,Initials,Visit No\n5N-01,RA,4711\n").admit) == 1


def test_an_outbox_that_is_hidden_is_said(closed: Path) -> None:
    with as_nobody(), pytest.raises(LedgerReadOnly, match=r"cannot be read .*not sent"):
        Outbox(closed / "outbox.jsonl").held()


def test_unsaved_answers_that_are_hidden_stop_nothing(closed: Path) -> None:
    """The board opens and a save stands; whoever answers is told that the answer is not kept."""
    draft = Draft("s1", "JN", 1, MORNING, {"standing": "steady"})
    Drafts(closed / "station").keep(draft)
    with as_nobody():
        hidden = Drafts(closed / "station")
        assert (hidden.offered("s1"), hidden.all()) == (None, [])
        hidden.drop("s1")
        with pytest.raises(PermissionError):
            hidden.keep(draft)
    assert Drafts(closed / "station").offered("s1") == draft
