"""What a file is by its first bytes: a SQLite database, our own export, text, or something else."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from enum import Enum
from pathlib import Path

from mobicard import inflow
from mobicard.ledger.errors import NotALedger

FORMAT = "mobicard-ledger"
"""How the first line of an export names itself."""

SQLITE_MAGIC = b"SQLite format 3\0"
"""The first 16 bytes of every SQLite database: section 1.3.1 of sqlite.org/fileformat2.html."""

_EXPORT = re.compile(rf'\s*\{{\s*"format"\s*:\s*"{FORMAT}"')
_LOOK = 4096
_LEAST = 512
"""The smallest page, and so the smallest database: section 1.3.2 of sqlite.org/fileformat2.html."""


class FileKind(Enum):
    """What a file turns out to be; the value is how it is said to a person."""

    SQLITE = "a SQLite database"
    EXPORT = "an export of a ledger, not a ledger"
    JSON = "a JSON text"
    TEXT = "a text file"
    OTHER = "not a SQLite database"


def kind_of(path: Path) -> FileKind:
    """What a file is, by its first bytes. Raises OSError when it cannot be read, or is a pipe."""
    inflow.refuse_device(path)
    if _is_sqlite(path):
        return FileKind.SQLITE
    with path.open("rb") as file:
        start = file.read(_LOOK)
    if start.startswith(SQLITE_MAGIC):
        return FileKind.SQLITE
    text = _as_text(start)
    if text is None:
        return FileKind.OTHER
    if _EXPORT.match(text):
        return FileKind.EXPORT
    return FileKind.JSON if text.lstrip()[:1] in {"{", "["} else FileKind.TEXT


def _is_sqlite(path: Path) -> bool:
    """Whether SQLite itself takes the file for a database; it is only read, and no lock is asked for.

    Not by opening the file: on POSIX, closing any handle of a file drops every lock this process has on it
    (sqlite.org/howtocorrupt.html, 2.2), and another station would write over a ledger that is open here.
    """
    if path.is_dir() or path.stat().st_size < _LEAST:
        return False
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?immutable=1", uri=True)) as there:
            there.execute("PRAGMA schema_version").fetchone()
    except sqlite3.Error:
        return False
    return True


def _as_text(start: bytes) -> str | None:
    """The bytes as text, or None when they are none; a sign cut in two by the end of the look is forgiven."""
    try:
        text = start.decode("utf-8-sig")
    except UnicodeDecodeError as odd:
        if len(start) < _LOOK or odd.start < len(start) - 3:
            return None
        text = start[: odd.start].decode("utf-8-sig")
    return text if text.strip() and all(sign.isprintable() or sign.isspace() for sign in text) else None


def check_kind(path: Path) -> None:
    """Refuse a file that is no SQLite database, saying what it is and what to do; it is only read.

    Raises NotALedger, or OSError when it cannot be read.
    """
    kind = kind_of(path)
    if kind is FileKind.SQLITE:
        return
    if kind is FileKind.EXPORT:
        raise NotALedger(
            f"{path} is {kind.value}. Make a ledger of it at a new place TO with "
            f"`mobicard ledger restore {path} TO`, then use TO."
        )
    if kind is FileKind.OTHER:
        raise NotALedger(
            f"{path} is not a ledger: it does not begin as a SQLite database does. Check the path; if it was "
            "your ledger, its beginning was overwritten: keep it as it is and restore the last backup to "
            "another path."
        )
    raise NotALedger(f"{path} is {kind.value}, not a ledger. Check the path. The file was not touched.")
