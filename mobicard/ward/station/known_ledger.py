"""This station's ledger: made by an explicit act alone, and refused when it is not the one last seen here."""

from __future__ import annotations

from mobicard.ledger import Ledger, LedgerAnother, LedgerError, LedgerMissing, LedgerRefused
from mobicard.ledger.database.engine import ledger_url, shown
from mobicard.ledger.keeping.known_end import End, KnownEnd, end_of, why_not
from mobicard.ward.station.bed_order import station_folder

_TOLD = "`mobicard ledger accept` takes it as it is, once somebody has found out why."


def known_end(url: str | None) -> KnownEnd:
    """What this station last saw of the ledger at a place. Raises LedgerUnreachable for what is no place."""
    return KnownEnd(station_folder(shown(ledger_url(url))) / "known-end.json")


def open_known(url: str | None) -> Ledger:
    """Open the ledger at a place, never making one. Raises LedgerMissing, LedgerAnother, LedgerError."""
    known = known_end(url)
    try:
        ledger = Ledger.open(url, create=False)
    except LedgerMissing as gone:
        raise (_vanished(url, known.end) if known.end else gone) from None
    try:
        if known.end and (says := why_not(ledger, known.end)):
            raise LedgerAnother(
                f"The ledger at {ledger.where} {says}. Nothing is read or saved here: put the right one "
                f"back. {_TOLD}"
            )
        known.saw(end_of(ledger))
    except LedgerError:
        ledger.close()
        raise
    ledger.known = known
    return ledger


def make_new(url: str | None) -> Ledger:
    """Make an empty ledger where there is none and none was. Raises LedgerRefused, LedgerError."""
    known = known_end(url)
    try:
        Ledger.open(url, create=False).close()
    except LedgerMissing:
        if known.end:
            raise _vanished(url, known.end) from None
        return made(url)
    raise LedgerRefused(f"There is a ledger at {shown(ledger_url(url))} already. Nothing was changed.")


def made(url: str | None) -> Ledger:
    """A ledger at a place, made if none is there; what this station knew of the place before is forgotten."""
    known = known_end(url)
    known.forget()
    ledger = Ledger.open(url)
    known.saw(end_of(ledger))
    ledger.known = known
    return ledger


def accept(url: str | None) -> tuple[End | None, End | None]:
    """Take what is at a place now as this station's ledger, or that there is none; what was known, and is.

    Raises LedgerError.
    """
    known = known_end(url)
    before = known.end
    try:
        ledger = Ledger.open(url, create=False)
    except LedgerMissing:
        known.forget()
        return before, None
    with ledger:
        known.forget()
        known.saw(end_of(ledger))
    return before, known.end


def _vanished(url: str | None, end: End) -> LedgerMissing:
    place = shown(ledger_url(url))
    return LedgerMissing(
        f"The ledger at {place} is gone: this station has seen entry {end.seq} in it. Put it back, or "
        f"restore its last backup (`mobicard ledger restore BACKUP {place}`). If it is to be gone, `mobicard "
        "ledger accept` says so."
    )
