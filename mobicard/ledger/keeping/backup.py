"""Backup, restore, export, import: a whole second copy, made while others save, equal to the last hash."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from mobicard.ledger.database.faults import said
from mobicard.ledger.database.filekind import FORMAT, FileKind, kind_of
from mobicard.ledger.database.found import found, hanging
from mobicard.ledger.database.migrations import CURRENT
from mobicard.ledger.database.queries import PAGE, in_order, with_receipts
from mobicard.ledger.database.schema import chain, entry, info, person, purged, receipt, slot, stay
from mobicard.ledger.errors import (
    LedgerDamaged,
    LedgerError,
    LedgerFull,
    LedgerReadOnly,
    LedgerRefused,
    NotALedger,
    NotAllowed,
)
from mobicard.ledger.keeping.copying import copy_sqlite
from mobicard.ledger.keeping.verify import walk
from mobicard.ledger.staff.rights import LIMITS
from mobicard.ledger.staff.visit_numbers import VISIT_KEY
from mobicard.ledger.staffed import StaffedStore


def backup(ledger: StaffedStore, path: Path) -> Path:
    """A whole copy as of one moment, private (0600): a SQLite file from SQLite, JSON lines from a server.

    Others may save meanwhile. Raises LedgerRefused when the file is there already, LedgerFull,
    LedgerReadOnly, NotAllowed.
    """
    refuse_existing(path)
    ledger.staff.must_keep()
    if ledger.on_server:
        export_jsonl(ledger, path, secrets=True)
    else:
        copy_sqlite(Path(str(ledger.url.database)), path)
    return path


def export_jsonl(ledger: StaffedStore, path: Path, *, secrets: bool = False) -> int:
    """Everything as JSON lines, as of one moment: a header, the staff list, then every entry with its hash.

    Private (0600): it holds every patient's facts and, only if asked for, the secrets: what PINs were made
    into (a PIN is short enough to be found from that) and the key of visit numbers. Without them a staff list
    cannot be imported. Gives the number of entries.
    Raises LedgerRefused when the file is there already, LedgerFull, LedgerReadOnly, NotAllowed.
    """
    refuse_existing(path)
    if ledger.staff.bound_by_server:
        raise NotAllowed("Exporting everything takes the login that owns the ledger.")
    ledger.staff.must_keep()
    with ledger.looking() as connection:
        if ledger.on_server:
            connection.exec_driver_sql("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        return _write(path, _lines(connection, secrets=secrets))


def _write(path: Path, lines: Iterator[Mapping[str, Any]]) -> int:
    part = path.with_name(path.name + ".part")
    count = -1
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        part.unlink(missing_ok=True)
        handle = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            for line in lines:
                file.write(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n")
                count += "seq" in line and "hash" in line
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except PermissionError:
        raise LedgerReadOnly(f"{path} may not be written by you; choose another folder.") from None
    except OSError as cause:
        part.unlink(missing_ok=True)
        raise LedgerFull(
            f"{path} could not be written ({cause.strerror}); the ledger is untouched."
        ) from cause
    return count + 1


_SECRETS = ("salt", "cost", "verifier", "tries", "tried_at")


def _lines(connection: Connection, *, secrets: bool) -> Iterator[Mapping[str, Any]]:
    known = {row.name: row.value for row in connection.execute(select(info))}
    end = connection.execute(select(chain.c.seq, chain.c.hash)).one()
    head = {
        "format": FORMAT,
        "schema": CURRENT,
        "ledger": known["ledger"],
        "entries": end.seq,
        "end": end.hash,
    }
    kept = (*LIMITS, VISIT_KEY) if secrets else tuple(LIMITS)
    yield head | {name: known[name] for name in kept}
    for row in connection.execute(select(person).order_by(person.c.initials)):
        yield {
            "person": {name: said for name, said in row._asdict().items() if secrets or name not in _SECRETS}
        }
    for row in connection.execute(select(purged).order_by(purged.c.seq)):
        yield {"purged": row._asdict()}
    yield from (row._asdict() for row in in_order(connection, with_receipts()))


def import_jsonl(ledger: StaffedStore, path: Path) -> int:
    """Take a whole export into an empty ledger, all or nothing; gives the number of entries.

    Every entry keeps its place, id and hash, so the two ledgers are equal. Raises LedgerRefused when this
    ledger has entries, NotALedger when the file is no export, LedgerDamaged naming the line that cannot be
    read or does not fit, NotAllowed.
    """
    if ledger.staff.bound_by_server:
        raise NotAllowed("Importing everything takes the login that owns the ledger.")
    kind = kind_at(path)
    if kind is FileKind.SQLITE or kind is FileKind.TEXT:
        raise NotALedger(f"{path} is {kind.value}, not an export of a ledger. Nothing was changed.")
    with ledger.writing() as connection:
        if connection.scalar(select(func.count()).select_from(entry)) or connection.scalar(
            select(func.count()).select_from(person)
        ):
            raise LedgerRefused("This ledger is not empty; import into a new one. Nothing was changed.")
        count = _take_all(connection, path)
        report = walk(connection)
        if not report.ok:
            raise LedgerDamaged(
                f"The import from {path} does not check out: {report.says} Nothing was changed here."
            )
    ledger.staff.forget()
    return count


def _take_all(connection: Connection, path: Path) -> int:
    count, expected, page = 0, None, []
    for number, line in enumerate(_read_lines(path), start=1):
        if number == 1:
            expected = _take_head(connection, line, path)
        elif "person" in line or "purged" in line:
            _insert_beside(connection, line, f"Line {number} of {path}")
        else:
            page.append(line)
            count += 1
        if len(page) >= PAGE:
            _insert_page(connection, page, path)
            page = []
    _insert_page(connection, page, path)
    if expected is None:
        raise LedgerDamaged(f"{path} is empty: it is no export of a ledger. Nothing was changed.")
    gone = select(entry.c.stay).join(purged, purged.c.seq == entry.c.seq)
    for beside in (slot, found, hanging, stay):
        connection.execute(delete(beside).where(beside.c.stay.in_(gone)))
    if count != expected:
        raise LedgerDamaged(f"{path} ends too early: {count} of {expected} entries. Nothing was changed.")
    return count


def _insert_beside(connection: Connection, line: Mapping[str, Any], where: str) -> None:
    """One person, or the digest of one emptied body. Raises LedgerDamaged."""
    table, row = (person, line["person"]) if "person" in line else (purged, line["purged"])
    if isinstance(row, Mapping) and not row.keys() & set(_SECRETS) and "initials" in row:
        raise LedgerRefused(
            f"{where} is from an export without PINs, after which nobody could sign in. Nothing was changed; "
            "`mobicard ledger export --secrets` writes one that can be imported."
        )
    if not isinstance(row, Mapping) or set(row) != set(table.c.keys()):
        raise LedgerDamaged(f"{where} is no line of a staff list or a purge. Nothing was changed.")
    try:
        connection.execute(insert(table), dict(row))
    except (SQLAlchemyError, OverflowError) as cause:
        raise LedgerDamaged(f"{where} cannot be taken. Nothing was changed.") from cause


def _insert_page(connection: Connection, page: list[Mapping[str, Any]], path: Path) -> None:
    if not page:
        return
    came = [{"seq": line.get("seq"), "at": line["received"]} for line in page if line.get("received")]
    rows = [{name: said for name, said in line.items() if name != "received"} for line in page]
    try:
        if came:
            connection.execute(insert(receipt), came)
        connection.execute(insert(entry), rows)
    except Exception as cause:
        _say_if_full(cause, path)
        raise LedgerDamaged(
            f"An entry of {path} between {page[0].get('seq')} and {page[-1].get('seq')} does not "
            "fit the one before it: the file was changed after it was written. Nothing was changed here."
        ) from cause


def _say_if_full(cause: Exception, path: Path) -> None:
    """A disk without room is no fault of the file that was read. Raises LedgerFull."""
    if isinstance(cause, DBAPIError) and isinstance(said(cause, "here"), LedgerFull):
        raise LedgerFull(f"No room is left for what {path} holds. Nothing was changed here.") from cause


_HEAD = {"schema", "entries", "ledger", "attempts", "pause_min"}


def _take_head(connection: Connection, head: Mapping[str, Any], path: Path) -> int:
    if head.get("format") != FORMAT:
        raise LedgerDamaged(f"{path} is not an export of a mobicard ledger.")
    if not head.keys() >= _HEAD or not all(type(head[name]) is int for name in ("schema", "entries")):
        raise LedgerDamaged(f"Line 1 of {path} lacks what an export says of itself. Nothing was changed.")
    if head["schema"] > CURRENT:
        raise LedgerRefused(f"{path} was written by a newer mobicard; update this one first.")
    for name in ("ledger", *({*LIMITS, VISIT_KEY} & head.keys())):
        connection.execute(update(info).where(info.c.name == name).values(value=str(head[name])))
    return int(head["entries"])


def _read_lines(path: Path) -> Iterator[Mapping[str, Any]]:
    number = 0
    try:
        with path.open(encoding="utf-8") as file:
            for text in file:
                number += 1
                line = json.loads(text)
                if not isinstance(line, Mapping):
                    raise ValueError("not an object")
                yield line
    except OSError as cause:
        raise LedgerError(f"{path} cannot be read ({cause.strerror}).") from cause
    except (ValueError, RecursionError) as cause:
        raise LedgerDamaged(
            f"Line {number} of {path} cannot be read ({cause}). Nothing was changed."
        ) from cause


def refuse_existing(path: Path) -> None:
    """Raise LedgerRefused where something is there."""
    if os.path.lexists(path):  # a link to nothing too: what it names would be made
        raise LedgerRefused(f"{path} is there already; choose another name. Nothing was overwritten.")


def kind_at(path: Path) -> FileKind:
    """What lies at a path. Raises LedgerError when it cannot be read."""
    try:
        return kind_of(path)
    except OSError as cause:
        raise LedgerError(f"The backup at {path} cannot be read ({cause.strerror}).") from cause
