"""Look-ups by index: what costs the same with three years behind it as with a month."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, func, or_, select

from mobicard.ledger.database.found import found, hanging, set_back
from mobicard.ledger.database.queries import entry_of
from mobicard.ledger.database.schema import entry, receipt, slot, stay
from mobicard.ledger.entry import OFFICE, Entry, moment_of, time_text
from mobicard.ledger.staffed import StaffedStore

MOST = 500
"""Names in one question; SQLite takes a bounded number."""


class LookUps(StaffedStore):
    """Finding stays and entries by a name. Every method raises a LedgerError with its sentence."""

    def stays_of(self, what: str, name: str) -> list[str]:
        """The stays that a ``bed``, a printed ``code`` or a ``batch`` belongs to, spelled as it is here."""
        with self.reading() as connection:
            return self._column(connection, found.c.stay, found.c.what == what, found.c.name == name)

    def beds_ever(self) -> list[str]:
        """Every bed that a stay was ever in; a step of the index each, however many stays."""
        beds: list[str] = []
        least = select(func.min(found.c.name)).where(found.c.what == "bed")
        with self.reading() as connection:
            bed = connection.scalar(least)
            while bed is not None:
                beds.append(bed)
                bed = connection.scalar(least.where(found.c.name > bed))
        return beds

    def hanging(self) -> dict[str, tuple[str, str]]:
        """The door card that hangs for each stay, and the bed whose door it hangs on; oldest first."""
        with self.reading() as connection:
            rows = connection.execute(select(hanging).order_by(hanging.c.seq))
            return {row.stay: (row.code, row.bed) for row in rows}

    def of_kinds(self, stays: Iterable[str], kinds: Collection[str]) -> Iterator[Entry]:
        """The entries of these kinds of these stays, each stay's oldest first."""
        for some in _few(stays):
            query = select(entry).where(entry.c.stay.in_(some), entry.c.kind.in_(sorted(kinds)))
            with self.reading() as connection:
                rows = connection.execute(query.order_by(entry.c.stay, entry.c.version)).all()
            yield from map(entry_of, rows)

    def newest_of(self, stays: Iterable[str], kinds: Collection[str]) -> dict[str, Entry]:
        """The newest entry of these kinds of each stay."""
        newest: dict[str, Entry] = {}
        for some in _few(stays):
            query = select(entry).join(slot, slot.c.seq == entry.c.seq)
            query = query.where(slot.c.stay.in_(some), entry.c.kind.in_(sorted(kinds)))
            with self.reading() as connection:
                rows = connection.execute(query.order_by(entry.c.seq)).all()
            newest |= {one.stay: one for one in map(entry_of, rows)}
        return newest

    def newest_first(self, kind: str, since: datetime | None = None) -> Iterator[Entry]:
        """The entries of a kind, the last saved first; ``since``: made then or later, by their own clocks."""
        query = select(entry).where(entry.c.kind == kind).order_by(entry.c.seq.desc()).limit(20)
        if since is not None:
            query = query.where(entry.c.at >= time_text(since))
        before: int | None = None
        while True:
            asked = query if before is None else query.where(entry.c.seq < before)
            with self.reading() as connection:
                page = [entry_of(row) for row in connection.execute(asked)]
            yield from page
            if len(page) < 20:
                return
            before = page[-1].seq

    def whole(self, stays: Iterable[str], by: str | None = None) -> list[Entry]:
        """Every entry of these stays in the order saved; of the office's only those made ``by`` somebody."""
        rows: list[Any] = []
        for some in _few(stays):
            query = select(entry).where(entry.c.stay.in_(some))
            if by is not None:
                query = query.where(or_(entry.c.stay != OFFICE, entry.c.by == by))
            with self.reading() as connection:
                rows += connection.execute(query).all()
        return sorted(map(entry_of, rows), key=lambda one: one.seq)

    def touched_by(self, person: str) -> list[str]:
        """The stays of which somebody made an entry."""
        with self.reading() as connection:
            return self._column(connection, entry.c.stay, entry.c.by == person)

    def ended_before(self, stays: Iterable[str], at: datetime) -> set[str]:
        """Those of these stays that were over before a time."""
        ended: set[str] = set()
        for some in _few(stays):
            query = select(stay.c.stay).where(stay.c.stay.in_(some), stay.c.closed_at < time_text(at))
            with self.reading() as connection:
                ended |= set(connection.scalars(query))
        return ended

    def last_of(self, stays: Iterable[str]) -> list[str]:
        """Those of these stays that are not over, and the last that was."""
        ends: dict[str, str | None] = {}
        for some in _few(stays):
            with self.reading() as connection:
                rows = connection.execute(select(stay.c.stay, stay.c.closed_at).where(stay.c.stay.in_(some)))
                ends |= {row.stay: row.closed_at for row in rows}
        newest = max((end for end in ends.values() if end), default=None)
        return [which for which, end in ends.items() if end in (None, newest)]

    def newest_before(self, seqs: Sequence[int]) -> Mapping[int, datetime]:
        """The newest time the ledger had seen before those of these entries that tell an earlier minute."""
        told: dict[int, datetime] = {}
        for start in range(0, len(seqs), MOST):
            query = select(set_back).where(set_back.c.seq.in_(seqs[start : start + MOST]))
            with self.reading() as connection:
                told |= {row.seq: datetime.fromisoformat(row.newest) for row in connection.execute(query)}
        return told

    def receipts(self, seqs: Sequence[int] | None = None) -> dict[int, datetime]:
        """When entries came in, all or these, by the clock of the machine that keeps the ledger."""
        came: dict[int, datetime] = {}
        parts = (
            [None] if seqs is None else [seqs[start : start + MOST] for start in range(0, len(seqs), MOST)]
        )
        for part in parts:
            query = select(receipt.c.seq, receipt.c.at)
            query = query if part is None else query.where(receipt.c.seq.in_(part))
            with self.reading() as connection:
                came |= {row.seq: at for row in connection.execute(query) if (at := moment_of(row.at))}
        return came

    @staticmethod
    def _column(connection: Any, column: Any, *where: ColumnElement[bool]) -> list[str]:
        return list(connection.scalars(select(column).where(*where).distinct().order_by(column)))


def _few(stays: Iterable[str]) -> Iterator[list[str]]:
    wanted = sorted(set(stays))
    return (wanted[start : start + MOST] for start in range(0, len(wanted), MOST))
