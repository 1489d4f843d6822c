"""The Ledger: append entries, read what stands, on SQLite and PostgreSQL by one code path."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Self

from sqlalchemy import ColumnElement, Connection, func, select

from mobicard.ledger import appending, live
from mobicard.ledger.database.engine import ENV, connect, explained, ledger_url
from mobicard.ledger.database.faults import guarded
from mobicard.ledger.database.migrations import bring_up_to_date
from mobicard.ledger.database.queries import (
    entry_of,
    entry_or_gap,
    last_at,
    needs_whole,
    newest_at,
    newest_now,
    of_stays,
    recent,
    still_shown,
)
from mobicard.ledger.database.schema import chain, entry, stay
from mobicard.ledger.entry import FACT_KINDS, KINDS, Entry, NewEntry, time_text
from mobicard.ledger.errors import LedgerBusy, LedgerReadOnly, LedgerUnreachable
from mobicard.ledger.keeping import backup as keeping
from mobicard.ledger.keeping import verify as chain_of
from mobicard.ledger.keeping.known_end import End, KnownEnd
from mobicard.ledger.look_ups import MOST, LookUps
from mobicard.ledger.staff.rights import Person
from mobicard.ledger.state import StayState, fold


class Ledger(LookUps):
    """Who recorded what, when. Every method raises a LedgerError with a sentence for who is at the screen.

    On PostgreSQL the rights of rights.py are the server's own. On SQLite they are this program's: whoever may
    open the file with another program can read all of it, and can add an entry in anyone's name. The file is
    private to its user (0600), its triggers refuse every change and removal, and ``verify`` names the first
    entry that was changed, removed or slipped in between; but nothing in one file can stop a person with the
    file in hand from writing at its end, or from rewriting all of it.
    """

    known: KnownEnd | None = None
    """What this station keeps of the ledger's end, so that it never works on an older or another one."""

    @classmethod
    def open(cls, url: str | Path | None = None, *, create: bool = True) -> Self:
        """Open the ledger at a URL or path, else ``$MOBICARD_LEDGER``, else in the user's data folder.

        Made where there is none, unless told not to. Raises LedgerMissing, LedgerNewer, LedgerUnreachable,
        LedgerReadOnly, LedgerDamaged, LedgerBusy.
        """
        where = ledger_url(url)
        ledger = cls(connect(where, create=create), where)
        try:
            with guarded(
                ledger.where, f"Check that it is the right place ({ENV}) and that it can be reached."
            ):
                bring_up_to_date(ledger._engine, where, create=create)
                ledger.note_file()
                ledger.staff.begin_with_session(ledger._engine)
        except (LedgerBusy, LedgerReadOnly, LedgerUnreachable) as fault:
            raise explained(where, fault) from fault
        return ledger

    # -- writing ---------------------------------------------------------------------------------

    def append(self, *entries: NewEntry, person: Person | None = None) -> tuple[Entry, ...]:
        """Save all of these or none; returns once they are on disk, in the order given.

        An entry whose id is already there is returned as it stands, so a retry never doubles it. Where
        there is a staff list, ``person`` (else who signed in last) must be signed in, be the ``by`` of each
        entry and have the right to its kind. Raises SaveConflict, BedTaken, LedgerRefused, NotAllowed,
        LedgerBusy, LedgerFull, LedgerReadOnly, LedgerUnreachable.
        """
        if not entries:
            return ()
        self.staff.sign_of_life()
        self.staff.check(entries, person)
        with self.writing() as connection:
            saved = appending.append(connection, entries)
        if self.known and self.known.end:
            self.known.saw(End(self.known.end.ledger, saved[-1].seq, saved[-1].hash))
        return saved

    # -- reading ---------------------------------------------------------------------------------

    def latest(self, which: str) -> StayState | None:
        """What stands for one stay now, gone home or not; None when the ledger does not know it."""
        with self.reading() as connection:
            moment = last_at(connection)
            some = [entry_or_gap(row) for row in connection.execute(of_stays([which]))]
        state = fold(still_shown(some, moment))
        return state if state and (state.bed or state.record) else None  # a purged stay says nothing any more

    def places(self) -> dict[str, str]:
        """The bed of each stay that holds one now."""
        with self.reading() as connection:
            return _places(connection)

    def beds(self, at: datetime | None = None, stays: Sequence[str] | None = None) -> list[StayState]:
        """Every patient (of these) in a bed now, or as of a time, by bed; some queries however many beds.

        As of a time means by the entries' own clock readings, taken in the order they were saved, but for
        what the ledger did not know yet: a station held it.
        """
        with self.reading() as connection:
            return _by_bed(_folded(connection, at, stays))

    def standing(self, known: Standing | None = None, among: Callable[[str], bool] | None = None) -> Standing:
        """Every patient in a bed now; beside what is ``known`` only the stays told of since are read.

        All are read anew where more than a few were, and each hour: ticks and reads grow old unsaid.
        ``among``: only the beds whose names it takes, as of one unit.
        """
        with self.reading() as connection:
            end = int(connection.scalar(select(chain.c.seq)) or 0)
            hour = last_at(connection).replace(minute=0, second=0, microsecond=0)
            if known is None or known.hour != hour or not 0 <= end - known.seq <= MOST:
                here = None if among is None else _lying(connection, among)
                return Standing(end, hour, _folded(connection, stays=here))
            told = _stays(connection, entry.c.seq > known.seq)
            if not told:
                return known
            rest = {which: state for which, state in known.states.items() if which not in told}
            here = told if among is None else _lying(connection, among, told)
            return Standing(end, hour, rest | _folded(connection, stays=here))

    def knows(self, id: str) -> bool:
        """Whether an entry of this id is on disk."""
        with self.reading() as connection:
            return connection.scalar(select(entry.c.seq).where(entry.c.id == id)) is not None

    def touched(self, since: datetime) -> list[str]:
        """The stays of which something was said in what the ledger took in since, however late it came."""
        lately = entry.c.at >= time_text(since), entry.c.kind.in_(sorted(KINDS))
        first = select(func.min(entry.c.seq + 0)).where(*lately).scalar_subquery()  # +0: no walk
        with self.reading() as connection:
            return _stays(connection, entry.c.seq >= first, entry.c.kind.in_(sorted(FACT_KINDS)))

    def history(self, which: str) -> list[Entry]:
        """Every entry of one stay, oldest first."""
        with self.reading() as connection:
            return [entry_of(row) for row in connection.execute(of_stays([which]))]

    def newest_by(
        self,
        person: str,
        kinds: Collection[str],
        since: datetime,
        before: datetime | None = None,
        *,
        first: bool = False,
    ) -> Entry | None:
        """The last entry (or the first) somebody made of these kinds from ``since`` on, by its own clock."""
        query = select(entry).where(entry.c.by == person, entry.c.kind.in_(sorted(kinds)))
        query = (
            query.where(entry.c.at >= time_text(since))
            .order_by(entry.c.seq if first else entry.c.seq.desc())
            .limit(1)
        )
        if before is not None:
            query = query.where(entry.c.at < time_text(before))
        with self.reading() as connection:
            row = connection.execute(query).first()
        return entry_of(row) if row is not None else None

    def entries(self, since_seq: int = 0, kinds: Collection[str] | None = None) -> Iterator[Entry]:
        """Every entry after ``since_seq`` in the order saved, all kinds or these; read page by page."""
        page = 1000
        while True:
            query = select(entry).where(entry.c.seq > since_seq).order_by(entry.c.seq).limit(page)
            if kinds is not None:
                query = query.where(entry.c.kind.in_(sorted(kinds)))
            with self.reading() as connection:
                found = [entry_of(row) for row in connection.execute(query)]
            yield from found
            if len(found) < page:
                return
            since_seq = found[-1].seq

    # -- keeping -----------------------------------------------------------------------------------

    verify = chain_of.verify
    watch = live.watch
    backup = keeping.backup
    export_jsonl = keeping.export_jsonl
    import_jsonl = keeping.import_jsonl

    # -- people ----------------------------------------------------------------------------------

    def has_people(self) -> bool:
        """Whether there is a staff list; until there is, nobody need sign in."""
        return self.staff.any()

    def sign_in(self, initials: str, pin: str, at: datetime) -> Person:
        """Sign in at this station; see people.Staff.sign_in."""
        return self.staff.sign_in(initials, pin, at)

    def sign_out(self) -> None:
        """Nobody is at this station any more."""
        self.staff.sign_out()


@dataclass(frozen=True, slots=True)
class Standing:
    """The unit as of an entry: what stands for each stay in a bed. ``hour``: of the newest entry's time."""

    seq: int
    hour: datetime
    states: Mapping[str, StayState]

    @property
    def beds(self) -> list[StayState]:
        """In the order of their beds."""
        return _by_bed(self.states)


def _by_bed(states: Mapping[str, StayState]) -> list[StayState]:
    return sorted(states.values(), key=lambda state: state.bed)


def _places(connection: Connection, stays: Sequence[str] | None = None) -> dict[str, str]:
    query = select(stay.c.stay, stay.c.bed).where(stay.c.bed >= "")
    rows = connection.execute(query if stays is None else query.where(stay.c.stay.in_(stays)))
    return {row.stay: row.bed for row in rows}


def _stays(connection: Connection, *where: ColumnElement[bool]) -> list[str]:
    """The stays of these entries, each once: asked for distinct ones, SQLite walks a whole index of stays."""
    return list(dict.fromkeys(connection.scalars(select(entry.c.stay).where(*where))))


def _lying(
    connection: Connection, among: Callable[[str], bool], stays: Sequence[str] | None = None
) -> list[str]:
    """Those that lie in such a bed now, of all or of these."""
    return [which for which, bed in _places(connection, stays).items() if among(bed)]


def _folded(
    connection: Connection, at: datetime | None = None, stays: Sequence[str] | None = None
) -> dict[str, StayState]:
    """What stands for each stay in a bed, now or as of a time; of all, or of these."""
    if stays is not None and len(stays) > MOST:
        parts = [stays[start : start + MOST] for start in range(0, len(stays), MOST)]
        return {which: one for part in parts for which, one in _folded(connection, at, part).items()}
    found: dict[str, list[Entry]] = {}
    moment = at or last_at(connection)
    for row in connection.execute(newest_now(stays) if at is None else newest_at(at, stays)):
        found.setdefault(row.stay, []).append(entry_or_gap(row))
    for row in connection.execute(recent(moment, stays)):
        if row.stay in found:
            found[row.stay].append(entry_or_gap(row))
    whole = [which for which, some in found.items() if needs_whole(some, as_of_a_time=at is not None)]
    found |= {which: [] for which in whole}
    for start in range(0, len(whole), MOST):
        for one in map(entry_or_gap, connection.execute(of_stays(whole[start : start + MOST], at))):
            if at is None or one.received <= at:
                found[one.stay].append(one)
    folded = (fold(still_shown(some, moment)) for some in found.values())
    return {one.stay: one for one in folded if one and one.open and one.bed}
