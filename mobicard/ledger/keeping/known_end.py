"""The end of a ledger as somebody last saw it: shows an older, another, cut or rewritten one in its place."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import select

from mobicard import inflow
from mobicard.ledger.database.schema import chain, entry, info
from mobicard.ledger.database.store import Store
from mobicard.ledger.errors import LedgerDamaged


@dataclass(frozen=True, slots=True)
class End:
    """Which ledger (its id), and its last entry's number and hash."""

    ledger: str
    seq: int
    hash: str

    def __str__(self) -> str:
        return f"{self.seq}:{self.hash}"


def end_of(ledger: Store) -> End:
    """The ledger's end now. Raises LedgerError."""
    with ledger.looking() as connection:
        name = connection.scalar(select(info.c.value).where(info.c.name == "ledger"))
        head = connection.execute(select(chain.c.seq, chain.c.hash)).one()
    return End(str(name), head.seq, head.hash)


def why_not(ledger: Store, known: End) -> str | None:
    """Why this cannot be the ledger whose end was seen, in words, or None. Raises LedgerError.

    A server's login that may not read the entry itself is told by id and number alone.
    """
    now = end_of(ledger)
    if now.ledger != known.ledger:
        return "is another ledger than the one that was there"
    if now.seq < known.seq:
        return (
            f"ends with entry {now.seq}, but this station has seen entry {known.seq}: an older copy lies "
            "there, or what was saved last was cut off (a copy without the -wal file beside it loses it)"
        )
    if now.seq == known.seq:
        there: str | None = now.hash
    else:
        with ledger.looking() as connection:
            there = connection.scalar(select(entry.c.hash).where(entry.c.seq == known.seq))
    unseen = there is None and ledger.on_server
    return None if unseen or there == known.hash else f"was rewritten at or before entry {known.seq}"


def witnessed(path: Path) -> End | None:
    """The last end noted in a witness: a file elsewhere, best on another disk, a line an end.

    None where there is none yet. Raises OSError, LedgerDamaged when its last line is no end.
    """
    try:
        lines = inflow.read_text(path).splitlines()
    except FileNotFoundError:
        return None
    except UnicodeDecodeError:
        lines = [""]
    if not lines:
        return None
    match lines[-1].split():
        case [_, ledger, last] if (seq := last.partition(":")[0]).isdecimal() and len(last) > len(seq) + 1:
            return End(ledger, int(seq), last.partition(":")[2])
    raise LedgerDamaged(f"The last line of {path} is no end of a ledger, so it bears witness to nothing.")


def bear_witness(path: Path, end: End, at: datetime) -> None:
    """Note an end after those already noted, on disk before this returns. Raises OSError."""
    no_link = getattr(os, "O_NOFOLLOW", 0)  # Windows has none
    handle = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT | no_link, 0o600)
    try:
        os.write(handle, f"{at:%Y-%m-%dT%H:%M:%SZ} {end.ledger} {end}\n".encode())
        os.fsync(handle)
    finally:
        os.close(handle)


class KnownEnd:
    """The end that this station last saw of one ledger, kept in a private file (0600) of its own."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self.end = self._read()

    def saw(self, end: End) -> None:
        """Keep a later end. It may lag: an earlier one is still true, so no save waits or fails for it."""
        if self.end is None or end.ledger != self.end.ledger or end.seq > self.end.seq:
            self.end = end
            with suppress(OSError):
                self._write(end)

    def forget(self) -> None:
        """Know nothing of what was there. Raises OSError."""
        self._path.unlink(missing_ok=True)
        self.end = None

    def _read(self) -> End | None:
        try:
            said = json.loads(self._path.read_text(encoding="utf-8"))
            return End(str(said["ledger"]), int(said["seq"]), str(said["hash"]))
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return None  # never seen, or torn by a power cut: the next opening is taken as the first

    def _write(self, end: End) -> None:
        self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = self._path.with_suffix(f".{os.getpid()}.new")
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        try:
            os.write(handle, json.dumps(asdict(end)).encode())
        finally:
            os.close(handle)
        part.replace(self._path)
