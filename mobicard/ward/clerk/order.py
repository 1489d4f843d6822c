"""What is to be printed: kinds of card, formats, sheet and folder, as it was asked for."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from mobicard.paper.sheet_sizes import Sheet
from mobicard.ward.views import WardRefused

KINDS = ("door", "bedside")
FORMATS = ("html", "pdf")


@dataclass(frozen=True)
class Order:
    """What to print, and where to.

    Size, number on a sheet and paper that nobody named follow the ``stock``: see ``Sheet.asked``.
    """

    out: Path
    kinds: tuple[str, ...] = KINDS
    formats: tuple[str, ...] = FORMATS
    size: str | None = None
    up: int | None = None
    paper: str | None = None
    ink: str = "colour"
    stock: str = "a4"
    briefs: bool = False
    """Whether each bedside card has the briefs of the shift's moves behind it."""

    @property
    def sheet(self) -> Sheet:
        """The sheet asked for. Raises WardRefused naming the sizes there are."""
        try:
            return Sheet.asked(self.size, self.up, self.paper, self.ink, self.stock)
        except ValueError as refused:
            raise WardRefused(str(refused)) from None
