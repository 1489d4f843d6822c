"""Ledger: who recorded what, when. Append-only; SQLite by default, PostgreSQL for many stations."""

from mobicard.ledger.entry import Entry, NewEntry, new_id, record_entry
from mobicard.ledger.errors import (
    BedTaken,
    LedgerBusy,
    LedgerDamaged,
    LedgerError,
    LedgerFull,
    LedgerNewer,
    LedgerReadOnly,
    LedgerRefused,
    LedgerUnreachable,
    NotAllowed,
    SaveConflict,
    SignInRefused,
)
from mobicard.ledger.ledger import Ledger
from mobicard.ledger.state import StayState, Tick

__all__ = [
    "BedTaken",
    "Entry",
    "Ledger",
    "LedgerBusy",
    "LedgerDamaged",
    "LedgerError",
    "LedgerFull",
    "LedgerNewer",
    "LedgerReadOnly",
    "LedgerRefused",
    "LedgerUnreachable",
    "NewEntry",
    "NotAllowed",
    "SaveConflict",
    "SignInRefused",
    "StayState",
    "Tick",
    "new_id",
    "record_entry",
]
