"""A whole copy of a SQLite ledger while others write to it, by SQLite's own online backup."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from mobicard.ledger.errors import LedgerFull, LedgerUnreachable


def copy_sqlite(source: Path, target: Path) -> None:
    """Copy as of one moment, private (0600), whole or not at all: its name appears only once complete.

    Raises LedgerFull or LedgerUnreachable; the source is only read.
    """
    part = target.with_name(target.name + ".part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        part.unlink(missing_ok=True)
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600))
        with closing(sqlite3.connect(source)) as there, closing(sqlite3.connect(part)) as here:
            there.backup(here, pages=1000)
            here.execute("PRAGMA journal_mode=DELETE")
        _sync(part)
        part.replace(target)
        _sync(target.parent)
    except (OSError, sqlite3.Error) as cause:
        part.unlink(missing_ok=True)
        full = "full" in str(cause) or "No space" in str(cause)
        raise (LedgerFull if full else LedgerUnreachable)(
            f"The copy at {target} could not be written ({cause}). The ledger itself is untouched."
        ) from cause


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
