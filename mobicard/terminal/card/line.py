"""One line of the derived card."""

from __future__ import annotations

from dataclasses import dataclass

from mobicard.derive.model import Reason
from mobicard.terminal.looks import Part


@dataclass(frozen=True, slots=True)
class CardLine:
    """One line of the card. ``id`` stays the same for the same thing, so that an open line stays open.

    ``more`` opens before the reasons: what the line itself had no room for.
    """

    id: str
    parts: tuple[Part, ...]
    reasons: tuple[Reason, ...] = ()
    more: tuple[Part, ...] = ()

    @property
    def opens(self) -> bool:
        """Whether there is anything below it."""
        return bool(self.reasons or self.more)
