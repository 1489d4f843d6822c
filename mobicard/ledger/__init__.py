"""Ledger: who recorded what, when. Append-only; SQLite by default, PostgreSQL for many stations."""

from typing import TYPE_CHECKING

from mobicard.lazy import lazily

if TYPE_CHECKING:
    from mobicard.ledger.conflict import SaveConflict as SaveConflict
    from mobicard.ledger.entry import KINDS as KINDS
    from mobicard.ledger.entry import Entry as Entry
    from mobicard.ledger.entry import NewEntry as NewEntry
    from mobicard.ledger.entry import new_id as new_id
    from mobicard.ledger.errors import BedTaken as BedTaken
    from mobicard.ledger.errors import LedgerAnother as LedgerAnother
    from mobicard.ledger.errors import LedgerBusy as LedgerBusy
    from mobicard.ledger.errors import LedgerDamaged as LedgerDamaged
    from mobicard.ledger.errors import LedgerError as LedgerError
    from mobicard.ledger.errors import LedgerFull as LedgerFull
    from mobicard.ledger.errors import LedgerMissing as LedgerMissing
    from mobicard.ledger.errors import LedgerNewer as LedgerNewer
    from mobicard.ledger.errors import LedgerReadOnly as LedgerReadOnly
    from mobicard.ledger.errors import LedgerRefused as LedgerRefused
    from mobicard.ledger.errors import LedgerUnreachable as LedgerUnreachable
    from mobicard.ledger.errors import NotALedger as NotALedger
    from mobicard.ledger.errors import NotAllowed as NotAllowed
    from mobicard.ledger.errors import SignInRefused as SignInRefused
    from mobicard.ledger.ledger import Ledger as Ledger
    from mobicard.ledger.staff.rights import Person as Person
    from mobicard.ledger.state import StayState as StayState

__getattr__ = lazily(
    __name__,
    {
        "conflict": "SaveConflict",
        "entry": "KINDS Entry NewEntry new_id",
        "errors": "BedTaken LedgerAnother LedgerBusy LedgerDamaged LedgerError LedgerFull LedgerMissing "
        "LedgerNewer LedgerReadOnly LedgerRefused LedgerUnreachable NotALedger NotAllowed SignInRefused",
        "ledger": "Ledger",
        "staff.rights": "Person",
        "state": "StayState",
    },
)
