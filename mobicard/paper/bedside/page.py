"""One bed's card, fitted: what its template sets and what is drawn, in the order it is read."""

from __future__ import annotations

from dataclasses import dataclass

from mobicard.derive.model import LimbLimit
from mobicard.paper.bedside.sides import Side
from mobicard.scheme.scheme import LevelLook


@dataclass(frozen=True, slots=True)
class Page:
    """Texts with the letter sizes in mm at which each fits its place, and the printed sides."""

    key: str
    bed: str
    label: str
    bed_mm: float
    label_mm: float
    assessed_mm: float
    look: LevelLook
    sub_line: str
    sub_mm: float
    people: tuple[str, str]
    people_mm: float
    until_says: str
    until: str
    until_mm: float
    assessed: str
    code: str
    limits: tuple[LimbLimit, ...]
    sides: tuple[Side, ...]

    def foot(self, number: int) -> str:
        """What stands at a side's foot of the card itself: which side this is, and where it goes on."""
        side, last = self.sides[number], len(self.sides)
        more = "more overleaf" if side.goes_on else "why, and sources: overleaf" if not number else ""
        which = f"Bed {self.bed}, side {number + 1} of {last}"
        return f"{which}; {more}." if more else f"{which}."

    def head(self, number: int) -> str:
        """What heads a side that is not the first."""
        goes_on = number > 0 and self.sides[number - 1].goes_on
        return "Goes on from side " + str(number) if goes_on else "How it is done, why, and from which source"
