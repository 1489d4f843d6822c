"""Once the ledger has a staff list, nobody does anything without signing in, and each only the role's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from mobicard.cli import run


@pytest.fixture
def unit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger with a keeper, a nurse, a clerk and a reader, and one bed."""
    ledger = tmp_path / "unit.sqlite"
    monkeypatch.setenv("MOBICARD_LEDGER", str(ledger))
    assert run(["--by", "JN", "stay", "admit", "5N-01"]) == 0
    assert run(["people", "add", "KP", "--role", "keeper", "--pin", "471100"]) == 0
    monkeypatch.setenv("MOBICARD_PIN", "471100")
    for initials, role in (("JN", "nurse"), ("CL", "clerk"), ("RD", "reader")):
        assert (
            run(["--by", "KP", "people", "add", initials, "--role", role, "--pin", f"{initials}2468"[-4:]])
            == 0
        )
    monkeypatch.delenv("MOBICARD_PIN")
    return ledger


def as_person(monkeypatch: pytest.MonkeyPatch, initials: str, pin: str, *words: str) -> int:
    """Exit code of a command by this person."""
    monkeypatch.setenv("MOBICARD_PIN", pin)
    return run(["--by", initials, *words])


def test_nobody_reads_without_signing_in(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Board, handoff, export and check are refused to whoever walks past."""
    capsys.readouterr()
    for words in (["stay", "list"], ["handoff", "--json"], ["export", "--lines"], ["check", "AAAAAA"]):
        assert run(words) == 1, words
        captured = capsys.readouterr()
        assert "5N-01" not in captured.out + captured.err
        assert "needed" in captured.err


def test_a_wrong_pin_is_refused(
    unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Right initials, wrong PIN: nothing is shown."""
    assert as_person(monkeypatch, "JN", "0000", "stay", "list") == 1
    assert "5N-01" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("who", "words", "code"),
    [
        ("JN", ("stay", "list"), 0),
        ("JN", ("stay", "admit", "5N-02"), 0),
        ("CL", ("stay", "admit", "5N-02"), 0),
        ("CL", ("stay", "procedure", "5N-01", "hip nailing"), 1),
        ("RD", ("stay", "list"), 0),
        ("RD", ("stay", "admit", "5N-02"), 1),
        ("RD", ("stay", "discharge", "5N-01"), 1),
        ("RD", ("people", "add", "XX", "--role", "nurse", "--pin", "9999"), 1),
        ("JN", ("people", "add", "XX", "--role", "keeper", "--pin", "9999"), 1),
    ],
)
def test_each_role_does_only_its_own(
    who: str, words: tuple[str, ...], code: int, unit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clerk says nothing of the patient, the reader changes nothing, only the keeper adds people."""
    assert as_person(monkeypatch, who, "2468", *words) == code


def test_the_reader_cannot_print(unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No card leaves through the reader's hands, and no file is written."""
    out = tmp_path / "cards"
    assert as_person(monkeypatch, "RD", "2468", "cards", "--out", str(out)) == 1
    assert not out.exists()
