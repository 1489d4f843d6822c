"""A ledger is made by an explicit act alone, and an older or another one in its place is refused."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.cli.main import COMMANDS
from mobicard.ledger import Ledger, LedgerUnreachable
from tests.ledger.places import Writer

EVERY = (
    ["stay", "list"],
    ["--by", "JN", "stay", "admit", "5N-01"],
    ["cards", "--changed"],
    ["brief", "5N-01", "chair"],
    ["record", "5N-01", "examples/01-walks-alone.json"],
    ["same", "5N-01"],
    ["fall", "5N-01"],
    ["clear", "5N-01", "--name", "Dr NN", "--head", "clear"],
    ["up", "5N-01"],
    ["head", "5N-01", "fifteen"],
    ["judge", "5N-01", "TEAM", "--why", "weak today"],
    ["order", "5N-01"],
    ["taken-over", "5N-01"],
    ["feed", "--port", "0"],
    ["handoff", "--json"],
    ["check", "7Q4MKD"],
    ["export", "--lines"],
    ["hands"],
    ["house"],
    ["people", "list"],
    ["people", "add", "KP", "--role", "keeper", "--pin", "471100"],
    ["ledger", "verify"],
    ["ledger", "audit"],
    ["ledger", "backup", "copy.sqlite"],
    ["ledger", "export", "lines.jsonl"],
    ["ledger", "import", "pyproject.toml"],
    ["ledger", "retention"],
    ["ledger", "rebuild"],
)
"""A command of each kind that works on a ledger."""


@pytest.fixture
def unit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger of this station with three entries in it."""
    path = tmp_path / "unit" / "ledger.sqlite"
    monkeypatch.setenv("MOBICARD_LEDGER", str(path))
    assert run(["ledger", "new"]) == 0
    for bed in ("5N-01", "5N-02", "5N-03"):
        assert run(["--by", "JN", "stay", "admit", bed]) == 0
    return path


@pytest.mark.parametrize("words", EVERY, ids=" ".join)
def test_a_mistyped_place_is_refused_and_nothing_is_made(
    tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["--ledger", str(tmp_path / "wrod" / "ledger.sqlite"), *words]) == 1
    assert "no ledger" in capsys.readouterr().err
    assert not (tmp_path / "wrod").exists()


def test_no_command_that_takes_a_ledger_is_left_out() -> None:
    """Those that need none: the invented unit makes its own, the others read files."""
    none = {"demo", "plan", "census", "doctor", "web", "shell", "about", "practise"}
    assert {words[0] for words in EVERY if not words[0].startswith("-")} == set(COMMANDS) - none


@pytest.mark.parametrize("words", EVERY, ids=" ".join)
def test_a_ledger_that_vanished_is_said_to_be_gone(
    unit: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    unit.unlink()
    assert run(words) == 1
    said = capsys.readouterr().err
    assert "gone" in said or words == ["ledger", "verify"]
    assert not unit.exists()


def test_a_new_one_is_not_made_over_the_loss(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unit.unlink()
    assert run(["ledger", "new"]) == 1
    assert "seen entry 3" in capsys.readouterr().err
    assert run(["ledger", "accept"]) == 0
    assert run(["ledger", "new"]) == 0
    assert run(["stay", "list"]) == 0


def test_a_new_one_is_not_made_where_one_is(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["ledger", "new"]) == 1
    assert "already" in capsys.readouterr().err


def test_an_empty_database_is_no_ledger(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "empty.sqlite"
    with closing(sqlite3.connect(path)) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.execute("PRAGMA user_version=1")
        raw.commit()
    assert run(["--ledger", str(path), "stay", "list"]) == 1
    assert "no ledger" in capsys.readouterr().err


def test_a_link_to_nothing_makes_no_file_that_others_read(tmp_path: Path) -> None:
    """The file behind it would have been made by SQLite, for everybody to read."""
    link = tmp_path / "ledger.sqlite"
    link.symlink_to(tmp_path / "elsewhere.sqlite")
    assert run(["--ledger", str(link), "ledger", "new"]) == 1
    assert not (tmp_path / "elsewhere.sqlite").exists()


# -- an older, another, a rewritten one --------------------------------------------------------------


def refused(says: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Reading and saving are refused with these words, and `verify` says so too."""
    capsys.readouterr()
    for words in (["stay", "list"], ["--by", "JN", "stay", "admit", "5N-09"]):
        assert run(words) == 1
        captured = capsys.readouterr()
        assert says in captured.err
        assert "5N-01" not in captured.out
    assert run(["ledger", "verify"]) == 1
    assert says in capsys.readouterr().out


def test_an_older_copy_in_its_place_is_refused(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["ledger", "backup", str(unit.parent / "old.sqlite")]) == 0
    assert run(["--by", "JN", "stay", "admit", "5N-04"]) == 0
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    shutil.copy(unit.parent / "old.sqlite", unit)
    refused("has seen entry 4", capsys)


def test_a_copy_without_its_log_is_refused(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Copied while somebody has it open: what was saved last is in the file beside it alone."""
    with Ledger.open(unit) as ledger:
        write = Writer(ledger)
        ledger.beds()
        assert run(["--by", "JN", "stay", "admit", "5N-04"]) == 0
        write.admit("s9", "5N-09")
        shutil.copy(unit, unit.parent / "copy")
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    (unit.parent / "copy").rename(unit)
    refused("has seen entry 4", capsys)


def test_another_ledger_in_its_place_is_refused(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    with Ledger.open(unit) as other:
        for number in range(9):
            Writer(other).admit(f"s{number}", f"6W-{number}")
    refused("another ledger", capsys)


def test_a_rewritten_ledger_is_refused(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every hash computed anew, head included: `verify` alone finds nothing."""
    from mobicard.ledger.entry import chain_hash, digest_of

    with closing(sqlite3.connect(unit, isolation_level=None)) as raw:
        raw.row_factory = sqlite3.Row
        kept = raw.execute("SELECT sql FROM sqlite_master WHERE type='trigger'").fetchall()
        for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type='trigger'").fetchall():
            raw.execute(f"DROP TRIGGER {name}")
        prev = "0" * 64
        for row in map(dict, raw.execute("SELECT * FROM entry ORDER BY seq").fetchall()):
            row["by"], row["prev"] = "XX", prev
            prev = chain_hash(row, digest_of(row["body"]))
            raw.execute(
                'UPDATE entry SET "by" = ?, prev = ?, hash = ? WHERE seq = ?',
                (row["by"], row["prev"], prev, row["seq"]),
            )
        raw.execute("UPDATE chain SET hash = ?", (prev,))
        for (sql,) in kept:
            raw.execute(sql)
    with Ledger.open(unit) as ledger:
        assert ledger.verify().ok
    refused("was rewritten", capsys)


def test_once_told_this_station_takes_it(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    Ledger.open(unit).close()
    assert run(["stay", "list"]) == 1
    assert run(["ledger", "accept"]) == 0
    assert "knew entry 3:" in capsys.readouterr().out
    assert run(["stay", "list"]) == 0


def test_a_restore_says_what_is_not_in_it_and_is_taken(
    unit: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copy = str(unit.parent / "old.sqlite")
    assert run(["ledger", "backup", copy]) == 0
    assert run(["--by", "JN", "stay", "admit", "5N-04"]) == 0
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    assert run(["ledger", "restore", copy, str(unit)]) == 0
    assert "what came after 3 is not in it" in capsys.readouterr().out
    assert run(["stay", "list"]) == 0


def test_what_another_station_saved_is_no_reason(unit: Path) -> None:
    with Ledger.open(unit) as other:
        Writer(other).admit("s9", "5N-09")
    assert run(["stay", "list"]) == 0


def test_a_torn_memory_stops_nobody(unit: Path, tmp_path: Path) -> None:
    from mobicard.ward.station.bed_order import station_folder

    (station_folder(str(unit)) / "known-end.json").write_text('{"led')
    assert run(["stay", "list"]) == 0


# -- under an open station ---------------------------------------------------------------------------


@pytest.mark.parametrize("replaced", [False, True], ids=["deleted", "replaced"])
def test_a_file_taken_away_under_an_open_station_takes_no_save(unit: Path, replaced: bool) -> None:
    """SQLite itself goes on in the deleted file and acknowledges what nobody will ever find."""
    with Ledger.open(unit) as ledger:
        assert len(ledger.beds()) == 3
        shutil.copy(unit, unit.parent / "copy")
        unit.unlink()
        if replaced:
            (unit.parent / "copy").rename(unit)
        with pytest.raises(LedgerUnreachable, match="taken away or replaced"):
            Writer(ledger).admit("s4", "5N-04")
        with pytest.raises(LedgerUnreachable, match="taken away or replaced"):
            ledger.beds()


def test_a_file_that_comes_back_takes_the_save(unit: Path) -> None:
    with Ledger.open(unit) as ledger:
        ledger.beds()
        unit.rename(unit.parent / "away")
        with pytest.raises(LedgerUnreachable):
            Writer(ledger).admit("s4", "5N-04")
        (unit.parent / "away").rename(unit)
        Writer(ledger).admit("s4", "5N-04")
        assert len(ledger.beds()) == 4


def test_a_witness_on_another_disk_shows_a_rewrite(
    unit: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each check adds the end; the next is held against the last, whatever this station remembers."""
    witness = tmp_path / "elsewhere.txt"
    check = ["ledger", "verify", "--witness", str(witness)]
    assert run(check) == 0
    assert run(["--by", "JN", "stay", "admit", "5N-04"]) == 0
    assert run(check) == 0
    assert [line.rpartition(" ")[2].partition(":")[0] for line in witness.read_text().splitlines()] == [
        "3",
        "4",
    ]
    assert witness.stat().st_mode & 0o777 == 0o600
    for one in unit.parent.glob("ledger.sqlite*"):
        one.unlink()
    assert run(["ledger", "accept"]) == run(["ledger", "new"]) == 0
    capsys.readouterr()
    assert run(check) == 1
    assert "another ledger" in capsys.readouterr().out
    assert len(witness.read_text().splitlines()) == 2, "what does not fit is not noted"


def test_a_witness_that_says_nothing_is_refused(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    witness = unit.parent / "notes.txt"
    witness.write_text("milk, bread\n")
    assert run(["ledger", "verify", "--witness", str(witness)]) == 1
    assert "bears witness to nothing" in capsys.readouterr().err
