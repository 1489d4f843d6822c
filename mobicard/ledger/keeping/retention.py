"""The end of retention: removing what was said of patients long gone, only after an export of it was written.

Entries are never deleted. A purge empties the bodies of a stay's entries and keeps each body's digest, so
the chain still checks; the entry's place, time, kind and the initials of who made it stay. The triggers
allow this one change and no other, and the purge is itself an entry that names the stays and the export's
SHA-256. Older backups, and a copy kept before a migration, still hold what was purged: their keeping is the
facility's to decide.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Connection, delete, insert, select, update

from mobicard.ledger import appending
from mobicard.ledger.database.found import found, hanging
from mobicard.ledger.database.schema import entry, purged, receipt, slot, stay
from mobicard.ledger.entry import OFFICE, Entry, NewEntry, digest_of, time_text
from mobicard.ledger.errors import LedgerFull, LedgerReadOnly, LedgerRefused, NotAllowed
from mobicard.ledger.keeping.beside import readable_body
from mobicard.ledger.staffed import StaffedStore
from mobicard.rules.policy import RetentionPolicy


def expired_stays(ledger: StaffedStore, policy: RetentionPolicy, now: datetime) -> list[str]:
    """Stays that ended longer ago than the policy keeps them, oldest first; ``now`` is aware.

    By when their last entry came in as well as by when it says they ended, and at the latest by the ledger's
    own clock: no told time ends them early. Stays that were merged are kept or let go together.
    """
    with ledger.looking() as connection:
        limit = time_text(min(now, machine_now(connection)) - timedelta(days=policy.days_after_discharge))
        came = select(entry.c.stay).join(receipt, receipt.c.seq == entry.c.seq).where(receipt.c.at >= limit)
        query = select(stay.c.stay).where(stay.c.closed_at < limit, stay.c.stay.not_in(came))
        query = query.where(stay.c.bed.is_(None)).order_by(stay.c.closed_at)
        ended = list(connection.scalars(query))
        joined = _joined(connection)
    return [which for which in ended if joined.get(which, set()) <= set(ended)]


def machine_now(connection: Connection) -> datetime:
    """The clock of the machine that keeps the ledger, aware."""
    if connection.dialect.name == "sqlite":
        said = connection.exec_driver_sql("SELECT strftime('%Y-%m-%dT%H:%M:%f+00:00', 'now')").scalar_one()
        return datetime.fromisoformat(said)
    at: datetime = connection.exec_driver_sql("SELECT clock_timestamp()").scalar_one()
    return at.astimezone(UTC)


def _joined(connection: Connection) -> dict[str, set[str]]:
    """For each stay that was merged with others: all of them that still say something, itself included."""
    known = set(connection.scalars(select(stay.c.stay)))
    groups: dict[str, set[str]] = {}
    for row in connection.execute(select(entry.c.stay, entry.c.body).where(entry.c.kind == "merge")):
        body = readable_body(row.body)
        other = body.get("into") if body else None
        if not isinstance(other, str):
            continue
        whole = groups.get(row.stay, {row.stay}) | groups.get(other, {other})
        groups |= dict.fromkeys(whole, whole)
    return {which: group & known for which, group in groups.items()}


def purge(ledger: StaffedStore, stays: Sequence[str], export: Path, by: str, at: datetime) -> Entry | None:
    """Write these stays' entries to ``export``, then empty their bodies; gives the entry that says so.

    Raises LedgerRefused when a stay has not ended or the file is there already, LedgerFull or
    LedgerReadOnly when the export cannot be written (nothing is purged then), NotAllowed unless by a
    keeper.
    """
    if not stays:
        return None
    if ledger.staff.bound_by_server:
        raise NotAllowed("Ending retention takes the login that owns the ledger.")
    new = NewEntry(OFFICE, "purge", at, by)
    ledger.staff.check([new], None)
    with ledger.writing() as connection:
        appending.hold_writers(connection)
        _refuse_open(connection, stays)
        count, digest = _write_export(connection, stays, export)
        body = {"stays": sorted(stays), "entries": count, "export": export.name, "sha256": digest}
        (said,) = appending.append(connection, [NewEntry(OFFICE, "purge", at, by, body, id=new.id)])
        _empty(connection, stays)
    if not ledger.on_server:
        with ledger.looking() as connection:  # no readable rest in the log beside the file
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.exec_driver_sql("BEGIN")
    return said


def _refuse_open(connection: Connection, stays: Sequence[str]) -> None:
    over = select(stay.c.stay).where(stay.c.bed.is_(None), stay.c.closed_at.is_not(None))
    ended, joined = set(connection.scalars(over)) - {OFFICE}, _joined(connection)
    for which in stays:
        if not joined.get(which, set()) | {which} <= ended:
            raise LedgerRefused(
                "A stay that has not ended, is not there, or was merged with one that has not ended, cannot "
                "be purged. Nothing was changed."
            )


def _write_export(connection: Connection, stays: Sequence[str], export: Path) -> tuple[int, str]:
    """The entries as JSON lines, private and on disk before anything is emptied."""
    query = select(entry).where(entry.c.stay.in_(stays)).order_by(entry.c.seq)
    lines = [json.dumps(row._asdict(), ensure_ascii=False) + "\n" for row in connection.execute(query)]
    data = "".join(lines).encode()
    try:
        export.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle = os.open(export, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
    except FileExistsError:
        raise LedgerRefused(f"{export} is there already; choose another name. Nothing was purged.") from None
    except PermissionError:
        raise LedgerReadOnly(f"{export} may not be written by you. Nothing was purged.") from None
    except OSError as cause:
        raise LedgerFull(f"{export} could not be written ({cause.strerror}). Nothing was purged.") from cause
    return len(lines), hashlib.sha256(data).hexdigest()


def _empty(connection: Connection, stays: Sequence[str]) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA secure_delete=ON")
    there = connection.execute(
        select(entry.c.seq, entry.c.body).where(entry.c.stay.in_(stays), entry.c.body != "")
    )
    digests = [{"seq": row.seq, "digest": digest_of(row.body)} for row in there]
    connection.execute(insert(purged), digests)
    connection.execute(update(entry).where(entry.c.stay.in_(stays), entry.c.body != "").values(body=""))
    for beside in (slot, found, hanging, stay):
        connection.execute(delete(beside).where(beside.c.stay.in_(stays)))
