"""The Ledger: append entries, read what stands, on SQLite and PostgreSQL by one code path."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Engine, Row, Select, func, insert, select, text
from sqlalchemy.engine import URL

from mobicard.ledger.engine import connect, ledger_url, shown
from mobicard.ledger.entry import (
    BODY_SCHEMA,
    FACT_KINDS,
    KEEPING_KINDS,
    OFFICE,
    Entry,
    NewEntry,
    body_from,
    body_text,
    chain_hash,
    digest_of,
    time_text,
)
from mobicard.ledger.errors import BedTaken, LedgerRefused, SaveConflict
from mobicard.ledger.faults import guarded
from mobicard.ledger.migrations import bring_up_to_date
from mobicard.ledger.schema import chain, entry, slot, stay
from mobicard.ledger.state import WITHDRAWABLE, StayState, fold

RECENT = timedelta(hours=36)
"""How far back the board looks for ticks and reads: the shift in hand and the one before, with room to spare."""

_RECENT_KINDS = ("tick", "read")
_LOCK = 7_201_934  # any number, the same for every mobicard: serialises appends on PostgreSQL


class Ledger:
    """Who recorded what, when. Every method raises a LedgerError with a sentence for the person at the screen."""

    def __init__(self, engine: Engine, url: URL) -> None:
        self._engine = engine
        self._writer = engine.execution_options(writes=True)
        self._url = url
        self._postgres = engine.dialect.name == "postgresql"

    @classmethod
    def open(cls, url: str | Path | None = None, *, create: bool = True) -> Self:
        """Open the ledger at a URL or path, else ``$MOBICARD_LEDGER``, else the user's data folder; made on first use.

        Raises LedgerNewer, LedgerUnreachable, LedgerReadOnly, LedgerDamaged, LedgerBusy.
        """
        where = ledger_url(url)
        ledger = cls(connect(where, create=create), where)
        with guarded(ledger.where):
            bring_up_to_date(ledger._engine, where)
        return ledger

    @property
    def where(self) -> str:
        """The ledger's place as it may be shown: a path, or an address without its password."""
        return shown(self._url)

    def close(self) -> None:
        """Let go of every connection."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- writing ---------------------------------------------------------------------------------

    def append(self, *entries: NewEntry) -> tuple[Entry, ...]:
        """Save all of these or none; returns once they are on disk, in the order given.

        An entry whose id is already there is returned as it stands, so a retry never doubles it.
        Raises SaveConflict, BedTaken, LedgerRefused, LedgerBusy, LedgerFull, LedgerReadOnly, LedgerUnreachable.
        """
        if not entries:
            return ()
        with guarded(self.where), self._writer.begin() as connection:
            if self._postgres:
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
            return self._append(connection, entries)

    def _append(self, connection: Connection, entries: Sequence[NewEntry]) -> tuple[Entry, ...]:
        """Within one transaction that holds the writer's lock: check, number, chain, insert."""
        known = self._known(connection, entries)
        fresh = [new for new in entries if new.id not in known]
        if fresh:
            heads = self._heads(connection, {new.stay for new in fresh})
            for new in fresh:
                self._check(connection, new, heads.get(new.stay), entries)
            rows = self._number(connection, fresh, heads)
            connection.execute(insert(entry), rows)
            known |= {row["id"]: entry_from(row) for row in rows}
        return tuple(known[new.id] for new in entries)

    def _known(self, connection: Connection, entries: Sequence[NewEntry]) -> dict[str, Entry]:
        rows = connection.execute(select(entry).where(entry.c.id.in_([new.id for new in entries])))
        known = {row.id: _entry(row) for row in rows}
        for new in entries:
            there = known.get(new.id)
            if there and (there.stay, there.kind, body_text(there.body)) != (
                new.stay,
                new.kind,
                body_text(new.body),
            ):
                raise LedgerRefused(
                    "An entry with this id but other contents is already there. Nothing was saved."
                )
        return known

    def _heads(self, connection: Connection, stays: Iterable[str]) -> dict[str, Row[Any]]:
        rows = connection.execute(select(stay).where(stay.c.stay.in_(list(stays))))
        return {row.stay: row for row in rows}

    def _check(
        self, connection: Connection, new: NewEntry, head: Row[Any] | None, batch: Sequence[NewEntry]
    ) -> None:
        """Refuse what contradicts the ledger: a save over unseen facts, a bed that is held, a second admission."""
        if new.expect is not None and head is not None and head.fact_version > new.expect:
            raise SaveConflict(new.stay, new.expect, self._facts_since(connection, new.stay, new.expect))
        if new.kind == "admit" and head is not None and head.version > 0:
            raise LedgerRefused(
                "This patient was already admitted; move or readmit instead. Nothing was saved."
            )
        takes_bed = new.kind in {"admit", "move", "readmit"} or (new.kind == "record" and head is None)
        if takes_bed:
            self._check_bed(connection, new, batch)

    def _check_bed(self, connection: Connection, new: NewEntry, batch: Sequence[NewEntry]) -> None:
        bed = new.body.get("bed") or (new.body.get("record") or {}).get("bed")
        if not isinstance(bed, str) or not bed.strip():
            raise LedgerRefused("An admission or a move needs the bed. Nothing was saved.")
        leaving = {other.stay for other in batch if other.kind in {"discharge", "merge", "move"}}
        holder = connection.scalar(select(stay.c.stay).where(stay.c.bed == bed))
        if holder is not None and holder != new.stay and holder not in leaving:
            raise BedTaken(bed, holder)

    def _facts_since(self, connection: Connection, which: str, version: int) -> list[Entry]:
        query = select(entry).where(
            entry.c.stay == which, entry.c.version > version, entry.c.kind.in_(FACT_KINDS)
        )
        return [_entry(row) for row in connection.execute(query.order_by(entry.c.version))]

    def _number(
        self, connection: Connection, fresh: Sequence[NewEntry], heads: Mapping[str, Row[Any]]
    ) -> list[dict[str, Any]]:
        """Rows in order: the next seq and version, each chained to the one before."""
        last = connection.execute(select(chain.c.seq, chain.c.hash)).one()
        seq, prev = last.seq, last.hash
        versions = {which: head.version for which, head in heads.items()}
        rows = []
        for new in fresh:
            seq += 1
            versions[new.stay] = versions.get(new.stay, 0) + 1
            row: dict[str, Any] = {
                "seq": seq,
                "id": new.id,
                "stay": new.stay,
                "version": versions[new.stay],
                "kind": new.kind,
                "at": time_text(new.at),
                "by": new.by,
                "schema": BODY_SCHEMA,
                "body": body_text(new.body),
                "prev": prev,
            }
            row["hash"] = prev = chain_hash(row, digest_of(row["body"]))
            rows.append(row)
        return rows

    # -- reading ---------------------------------------------------------------------------------

    def latest(self, which: str) -> StayState | None:
        """What stands for one stay now; None when the ledger does not know it."""
        return fold(self.history(which))

    def beds(self, at: datetime | None = None) -> list[StayState]:
        """Every patient in a bed now, or as the ledger had it at a time, by bed; a few queries however many beds."""
        with guarded(self.where), self._engine.connect() as connection:
            newest = _newest_now() if at is None else _newest_at(time_text(at))
            found = self._group(connection.execute(newest))
            for row in connection.execute(_recent(at or _last_at(connection))):
                if row.stay in found:
                    found[row.stay].append(_entry(row))
            for which in [which for which, entries in found.items() if _withdraws(entries)]:
                found[which] = self._read(connection, which, at)
        states = [
            state for entries in found.values() if (state := fold(entries)) and state.open and state.bed
        ]
        return sorted(states, key=lambda state: state.bed)

    def history(self, which: str) -> list[Entry]:
        """Every entry of one stay, oldest first."""
        with guarded(self.where), self._engine.connect() as connection:
            return self._read(connection, which)

    def entries(self, since_seq: int = 0, kinds: Sequence[str] | None = None) -> Iterator[Entry]:
        """Every entry after ``since_seq`` in the order saved, all kinds or these; read in pages, never all at once."""
        page = 1000
        while True:
            query = select(entry).where(entry.c.seq > since_seq).order_by(entry.c.seq).limit(page)
            if kinds is not None:
                query = query.where(entry.c.kind.in_(list(kinds)))
            with guarded(self.where), self._engine.connect() as connection:
                found = [_entry(row) for row in connection.execute(query)]
            yield from found
            if len(found) < page:
                return
            since_seq = found[-1].seq

    def change_token(self) -> int:
        """A number that grows with every save, whoever makes it."""
        with guarded(self.where), self._engine.connect() as connection:
            return int(connection.scalar(select(chain.c.seq)) or 0)

    def _read(self, connection: Connection, which: str, at: datetime | None = None) -> list[Entry]:
        query = select(entry).where(entry.c.stay == which).order_by(entry.c.version)
        if at is not None:
            query = query.where(entry.c.at <= time_text(at))
        return [_entry(row) for row in connection.execute(query)]

    @staticmethod
    def _group(rows: Iterable[Row[Any]]) -> dict[str, list[Entry]]:
        found: dict[str, list[Entry]] = {}
        for row in rows:
            found.setdefault(row.stay, []).append(_entry(row))
        return found


def _entry(row: Row[Any]) -> Entry:
    return entry_from(row._asdict())


def entry_from(row: Mapping[str, Any]) -> Entry:
    """An Entry from a row's columns by name."""
    values = dict(row)
    values["at"] = datetime.fromisoformat(values["at"])
    values["body"] = body_from(values["body"])
    return Entry(**values)


def _withdraws(entries: Sequence[Entry]) -> bool:
    """Whether a correction names one of these, so that the newest of each kind is not the whole story."""
    wrong = {one.body.get("wrong") for one in entries if one.kind == "correct"}
    return any(one.version in wrong and one.kind in WITHDRAWABLE for one in entries)


def _newest_now() -> Select[Any]:
    """The newest entry of each kind, for each stay that holds a bed."""
    held = slot.join(stay, stay.c.stay == slot.c.stay).join(entry, entry.c.seq == slot.c.seq)
    return select(entry).select_from(held).where(stay.c.bed.is_not(None))


def _newest_at(at: str) -> Select[Any]:
    """The newest entry of each kind up to a time, for each stay that can have been in a bed then."""
    older = entry.alias("older")
    kinds = (
        select(stay.c.stay, entry.c.kind)
        .join(entry, entry.c.stay == stay.c.stay)
        .where(stay.c.opened_at <= at, func.coalesce(stay.c.closed_at, at) >= at)
        .where(entry.c.kind.not_in(_RECENT_KINDS + KEEPING_KINDS), stay.c.stay != OFFICE)
        .distinct()
        .subquery()
    )
    newest = (
        select(older.c.seq)
        .where(older.c.stay == kinds.c.stay, older.c.kind == kinds.c.kind, older.c.at <= at)
        .order_by(older.c.version.desc())
        .limit(1)
        .scalar_subquery()
    )
    return select(entry).where(entry.c.seq.in_(select(newest).select_from(kinds)))


def _last_at(connection: Connection) -> datetime:
    """When the newest entry was written: by seq, so that a clock set wrong once does not hide what follows."""
    last = connection.scalar(select(entry.c.at).order_by(entry.c.seq.desc()).limit(1))
    return datetime.fromisoformat(last) if last else datetime.max.replace(tzinfo=UTC)


def _recent(at: datetime) -> Select[Any]:
    """Ticks and reads of the last day and a half before a time."""
    query = select(entry).where(entry.c.kind.in_(_RECENT_KINDS)).order_by(entry.c.seq)
    return query.where(entry.c.at <= time_text(at), entry.c.at >= time_text(at - RECENT))
