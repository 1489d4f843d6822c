"""Chooses the handoff's letter size: the largest at which 24 beds stay within three pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mobicard.paper import text_fit
from mobicard.paper.sheet_sizes import PAPERS

SHARES: dict[str, tuple[float, ...]] = {
    "changed": (11, 8, 9.5, 36, 35.5),
    "due": (14, 54, 32),
    "needs": (9, 22, 69),
    "beds": (10, 11.5, 20, 21, 12, 7, 11, 7.5),
}
"""Column widths in percent."""

SIZES_MM = (2.9, 2.75, 2.6, 2.45, 2.3, 2.15, 2.0)
SIDES, ENDS = 20.0, 26.0
"""Millimetres that the page's margins take from its width and its height."""

_BEDS_A_PAGE = 12
_LEADING = 1.2
_TITLE, _SECTION, _SIGN, _CHART = 14.0, 8.5, 38.0, 7.2
"""Millimetres: title and facts, a section's heading, the box to sign, the step chart of a bed's line."""

Cell = str | Sequence[str]


def letter_size(paper: str, tables: Mapping[str, Sequence[Sequence[Cell]]], beds: int) -> float | None:
    """The letter size in mm at which the pages are one, and one more for twelve beds; None if none is."""
    short, long = PAPERS[paper]
    for size in SIZES_MM:
        if _pages(tables, long - SIDES, short - ENDS, size) <= 1 + -(-beds // _BEDS_A_PAGE):
            return size
    return None


def _pages(tables: Mapping[str, Sequence[Sequence[Cell]]], width: float, room: float, size: float) -> int:
    """How many pages the tables take: rows stay whole, heads repeat, a heading stays with its first row."""
    pages, used = 1, _TITLE
    for name, rows in tables.items():
        boxes = [share / 100 * width - 2.0 for share in SHARES[name]]
        head = size * _LEADING + 1.2
        talls = [max(_row(row, boxes, size), _CHART + 1.1 if name == "beds" else 0.0) for row in rows]
        opening = _SECTION + head + (talls[0] if talls else 0.0)
        pages, used = (pages, used + opening) if used + opening <= room else (pages + 1, opening)
        for tall in talls[1:]:
            pages, used = (pages, used + tall) if used + tall <= room else (pages + 1, head + tall)
    return pages if used + _SIGN <= room else pages + 1


def _row(row: Sequence[Cell], boxes: Sequence[float], size: float) -> float:
    lines = max(_lines(cell, size, box) for cell, box in zip(row, boxes, strict=True))
    return lines * size * _LEADING + 1.1


def _lines(cell: Cell, size: float, box: float) -> int:
    parts = [cell] if isinstance(cell, str) else cell
    return sum(text_fit.lines_needed(part, size, box, text_fit.REGULAR) for part in parts)
