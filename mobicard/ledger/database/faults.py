"""From a driver's complaint to a sentence: which fault it was, what to do, what became of the entry."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import (
    DBAPIError,
    IntegrityError,
    MultipleResultsFound,
    NoResultFound,
    SQLAlchemyError,
)

from mobicard.ledger.errors import (
    LedgerBusy,
    LedgerDamaged,
    LedgerError,
    LedgerFull,
    LedgerReadOnly,
    LedgerRefused,
    LedgerUnreachable,
    NotAllowed,
)

DAMAGED = (
    "The ledger at {where} is damaged: part of the file was overwritten or cut off. Stop using it, keep the "
    "file as it is, and restore the last backup to another path."
)

_SIGNS: tuple[tuple[type[LedgerError], tuple[str, ...], str], ...] = (
    (
        LedgerFull,
        ("database or disk is full", "no space left", "disk full", "53100"),
        "No room is left on the disk that holds the ledger ({where}). The entry was not saved; free "
        "some space and save again.",
    ),
    (
        LedgerDamaged,
        (
            "malformed",
            "not a database",
            "corrupt",
            "xx001",
            "xx002",
            "unsupported file format",
            "could not decode",  # goes on with the text itself, which may be a patient's
            "string or blob too big",
        ),
        DAMAGED,
    ),
    (
        LedgerDamaged,
        ("no such table", "no such column", "has no column", "42p01", "42703", "42883"),
        "The ledger at {where} lacks a part that mobicard made: another program changed it. Stop "
        "using it, keep it as it is, and restore the last backup to another place.",
    ),
    (
        LedgerReadOnly,
        ("readonly database", "read-only", "25006"),
        "The ledger at {where} may not be written from here. Nothing was saved; ask who looks after "
        "this computer.",
    ),
    (
        LedgerBusy,
        ("database is locked", "database table is locked", "55p03", "lock timeout", "busy"),
        "Another station is saving and has not finished. The entry was not saved yet; save again in "
        "a moment.",
    ),
    (
        LedgerUnreachable,
        ("57014", "statement timeout"),
        "The ledger's server at {where} took too long and dropped the question; nothing was saved by it. Try "
        "again in a moment; if it stays so, tell who looks after the server.",
    ),
    (
        LedgerRefused,
        ("stay_bed_once", "stay.bed"),
        "That bed was taken by another patient in the meantime. Nothing was saved.",
    ),
    (
        LedgerRefused,
        ("mobicard: entry makes no sense",),
        "The ledger's server refused the entry: it is not what mobicard writes. Nothing was saved; use the "
        "same mobicard on every station.",
    ),
    (
        NotAllowed,
        ("mobicard: entry by another",),
        "What is recorded is by whoever is signed in; the entry names somebody else. Nothing was saved.",
    ),
    (
        LedgerRefused,
        ("mobicard: entr",),
        "The ledger refused the change: entries are only ever added, in order. Nothing was saved.",
    ),
    (
        NotAllowed,
        ("permission denied", "row-level security", "42501"),
        "The ledger's server does not allow this with the role you are signed in under. Nothing was saved.",
    ),
)


HERE = "What you entered is still here."


@contextmanager
def guarded(where: str, then: str = HERE) -> Iterator[None]:
    """Let no driver's exception through: each becomes a LedgerError with a sentence, ``then`` at its end."""
    try:
        yield
    except DBAPIError as cause:
        raise said(cause, where, then) from cause
    except (UnicodeDecodeError, NoResultFound, MultipleResultsFound) as cause:
        # The driver cannot decode SQLite's own complaint when it quotes overwritten bytes of the schema.
        raise LedgerDamaged(DAMAGED.format(where=where)) from cause
    except MemoryError as cause:
        raise LedgerUnreachable(f"This computer is out of memory; close something. {then}") from cause
    except SQLAlchemyError as cause:
        raise LedgerUnreachable(
            f"The ledger at {where} does not answer ({type(cause).__name__}). {then}"
        ) from cause
    except OSError as cause:
        raise LedgerUnreachable(
            f"The ledger at {where} does not answer ({cause.strerror or cause}). {then}"
        ) from cause


def said(cause: DBAPIError, where: str, then: str = HERE) -> LedgerError:
    """The LedgerError for one database complaint."""
    state = str(getattr(cause.orig, "sqlstate", "") or "")
    complaint = str(cause.orig).strip()
    text = f"{complaint} {state}".lower()
    for kind, signs, sentence in _SIGNS:
        if any(sign in text for sign in signs):
            return kind(sentence.format(where=where))
    if isinstance(cause, IntegrityError):
        return LedgerBusy("Two stations saved at the same moment; yours was not saved yet. Save again.")
    first = complaint.splitlines()[0] if complaint else type(cause.orig).__name__
    return LedgerUnreachable(f"The ledger at {where} does not answer ({first}). {then}")
