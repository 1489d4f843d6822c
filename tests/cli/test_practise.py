"""``mobicard practise``: shows, asks, derives; keeps nothing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from mobicard.cli import run
from mobicard.cli.commands.brief import practice_case

NOW = ["--now", "2026-03-02T08:00"]


def test_it_shows_a_patient_and_what_is_derived_with_sources(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NOW, "practise", "--case", "7", "--move", "chair", "--show"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Case 7: Bed to chair and back. An invented patient:")
    assert out.index("Derived:") < out.index("Because:")
    assert "no patient, no score" in out


def test_the_answers_stand_beside_the_derivation(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(practice_case, "has_keyboard", lambda: True)
    from mobicard.cli.station import Station

    station = Station(None, None, None, None, None, None, "2026-03-02T08:00")
    told = CliRunner().invoke(
        practice_case.practise, ["--case", "7"], input="li\n2\nbelt\n52\nright\n", obj=station
    )
    assert told.exit_code == 0, told.output
    assert "level   LINK" in told.output
    assert "people  2" in told.output
    assert "bed     52 cm" in told.output


def test_nothing_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No ledger is made or opened for it, no file written."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("MOBICARD_LEDGER", str(tmp_path / "none.sqlite"))
    assert run([*NOW, "practise", "--case", "1", "--show"]) == 0
    assert list(tmp_path.rglob("*")) == []


def test_json_has_case_plan_and_brief(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NOW, "practise", "--case", "3", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {"case", "move", "record", "plan", "brief"} == set(told)


def test_a_move_nobody_knows_is_refused_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*NOW, "practise", "--move", "jump"]) == 2
    assert "“jump” is no move" in capsys.readouterr().err
