"""A whole copy of a SQLite ledger while others write to it, by SQLite's own online backup."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from mobicard.ledger.database import engine
from mobicard.ledger.errors import LedgerBusy, LedgerFull, LedgerUnreachable


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy as of one moment, private (0600), whole or not at all: its name appears only once complete.

    In one step, beside which others may write; in several, each write would start it over, without end.
    Raises LedgerFull, LedgerBusy or LedgerUnreachable; the source is only read.
    """
    part = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        with (
            closing(sqlite3.connect(source, timeout=engine.BUSY_S)) as there,
            closing(sqlite3.connect(part)) as here,
        ):
            there.backup(here, progress=_give_up_when_held)
            here.execute("PRAGMA journal_mode=DELETE")
        _sync(part)
        part.replace(target)
        _sync(target.parent)
    except (OSError, sqlite3.Error) as cause:
        full = "full" in str(cause) or "No space" in str(cause)
        raise (LedgerFull if full else LedgerUnreachable)(
            f"The copy at {target} could not be written ({cause}). The ledger itself is untouched."
        ) from cause
    finally:
        for end in ("", "-journal"):
            part.with_name(part.name + end).unlink(missing_ok=True)


def _give_up_when_held(status: int, _remaining: int, _pages: int) -> None:
    """SQLite has waited its time already; left alone, it would ask again and again without end."""
    if status & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        raise LedgerBusy(
            f"Another program holds the file to itself and did not let go within {engine.BUSY_S:g} s. "
            "Nothing was copied; end that program, then try again."
        )


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
