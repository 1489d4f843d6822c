"""Chooses the handoff's letter size: the largest at which 24 beds stay within three pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mobicard.paper import fit
from mobicard.paper.sheet import PAPERS

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
_TITLE, _SECTION, _SIGN, _LOST = 14.0, 8.5, 34.0, 9.0
"""Millimetres: title and facts, a section's heading, the box to sign, what a page break leaves empty."""

Cell = str | Sequence[str]


def letter_size(paper: str, tables: Mapping[str, Sequence[Sequence[Cell]]], beds: int) -> float | None:
    """The letter size in mm at which the pages are one, and one more for twelve beds; None if none is."""
    short, long = PAPERS[paper]
    pages = 1 + -(-beds // _BEDS_A_PAGE)
    room = pages * (short - ENDS) - (pages - 1) * _LOST
    for size in SIZES_MM:
        if _height(tables, long - SIDES, size) <= room:
            return size
    return None


def _height(tables: Mapping[str, Sequence[Sequence[Cell]]], width: float, size: float) -> float:
    height = _TITLE + _SIGN
    for name, rows in tables.items():
        boxes = [share / 100 * width - 2.0 for share in SHARES[name]]
        height += _SECTION + size * _LEADING + 1.2
        height += sum(_row(row, boxes, size) for row in rows)
    return height


def _row(row: Sequence[Cell], boxes: Sequence[float], size: float) -> float:
    lines = max(_lines(cell, size, box) for cell, box in zip(row, boxes, strict=True))
    return lines * size * _LEADING + 1.1


def _lines(cell: Cell, size: float, box: float) -> int:
    parts = [cell] if isinstance(cell, str) else cell
    return sum(fit.lines_needed(part, size, box, fit.REGULAR) for part in parts)
