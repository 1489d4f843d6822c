"""File systems on which a ledger is not safe: said when it would be made there, not after the first loss."""

from __future__ import annotations

import errno
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from mobicard.ledger import Ledger, LedgerBusy, LedgerReadOnly, LedgerUnreachable, disk
from mobicard.ledger.database import engine
from tests.nobody import as_nobody


def lacking(*_: object) -> None:
    raise OSError(errno.ENOLCK, "No locks available")


WANTS = [
    ("_lock", "keeps no locks"),
    ("_sync", "outlasts a power cut"),
    ("_share", "share a file between two"),
]


@pytest.mark.parametrize(("want", "says"), WANTS)
def test_no_ledger_is_made_where_it_would_not_be_safe(
    want: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And no empty file is left, which would be taken for a ledger that was emptied."""
    monkeypatch.setattr(disk, want, lacking)
    with pytest.raises(LedgerUnreachable, match=f"{says}.*Choose a folder on this machine's own disk"):
        Ledger.open(tmp_path / "ledger.sqlite")
    assert list(tmp_path.iterdir()) == []


def test_a_ledger_moved_where_there_are_no_locks_is_not_called_busy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite says the same of both; saving again in a moment would help only with the one."""
    path = tmp_path / "ledger.sqlite"
    Ledger.open(path).close()
    monkeypatch.setattr(engine, "BUSY_S", 0.1)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("PRAGMA locking_mode=EXCLUSIVE")
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(LedgerBusy, match="Another station is saving"):
            Ledger.open(path)
        monkeypatch.setattr(disk, "_lock", lacking)
        with pytest.raises(LedgerUnreachable, match=r"cannot be used: .*keeps no locks"):
            Ledger.open(path)


def test_a_ledger_in_a_folder_that_may_not_be_written_says_so(open_folder: Path) -> None:
    """As on a disk mounted for reading only: SQLite says only that it cannot open it."""
    path = open_folder / "ledger.sqlite"
    Ledger.open(path).close()
    path.chmod(0o666)
    open_folder.chmod(0o555)
    with as_nobody(), pytest.raises(LedgerReadOnly, match="its folder may not be written"):
        Ledger.open(path)


def test_this_machines_own_disk_will_do(tmp_path: Path) -> None:
    assert disk.lacks(tmp_path) is None
