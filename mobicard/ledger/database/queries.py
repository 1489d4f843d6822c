"""The questions asked of the tables: what is newest, as of when, and since when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, Select, select, union_all

from mobicard.ledger.database.schema import entry, receipt, slot, stay
from mobicard.ledger.entry import GAP, KEEPING_KINDS, OFFICE, RECEIVED, Entry, body_from, time_text
from mobicard.ledger.errors import LedgerDamaged

RECENT = timedelta(hours=36)
"""How far back the board looks for ticks and reads: this shift and the one before, with room to spare."""

LONG_AGO = datetime.min.replace(tzinfo=UTC)

RECENT_KINDS = ("tick", "read")
"""Kinds of which more than the newest counts."""

PAGE = 1000
"""Rows read or written at once."""

_TYPES = (int, str, str, int, str, str, str, int, str, str, str)
"""Of the entry table's columns, in order."""

_FOLDED_ALONE = ("fall", "procedure", "assign")
"""Kinds whose withdrawal needs the entry before: the newest of each kind no longer tells."""


def in_order(connection: Connection, rows: Select[Any] | None = None) -> Iterator[Row[Any]]:
    """The rows of the entry table in the order saved, read page by page; or these of them."""
    query, since_seq = (select(entry) if rows is None else rows).order_by(entry.c.seq).limit(PAGE), 0
    while page := connection.execute(query.where(entry.c.seq > since_seq)).all():
        yield from page
        since_seq = page[-1].seq


def with_receipts() -> Select[Any]:
    """The rows of the entry table, each with when it came in."""
    came = entry.outerjoin(receipt, receipt.c.seq == entry.c.seq)
    return select(entry, receipt.c.at.label("received")).select_from(came)


def entry_of(row: Row[Any]) -> Entry:
    """An Entry from a row of the entry table, whose columns are an Entry's fields in order.

    Raises LedgerDamaged when the row's text was overwritten, so that it is no time or no body any more.
    """
    seq, id_, stay_, version, kind, at, by, schema, body, prev, hash_ = tuple[Any, ...](row)
    if odd_types(row):
        raise unreadable(seq)
    try:
        moment, said = datetime.fromisoformat(at), body_from(body)
    except (ValueError, RecursionError):
        raise unreadable(seq) from None
    return Entry(seq, id_, stay_, version, kind, moment, by, schema, said, prev, hash_)


def entry_or_gap(row: Row[Any]) -> Entry:
    """As ``entry_of``, but one that cannot be read is given as a gap in its stay: other beds go on.

    Raises LedgerDamaged when not even its stay and place can be told.
    """
    try:
        return entry_of(row)
    except LedgerDamaged:
        seq, id_, stay_, version, _, _, by, _, _, prev, hash_ = tuple[Any, ...](row)
        if not (type(seq) is type(version) is int and isinstance(stay_, str)):
            raise
        return Entry(seq, str(id_), stay_, version, GAP, LONG_AGO, str(by), 0, {}, str(prev), str(hash_))


def odd_types(row: Row[Any]) -> bool:
    """Whether a column of an entry's row has not its type: SQLite gives back whatever the file says."""
    return tuple(map(type, row)) != _TYPES


def unreadable(seq: object) -> LedgerDamaged:
    """The error for an entry whose row makes no sense."""
    return LedgerDamaged(
        f"Entry {seq} of the ledger is damaged and cannot be read. Keep the ledger as it is, run "
        "`mobicard ledger verify`, and restore the last backup to another place."
    )


def entry_from(columns: Mapping[str, Any]) -> Entry:
    """An Entry from columns by name, as they are stored."""
    values = dict(columns)
    values["at"] = datetime.fromisoformat(values["at"])
    values["body"] = body_from(values["body"])
    return Entry(**values)


def of_stays(stays: Sequence[str], at: datetime | None = None) -> Select[Any]:
    """Every entry of these stays, oldest first, up to a time if one is given."""
    query = select(entry).where(entry.c.stay.in_(stays)).order_by(entry.c.stay, entry.c.version)
    return query if at is None else query.where(entry.c.at <= time_text(at))


def newest_now(stays: Sequence[str] | None = None) -> Select[Any]:
    """The newest entry of each kind, for each stay that holds a bed, or for those of these that do."""
    here = select(stay.c.stay).where(stay.c.bed >= "")  # not null, said so that the index is walked
    if stays is not None:
        here = here.where(stay.c.stay.in_(stays))
    newest = select(entry).join(slot, entry.c.seq == slot.c.seq).where(slot.c.stay.in_(here))
    return newest.where(entry.c.kind.not_in(RECENT_KINDS))


def newest_at(at: datetime, stays: Sequence[str] | None = None) -> Select[Any]:
    """The newest entry of each kind up to a time, for each stay (of these) that can have been in a bed then.

    Walks back from the newest of each kind, so the last shift's end costs little however long the history.
    """
    moment = time_text(at)
    older = entry.alias("older")
    # Two questions, so that each walks its index: joined with an "or", a database reads every stay there was.
    still = select(stay.c.stay).where(stay.c.closed_at.is_(None), stay.c.opened_at <= moment)
    since = select(stay.c.stay).where(stay.c.closed_at >= moment, stay.c.opened_at <= moment)
    if stays is not None:
        still, since = still.where(stay.c.stay.in_(stays)), since.where(stay.c.stay.in_(stays))
    there = union_all(still, since)
    kinds = (
        select(slot.c.stay, entry.c.kind)
        .join(entry, entry.c.seq == slot.c.seq)
        .where(slot.c.stay.in_(there), slot.c.stay != OFFICE)
        .where(entry.c.kind.not_in(RECENT_KINDS + KEEPING_KINDS))
        .distinct()
        .subquery()
    )
    newest = (
        select(older.c.seq)
        .where(older.c.stay == kinds.c.stay, older.c.kind == kinds.c.kind, older.c.at <= moment)
        .order_by(older.c.version.desc())
        .limit(1)
        .scalar_subquery()
    )
    first = select(older.c.seq).where(older.c.version == 1, older.c.stay.in_(select(kinds.c.stay)))
    told = union_all(select(newest).select_from(kinds), first.where(older.c.at <= moment))
    return select(entry).where(entry.c.seq.in_(told))


def last_at(connection: Connection) -> datetime:
    """When the newest entry was written: by seq, so a clock set wrong once does not hide what follows."""
    last = datetime.max.replace(tzinfo=UTC)
    for at in connection.scalars(select(entry.c.at).order_by(entry.c.seq.desc()).limit(50)):
        try:
            return datetime.fromisoformat(at).astimezone(UTC)
        except (ValueError, TypeError):  # held aside; the one before it tells nearly as well
            continue
    return last


def recent(at: datetime, stays: Sequence[str] | None = None) -> Select[Any]:
    """Ticks and reads of the last day and a half before a time, of all stays or of these."""
    query = select(entry).where(entry.c.kind.in_(RECENT_KINDS)).order_by(entry.c.seq)
    if stays is not None:
        query = query.where(entry.c.stay.in_(stays))
    return query.where(entry.c.at <= time_text(at), entry.c.at >= time_text(at - RECENT))


def still_shown(entries: Sequence[Entry], at: datetime) -> list[Entry]:
    """Without the ticks and reads that are older than RECENT at a time."""
    return [one for one in entries if one.kind not in RECENT_KINDS or at - RECENT <= one.at]


def needs_whole(entries: Sequence[Entry], *, as_of_a_time: bool) -> bool:
    """Whether the newest of each kind is not the whole story of this stay.

    So it is when a correction withdraws a fall, a procedure or an assignment, and, as of a time (where
    kinds are not told apart as finely as in the slot table), with any correction, bare fall or page besides
    the door, and with what a station had held: it was not known yet.
    """
    wrong = {one.body.get("corrects") for one in entries if one.kind == "correct"}
    if any(one.version in wrong and one.kind in _FOLDED_ALONE for one in entries):
        return True
    return as_of_a_time and any(
        RECEIVED in one.body
        or one.kind == "correct"
        or (one.kind in {"same", "fall"} and "record" not in one.body)
        or (one.kind in {"prepared", "hung", "taken_down"} and one.body.get("page", "door") != "door")
        for one in entries
    )
