"""The end of a ledger as somebody last saw it: shows an older, another, cut or rewritten one in its place."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from sqlalchemy import select

from mobicard.ledger.database.schema import chain, entry, info
from mobicard.ledger.database.store import Store


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
