"""A wrong entry is withdrawn by a new one that names it, and the audit says who did what."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.ledger import Ledger
from mobicard.ward import Settings, Ward
from tests.records import assessed


@pytest.fixture
def bed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger with one bed: recorded as steady (entry 2), then by mistake as not standing (entry 3)."""
    path = tmp_path / "unit.sqlite"
    with Ledger.open(path) as ledger:
        ward = Ward(ledger, Settings.found(config_dir=tmp_path / "config"), by="JN", drafts=tmp_path / "d")
        view = ward.stays.admit("5N-01")
        view = ward.save(view.stay, assessed("5N-01"), view.version)
        ward.save(view.stay, assessed("5N-01", standing="unable"), view.version)
    monkeypatch.setenv("MOBICARD_LEDGER", str(path))
    return path


def audit(capsys: pytest.CaptureFixture[str], *words: str) -> list[dict[str, object]]:
    capsys.readouterr()
    assert run(["ledger", "audit", "--json", *words]) == 0
    lines: list[dict[str, object]] = json.loads(capsys.readouterr().out)
    return lines


def test_without_a_file_the_record_before_stands_again(bed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The wrong entry is kept and named; the one before it stands."""
    assert run(["--by", "AB", "stay", "correct", "5N-01", "--entry", "3", "--why", "other patient"]) == 0
    with Ledger.open(bed) as ledger:
        (state,) = ledger.beds()
        assert state.record is not None
        assert state.record.standing == "steady"
        assert len(ledger.history(state.stay)) == 4
    (line,) = [line for line in audit(capsys) if line["by"] == "AB"]
    assert (line["did"], line["says"]) == ("corrected", "entry 3 was wrong: other patient")


def test_the_first_record_withdrawn_leaves_a_bed_not_assessed(
    bed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both records were another patient's: nothing is known, so nothing is cleared."""
    for number in ("3", "2"):
        assert (
            run(["--by", "AB", "stay", "correct", "5N-01", "--entry", number, "--why", "other patient"]) == 0
        )
    capsys.readouterr()
    assert run(["stay", "list", "--json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert (row["level"], row["due_says"]) == ("REMAIN", "not assessed yet")


@pytest.mark.parametrize(
    ("number", "why", "says"),
    [
        ("1", "wrong bed", "cannot be corrected"),
        ("9", "x y z", "cannot be corrected"),
        ("3", " ", "in a few words"),
    ],
)
def test_what_cannot_be_corrected_is_refused(
    bed: Path, capsys: pytest.CaptureFixture[str], number: str, why: str, says: str
) -> None:
    """An admission is put right by a move; an entry that is not there, or no reason, changes nothing."""
    assert run(["--by", "AB", "stay", "correct", "5N-01", "--entry", number, "--why", why]) == 1
    assert says in capsys.readouterr().err
    assert [line["by"] for line in audit(capsys)] == ["JN", "JN", "JN"]


def test_who_read_the_handoff_is_in_the_audit(bed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Reading by command is noted like opening a bed on the screen."""
    assert run(["--by", "RD", "handoff", "--json"]) == 0
    assert [line["did"] for line in audit(capsys, "--bed", "5N-01", "--person", "rd")] == ["saw"]


def test_the_audit_of_a_bed_is_of_its_last_stay_and_says_how_to_have_every(
    bed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """After years a bed has had hundreds of stays; what is left out is said."""
    assert run(["--by", "AB", "stay", "discharge", "5N-01"]) == 0
    assert run(["--by", "AB", "stay", "admit", "5N-01"]) == 0
    assert {line["did"] for line in audit(capsys, "--bed", "5N-01")} == {"admitted"}
    assert "recorded" in {line["did"] for line in audit(capsys, "--bed", "5N-01", "--all")}
    assert "recorded" in {line["did"] for line in audit(capsys, "--bed", "5N-01", "--since", "2020-01-01")}
    assert run(["ledger", "audit", "--bed", "5n-01"]) == 0
    assert "--all" in capsys.readouterr().err
    assert run(["ledger", "audit", "--all"]) == 2
