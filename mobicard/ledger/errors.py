"""What can go wrong with the ledger, each as one sentence that says what happened and what to do."""

# ruff: noqa: N818 - said to people as what happened, not as errors

from __future__ import annotations


class LedgerError(Exception):
    """The ledger could not do what was asked; ``says`` is the sentence for the person at the screen."""

    def __init__(self, says: str) -> None:
        self.says = says
        super().__init__(says)


class LedgerBusy(LedgerError):
    """Another program holds the ledger and did not let go in time."""


class LedgerReadOnly(LedgerError):
    """The ledger may be read but not written."""


class LedgerFull(LedgerError):
    """No room is left for the entry; it was not saved."""


class LedgerNewer(LedgerError):
    """The ledger was made by a newer mobicard than this one."""


class LedgerDamaged(LedgerError):
    """The ledger's file or its chain is not whole."""


class NotALedger(LedgerDamaged):
    """What is at the ledger's place is no ledger; nothing can be read or saved there."""


class LedgerUnreachable(LedgerError):
    """The server or the folder that holds the ledger does not answer."""


class LedgerMissing(LedgerUnreachable):
    """There is no ledger at the place, and none is made unless somebody asks for one."""


class LedgerAnother(LedgerError):
    """What is at the ledger's place is not the ledger, or not all of it, that this station last saw there."""


class LedgerRefused(LedgerError):
    """The entry contradicts what the ledger holds: a taken bed, an unknown stay, an id used twice."""


class BedTaken(LedgerRefused):
    """Another stay holds this bed; two stays never hold one bed at once."""

    def __init__(self, bed: str, held_by: str) -> None:
        self.bed = bed
        self.held_by = held_by
        super().__init__(
            f"Bed {bed} is already taken. Discharge or move the patient who holds it first, or swap "
            "the two beds. Nothing was saved."
        )


class NotAllowed(LedgerError):
    """The signed-in person's role does not include this act."""


class SignInRefused(LedgerError):
    """The initials and PIN do not fit, or too many tries were made."""
