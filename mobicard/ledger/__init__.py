"""Ledger: who recorded what, when. Append-only; SQLite by default, PostgreSQL for many stations."""

from mobicard.ledger.conflict import SaveConflict
from mobicard.ledger.entry import KINDS, Entry, NewEntry, new_id
from mobicard.ledger.errors import (
    BedTaken,
    LedgerAnother,
    LedgerBusy,
    LedgerDamaged,
    LedgerError,
    LedgerFull,
    LedgerMissing,
    LedgerNewer,
    LedgerReadOnly,
    LedgerRefused,
    LedgerUnreachable,
    NotALedger,
    NotAllowed,
    SignInRefused,
)
from mobicard.ledger.ledger import Ledger
from mobicard.ledger.staff.rights import Person
from mobicard.ledger.state import StayState

__all__ = [
    "KINDS",
    "BedTaken",
    "Entry",
    "Ledger",
    "LedgerAnother",
    "LedgerBusy",
    "LedgerDamaged",
    "LedgerError",
    "LedgerFull",
    "LedgerMissing",
    "LedgerNewer",
    "LedgerReadOnly",
    "LedgerRefused",
    "LedgerUnreachable",
    "NewEntry",
    "NotALedger",
    "NotAllowed",
    "Person",
    "SaveConflict",
    "SignInRefused",
    "StayState",
    "new_id",
]
