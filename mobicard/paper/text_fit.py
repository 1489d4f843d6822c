"""Makes text fit its box before it is laid out: how wide it is, where it wraps, what must go elsewhere."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from mobicard.paper import templates

REGULAR, BOLD, WORD = "AtkinsonHyperlegible-Regular", "AtkinsonHyperlegible-Bold", "BarlowSemiCondensed-Bold"
LINE = 1.22
"""Line height of running text, in ems; it holds for fallback fonts too."""
HANG = 0.7
"""How far a wrapped line stands in, in ems."""
GAP = 0.15
"""Room between items, in ems."""
_UNKNOWN = 1250
_SPARE = 1.02
_MORE = "99 more on the bedside card"


@dataclass(frozen=True, slots=True)
class Fitted:
    """What fits: the size of its letters in mm, the items kept, and how many were not."""

    size_mm: float
    kept: tuple[str, ...]
    left_out: int

    @property
    def more(self) -> str:
        """What the card says of those left out."""
        return f"{self.left_out} more on the bedside card"


@cache
def _widths() -> Mapping[str, Mapping[str, int]]:
    table: dict[str, dict[str, int]] = json.loads(
        (templates.folder() / "fonts" / "widths.json").read_text(encoding="utf-8")
    )
    return table


def carried(letter: str, face: str = REGULAR) -> bool:
    """Whether the carried fonts have this letter."""
    return letter in _widths()[face]


def width_mm(text: str, size_mm: float, face: str = REGULAR) -> float:
    """How wide the text is at this letter size; a letter the font lacks counts as a wide one."""
    table = _widths()[face]
    return sum(table.get(letter, _UNKNOWN) for letter in text) * size_mm / 1000


def lines_needed(text: str, size_mm: float, box_mm: float, face: str = REGULAR) -> int:
    """How many lines the text takes in a box this wide."""
    return len(wrapped(text, size_mm, box_mm, face))


def wrapped(text: str, size_mm: float, box_mm: float, face: str = REGULAR) -> list[str]:
    """The text as lines that fit a box this wide, broken at spaces; a word wider than the box, inside."""
    table = _widths()[face]
    room = box_mm / size_mm * 1000 / _SPARE
    space = table[" "]
    lines: list[str] = []
    line, used = "", 0.0
    for word in text.split(" "):
        wide = float(sum([table.get(letter, _UNKNOWN) for letter in word]))
        if line and used + space + wide <= room:
            line, used = f"{line} {word}", used + space + wide
            continue
        if line:
            lines.append(line)
        rest = word
        while wide > room:
            piece = _piece(rest, room, table)
            lines.append(piece)
            rest = rest[len(piece) :]
            wide = float(sum([table.get(letter, _UNKNOWN) for letter in rest]))
        line, used = rest, wide
    return [*lines, line]


def _piece(word: str, room: float, table: Mapping[str, int]) -> str:
    used = 0.0
    for at, letter in enumerate(word):
        used += table.get(letter, _UNKNOWN)
        if used > room:
            return word[: max(at, 1)]
    return word


def one_line(
    text: str, box_mm: float, largest_mm: float, smallest_mm: float, face: str = REGULAR
) -> float | None:
    """The largest letter size, mm, that keeps the text on one line; None when even that is too wide."""
    size = box_mm / (width_mm(text, 1.0, face) * _SPARE) if text else largest_mm
    return None if size < smallest_mm else min(size, largest_mm)


Line = tuple[str, ...]
"""One item as the lines it wraps to."""


def fit_lines(
    items: Sequence[str], box_mm: tuple[float, float], sizes_mm: tuple[float, float], lead: float
) -> tuple[float, tuple[Line, ...]]:
    """The letter size, and the items from the first that fit, each wrapped; ``lead`` is a line's height, ems.

    The largest size at which all fit; at the smallest as many as do. An item is never cut in the middle.
    """
    size, smallest = sizes_mm
    while True:
        lines = tuple(tuple(wrapped(item, size, box_mm[0], BOLD)) for item in items)
        room = int(box_mm[1] / (size * lead) + 1e-6)
        if sum(map(len, lines)) <= room or size <= smallest:
            break
        size = max(smallest, size * 0.96)
    kept: list[Line] = []
    for line in lines:
        if sum(map(len, kept)) + len(line) <= room:
            kept.append(line)
    return size, tuple(kept)


def fit(
    items: Sequence[str],
    box_mm: tuple[float, float],
    sizes_mm: tuple[float, float],
    face: str = REGULAR,
    *,
    indent: float = 0.0,
) -> Fitted:
    """The items at the largest size, between the two given, at which they fit; else as many as do, in order.

    Items come most important first; the caller says how many were left out, so one line is kept free for it.
    ``indent`` is in ems. An item is never cut in the middle.
    """
    largest, smallest = max(sizes_mm), min(sizes_mm)
    style = (face, indent)
    size = _size(items, box_mm, (largest, smallest), style)
    if size is not None:
        return Fitted(size, tuple(items), 0)
    kept: list[str] = []
    for item in items:
        if _height([*kept, item, _MORE], smallest, box_mm[0], style) <= box_mm[1]:
            kept.append(item)
    size = _size([*kept, _MORE], box_mm, (largest, smallest), style)
    return Fitted(size or smallest, tuple(kept), len(items) - len(kept))


def _size(
    items: Sequence[str],
    box_mm: tuple[float, float],
    sizes: tuple[float, float],
    style: tuple[str, float],
) -> float | None:
    size, smallest = sizes
    while _height(items, size, box_mm[0], style) > box_mm[1]:
        if size <= smallest:
            return None
        size = max(smallest, size * 0.94)
    return size


def _height(items: Sequence[str], size: float, wide: float, style: tuple[str, float]) -> float:
    face, indent = style
    box = wide - indent * size
    lines = sum(lines_needed(item, size, box, face) for item in items)
    return (lines * LINE + len(items) * GAP) * size
