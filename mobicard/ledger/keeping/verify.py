"""The chain: checking that no entry was changed, removed or slipped in; rebuilding what is kept beside it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection, Row, Table, delete, func, select, text

from mobicard.ledger.database.found import TABLES, Found, found, found_in, hanging
from mobicard.ledger.database.guards import odd_guards
from mobicard.ledger.database.queries import in_order, odd_types
from mobicard.ledger.database.schema import chain, entry, info, person, purged, receipt, slot, stay
from mobicard.ledger.entry import FIRST_PREV, OFFICE, body_from, chain_hash, digest_of
from mobicard.ledger.errors import LedgerDamaged, NotAllowed
from mobicard.ledger.keeping.beside import Kept, odd_stays, readable_body
from mobicard.ledger.staff.rights import LIMITS
from mobicard.ledger.staffed import StaffedStore
from mobicard.rules.policy import AccessPolicy


@dataclass(frozen=True, slots=True)
class VerifyReport:
    """What checking the chain found. ``broken_seq`` is the first entry that does not fit, if one does not.

    ``seq`` and ``hash`` are the chain's end as checked: written down elsewhere (on paper, in a backup's
    name) and given back as ``known``, they show whether the ledger was since rewritten or cut. Without
    that, a ledger whose every hash was computed anew, head included, cannot be told from an honest one.
    """

    ok: bool
    says: str
    checked: int
    seq: int
    hash: str
    broken_seq: int | None = None
    broken_id: str | None = None


def verify(ledger: StaffedStore, known: tuple[int, str] | None = None) -> VerifyReport:
    """Check every entry in order, the chain's end, the staff list, what is kept beside, and the guards.

    Raises LedgerDamaged when the file itself cannot be read, NotAllowed when this login may not read it all.
    """
    if ledger.staff.bound_by_server and not (ledger.staff.person and ledger.staff.person.role == "keeper"):
        raise NotAllowed("Checking the whole ledger is for its keeper; sign in as keeper.")
    with ledger.looking() as connection:
        _check_file(connection)
        return walk(connection, known, bound=ledger.staff.bound_by_server)


def walk(
    connection: Connection, known: tuple[int, str] | None = None, *, bound: bool = False
) -> VerifyReport:
    """As ``verify``, within a transaction already begun; ``bound`` by a server that hides secrets."""
    digests = {row.seq: row.digest for row in connection.execute(select(purged))}
    emptied: dict[str, Row[Any]] = {}
    expected: dict[str, Kept] = {}
    names, seq, prev, seen = Found(), 0, FIRST_PREV, False
    for row in in_order(connection):
        kept = expected.setdefault(row.stay, Kept())
        wrong = _wrong(row, seq, prev, kept.version, digests)
        if wrong:
            return _broken(row, seq, prev, wrong)
        seq, prev = row.seq, row.hash
        body = readable_body(row.body)
        if body is None:
            return _broken(row, seq - 1, row.prev, "what it says is no JSON object")
        kept.take(row, body)
        names.take(row, body)
        seen = seen or known == (seq, prev)
        if row.body == "":
            emptied.setdefault(row.stay, row)
        elif row.kind == "purge":
            for which in map(str, body.get("stays", ())):
                emptied.pop(which, None)
                expected.pop(which, None)
    report = VerifyReport(True, f"All {seq} entries fit; the chain ends in {prev[:12]}.", seq, seq, prev)
    return (
        _cut_off(report, connection)
        or _emptied_unsaid(report, emptied)
        or _not_as_known(report, known, seen)
        or _odd_person(report, connection, bound=bound)
        or _odd_limits(report, connection)
        or _odd_beside(report, connection, expected, names, (found, hanging) if digests else TABLES)
        or _odd_receipts(report, connection)
        or _odd_guards(report, connection)
        or report
    )


def _wrong(row: Row[Any], seq: int, prev: str, version: int, digests: dict[int, str]) -> str | None:
    if odd_types(row):
        return "part of it cannot be read"
    if row.seq != seq + 1:
        return f"the {row.seq - seq - 1} before it are missing"
    if row.prev != prev:
        return "it does not follow the one before it"
    body = digests.get(row.seq, "") if row.body == "" else digest_of(row.body)
    if row.hash != chain_hash(row._asdict(), body):
        return "what it says was changed after it was saved"
    if row.version != version + 1:
        return "its stay's numbering has a gap"
    return None


def _broken(row: Row[Any], seq: int, prev: str, wrong: str) -> VerifyReport:
    says = (
        f"Entry {row.seq} ({row.kind} by {row.by}, {row.at}) does not fit: {wrong}. The {seq} "
        "before it are whole. Keep this ledger as it is for inquiry and compare it with the last backup."
    )
    return VerifyReport(False, says, seq, seq, prev, row.seq, row.id)


def _failed(report: VerifyReport, says: str, seq: int | None = None) -> VerifyReport:
    return VerifyReport(False, says, report.checked, report.seq, report.hash, seq)


def _cut_off(report: VerifyReport, connection: Connection) -> VerifyReport | None:
    head = connection.execute(select(chain.c.seq, chain.c.hash)).one_or_none()
    if head is not None and (head.seq, head.hash) == (report.seq, report.hash):
        return None
    missing = (head.seq if head and isinstance(head.seq, int) else 0) - report.seq
    says = (
        f"The last {missing} entries are missing" if missing > 0 else "The chain's end is not the last entry"
    )
    return _failed(report, f"{says}: the ledger was cut off after entry {report.seq}.", report.seq + 1)


def _not_as_known(report: VerifyReport, known: tuple[int, str] | None, seen: bool) -> VerifyReport | None:
    if known is None or seen:
        return None
    return _failed(
        report, f"Entry {known[0]} is not the one that was noted before: the ledger was rewritten.", known[0]
    )


def _odd_person(report: VerifyReport, connection: Connection, *, bound: bool) -> VerifyReport | None:
    """A line of the staff list that no keeper made, or was changed past the program."""
    query = select(entry).where(entry.c.stay == OFFICE, entry.c.kind == "person").order_by(entry.c.version)
    said: dict[str, dict[str, Any]] = {}
    for row in connection.execute(query):
        body = body_from(row.body)
        said.setdefault(str(body.get("initials")), {}).update(body)
    columns = [person.c.initials, person.c.role, person.c.active]
    secrets = not bound  # a server shows a staff list's secrets to its owner only
    if secrets:
        columns += [person.c.salt, person.c.cost, person.c.verifier]
    for row in connection.execute(select(*columns)):
        there = said.pop(row.initials, {})
        same = (there.get("role"), there.get("active")) == (row.role, bool(row.active))
        if secrets and same:
            same = there.get("secret") == digest_of(f"{row.salt}\n{row.cost}\n{row.verifier}")
        if not same:
            return _failed(report, f"{row.initials} on the staff list is not as the keeper's entries say.")
    if said:
        return _failed(report, f"{', '.join(sorted(said))} was taken off the staff list past the program.")
    return None


def _odd_limits(report: VerifyReport, connection: Connection) -> VerifyReport | None:
    """Tries, pause and idle time at sign-in that no keeper set, or that no policy may have."""
    query = select(entry.c.body).where(entry.c.stay == OFFICE, entry.c.kind == "limits")
    last = connection.scalar(query.order_by(entry.c.version.desc()).limit(1))
    there = {row.name: row.value for row in connection.execute(select(info)) if row.name in LIMITS}
    try:
        AccessPolicy.model_validate({"pin_digits_min": 4, **{LIMITS[one]: there[one] for one in there}})
        said = {name: float(value) for name, value in body_from(last).items()} if last else {}
        odd = any(float(there[name]) != value for name, value in said.items())
    except (ValidationError, ValueError, TypeError, KeyError):
        odd = True
    return _failed(report, "The limits of sign-in are not as a keeper set them.") if odd else None


def _emptied_unsaid(report: VerifyReport, emptied: Mapping[str, Row[Any]]) -> VerifyReport | None:
    """A body removed without a purge that names its stay."""
    if not emptied:
        return None
    first = min(emptied.values(), key=lambda row: int(row.seq))
    return _broken(
        first, report.checked, report.hash, "what it says was removed, and no purge names its patient"
    )


def _odd_beside(
    report: VerifyReport,
    connection: Connection,
    expected: Mapping[str, Kept],
    names: Found,
    tables: Iterable[Table],
) -> VerifyReport | None:
    """What is kept beside the entries against what they say; it is only kept, never believed over them."""
    odd = odd_stays(connection, expected)
    says = f"The board's table is not as the entries say ({len(odd)} stays)"
    if not odd:
        names.only(expected.keys())
        says = "What finds a card or a bed again is not as the entries say"
    if not odd and not names.odd(connection, tables):
        return None
    return _failed(report, f"{says}; rebuild it. No entry is lost.")


def _odd_receipts(report: VerifyReport, connection: Connection) -> VerifyReport | None:
    """An entry of which nothing says when it came in; retention goes by that."""
    known = receipt.c.seq == entry.c.seq
    first = connection.scalar(
        select(func.min(entry.c.seq)).outerjoin(receipt, known).where(receipt.c.seq.is_(None))
    )
    if first is None:
        return None
    return _failed(report, f"When entry {first} came in was taken away past the program.", int(first))


def _odd_guards(report: VerifyReport, connection: Connection) -> VerifyReport | None:
    """What refuses changes, against what mobicard made."""
    odd = odd_guards(connection)
    if not odd:
        return None
    return _failed(
        report,
        f"What guards the entries was changed past the program ({', '.join(odd)}): from here on changes may "
        "not be refused. The entries fit; make a backup, restore it to a new place and work on there.",
    )


def rebuild(ledger: StaffedStore) -> int:
    """Make what is kept beside the entries anew from them alone, all or nothing; gives the number of stays.

    Raises NotAllowed on a server unless this login owns the ledger.
    """
    from mobicard.ledger.database.schema import replay_statements

    if ledger.staff.bound_by_server:
        raise NotAllowed("Only the login that owns the ledger may rebuild its tables.")
    ledger.staff.must_keep()
    with ledger.writing() as connection:
        connection.execute(delete(slot))
        connection.execute(delete(stay))
        gone = select(purged.c.seq)
        for row in connection.execute(
            select(entry).where(entry.c.seq.not_in(gone)).order_by(entry.c.seq)
        ).all():
            for statement in replay_statements(connection.dialect.name):
                connection.execute(text(statement), row._asdict())
        found_in(connection).put(connection)
        return len(connection.execute(select(stay.c.stay)).all())


def _check_file(connection: Connection) -> None:
    """SQLite's own look at the file, which the chain cannot see: an index that leads past an entry."""
    if connection.dialect.name != "sqlite":
        return
    found = connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
    if found != "ok":
        raise LedgerDamaged(
            f"The ledger's file is damaged ({found}). Keep it as it is; restore the last backup."
        )
