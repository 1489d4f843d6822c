"""Appending within one transaction: recognise retries, refuse what contradicts, number, chain, insert."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection, Row, insert, select, text

from mobicard.ledger.conflict import SaveConflict
from mobicard.ledger.database.queries import entry_from, entry_of
from mobicard.ledger.database.schema import chain, entry, stay
from mobicard.ledger.entry import (
    BODY_SCHEMA,
    FACT_KINDS,
    RECEIVED,
    Entry,
    NewEntry,
    body_text,
    chain_hash,
    digest_of,
    time_text,
)
from mobicard.ledger.errors import BedTaken, LedgerRefused
from mobicard.ledger.state import bed_of

WRITER_LOCK = 7_201_934
"""Any number, the same everywhere: PostgreSQL lets one appender in at a time, so seq is commit order."""


def hold_writers(connection: Connection) -> None:
    """Wait until no other station appends. SQLite did this already with BEGIN IMMEDIATE."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITER_LOCK})


def append(connection: Connection, entries: Sequence[NewEntry]) -> tuple[Entry, ...]:
    """Append these in a transaction already begun for writing; see Ledger.append."""
    hold_writers(connection)
    known = _known(connection, entries)
    fresh = [new for new in entries if new.id not in known]
    if fresh:
        heads = _heads(connection, {new.stay for new in fresh})
        for new in fresh:
            _check(connection, new, heads.get(new.stay), entries)
        rows = _number(connection, fresh, heads)
        connection.execute(insert(entry), rows)
        known |= {row["id"]: entry_from(row) for row in rows}
    return tuple(known[new.id] for new in entries)


def _known(connection: Connection, entries: Sequence[NewEntry]) -> dict[str, Entry]:
    """Those that an earlier try already saved, by id."""
    if len({new.id for new in entries}) != len(entries):
        raise LedgerRefused("Two entries carry the same id. Nothing was saved.")
    known: dict[str, Entry] = {}
    for start in range(0, len(entries), 500):  # SQLite takes a bounded number of parameters
        ids = [new.id for new in entries[start : start + 500]]
        for row in connection.execute(select(entry).where(entry.c.id.in_(ids))):
            known[row.id] = entry_of(row)
    for new in entries:
        there = known.get(new.id)
        if there and (there.stay, there.kind, _said(there)) != (new.stay, new.kind, _said(new)):
            raise LedgerRefused(
                "An entry with this id but other contents is already there. Nothing was saved."
            )
    return known


def _said(one: Entry | NewEntry) -> str:
    """The body but for when it was received, which each try of a held save says anew."""
    return body_text({name: value for name, value in one.body.items() if name != RECEIVED})


def _heads(connection: Connection, stays: Iterable[str]) -> dict[str, Row[Any]]:
    wanted = sorted(stays)
    heads: dict[str, Row[Any]] = {}
    for start in range(0, len(wanted), 500):
        rows = connection.execute(select(stay).where(stay.c.stay.in_(wanted[start : start + 500])))
        heads |= {row.stay: row for row in rows}
    return heads


def _check(connection: Connection, new: NewEntry, head: Row[Any] | None, batch: Sequence[NewEntry]) -> None:
    """Refuse a save over unseen facts, a second admission, a bed that is held."""
    if new.expect is not None and head is not None and head.fact_version > new.expect:
        raise SaveConflict(new.stay, new.expect, _facts_since(connection, new.stay, new.expect))
    if new.kind == "admit" and head is not None:
        raise LedgerRefused("This patient was already admitted; move or readmit instead. Nothing was saved.")
    if head is None and not new.stay.startswith("*") and not _begins(new, batch):
        raise LedgerRefused("This patient is not in the ledger; admit first. Nothing was saved.")
    if new.kind == "correct":
        wrong = new.body.get("corrects")
        if head is None or type(wrong) is not int or not 1 <= wrong <= head.version:
            raise LedgerRefused(
                "A correction names which entry of this patient was wrong. Nothing was saved."
            )
    if new.kind in {"admit", "move", "readmit"} or (new.kind == "record" and head is None):
        _check_bed(connection, new, batch)


def _begins(new: NewEntry, batch: Sequence[NewEntry]) -> bool:
    """Whether this entry, or one before it in the same save, begins the stay."""
    earlier = batch[: batch.index(new) + 1]
    return any(one.stay == new.stay and one.kind in {"admit", "record"} for one in earlier)


def _check_bed(connection: Connection, new: NewEntry, batch: Sequence[NewEntry]) -> None:
    bed = bed_of(new.body)
    if not isinstance(bed, str) or not bed.strip():
        raise LedgerRefused("An admission or a move needs the bed. Nothing was saved.")
    partner = new.body.get("swap")
    if partner and not any(other.stay == partner and other.body.get("swap") == new.stay for other in batch):
        raise LedgerRefused("Two patients change beds together or not at all. Nothing was saved.")
    holder = connection.scalar(select(stay.c.stay).where(stay.c.bed == bed))
    leaving = {partner} | {other.stay for other in batch if other.kind in {"discharge", "merge", "move"}}
    if holder is not None and holder != new.stay and holder not in leaving:
        raise BedTaken(bed, holder)


def _facts_since(connection: Connection, which: str, version: int) -> list[Entry]:
    query = select(entry).where(
        entry.c.stay == which, entry.c.version > version, entry.c.kind.in_(FACT_KINDS)
    )
    return [entry_of(row) for row in connection.execute(query.order_by(entry.c.version))]


def _number(
    connection: Connection, fresh: Sequence[NewEntry], heads: Mapping[str, Row[Any]]
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
