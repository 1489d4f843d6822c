"""What the places tell the app and each other; each carries the value or the stay's id, never a widget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.message import Message

from mobicard.ward import BedView, SaveRefused


@dataclass
class BoardRead(Message):
    """The beds as just read from the ledger."""

    beds: Sequence[BedView]


@dataclass
class ReadFailed(Message):
    """The ledger could not be read; what to tell the person."""

    says: str


@dataclass
class BedSaved(Message):
    """A bed's new state is on disk."""

    bed: BedView


@dataclass
class TakenBack(Message):
    """A save was taken back: what stood before it stands again."""

    bed: BedView


class LedgerChanged(Message):
    """Another station saved something."""


@dataclass
class SaveDone(Message):
    """The form's answers are on disk."""

    bed: BedView


@dataclass
class SaveFailed(Message):
    """The form's answers could not be saved; ``clash`` when somebody else saved first."""

    says: str
    clash: SaveRefused | None = None
