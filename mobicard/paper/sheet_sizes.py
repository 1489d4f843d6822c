"""Card sizes and sheets: how large a card and its letters are, how many go on a sheet, where to cut."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from mobicard.paper.shapes import INKS

PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of the sheet, upright, in mm. Source: ISO 216; ANSI/ASME Y14.1."""

CAP_HEIGHT = 0.700
"""Capital height of the level word's font, in ems; tests read it from the font."""


@dataclass(frozen=True, slots=True)
class CardSize:
    """A card, lying: its size, the level word's capital height and the distance it is for, all in mm (m)."""

    name: str
    width: float
    height: float
    word_cap: float
    reads_at_m: float


SIZES = {
    size.name: size
    for size in (
        CardSize("a5", 210.0, 148.0, 28.4, 3.0),
        CardSize("half-letter", 215.9, 139.7, 28.4, 3.0),
        CardSize("a6", 148.0, 105.0, 21.0, 2.3),
        CardSize("quarter-letter", 139.7, 107.95, 20.0, 2.2),
        CardSize("a4", 297.0, 210.0, 44.0, 4.5),
        CardSize("letter", 279.4, 215.9, 41.5, 4.2),
    )
}
"""Capital heights: ADA 2010 Standards 703.5.5, 16 mm and 3.2 mm more for each 305 mm beyond 1830 mm."""


HALVES = {"a4": "a5", "letter": "half-letter"}
"""The card that fills half of a paper; two on a sheet is how doors are printed unless asked otherwise."""

LETTER_LANDS = frozenset({"BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"})
"""Lands whose common paper is Letter. Source: Unicode CLDR, paperSize US-Letter, from memory."""


class SheetRefused(ValueError):  # noqa: N818 - said to people as a refusal, not as an error
    """A sheet that cannot be made, and which can."""


def paper_size(paper: str, page: str) -> tuple[float, float]:
    """Width and height of the paper for this kind of page, upright, mm. Raises SheetRefused."""
    if paper not in PAPERS:
        raise SheetRefused(f"“{paper}” is no paper for {page}; the papers are {', '.join(PAPERS)}")
    return PAPERS[paper]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One way to print: the card, how many up, on which paper (mm), in which ink."""

    card: CardSize
    up: int
    paper: str
    ink: str
    width: float
    height: float
    columns: int
    rows: int

    @classmethod
    def named(cls, size: str = "a5", up: int = 1, paper: str = "a4", ink: str = "colour") -> Self:
        """A sheet by its names. ``paper`` may be the card's own name: then the card fills the page.

        Raises SheetRefused, which says what does fit.
        """
        size, paper, ink = size.lower(), paper.lower(), {"color": "colour", "gray": "grey"}.get(ink, ink)
        if size not in SIZES:
            raise SheetRefused(f"“{size}” is no card size; the sizes are {', '.join(SIZES)}")
        if ink not in INKS:
            raise SheetRefused(f"“{ink}” is no ink; the inks are {', '.join(INKS)}")
        if up not in (1, 2, 4):
            raise SheetRefused(f"{up} cards on a sheet cannot be cut; print 1, 2 or 4 on a sheet")
        card = SIZES[size]
        if paper == size and up == 1:
            return cls(card, up, paper, ink, card.width, card.height, 1, 1)
        if paper not in PAPERS:
            raise SheetRefused(
                f"“{paper}” is no paper; the papers are {', '.join(PAPERS)}, or {size} for one card"
            )
        return cls(card, up, paper, ink, *_arranged(card, up, paper))

    @classmethod
    def asked(cls, size: str | None, up: int | None, paper: str | None, ink: str, stock: str) -> Self:
        """A sheet by what was asked for; on the stock, as many as fit, where nothing was.

        ``paper`` “card” is one card that fills its page. Raises SheetRefused, which says what does fit.
        """
        size = (size or HALVES[stock]).lower()
        if paper == "card":
            return cls.named(size, up or 1, size, ink)
        papers = [paper] if paper else [stock, *PAPERS]
        counts = [up] if up else [4, 2, 1]
        fitting = [(p, n) for p in papers for n in counts if size in SIZES and _grid(SIZES[size], n, p)]
        found, many = fitting[0] if fitting else (papers[0], counts[-1])
        return cls.named(size, many, found, ink)

    @property
    def page(self) -> str:
        """The paper of the pages that go with these cards: slip, bedside card."""
        family = "letter" if "letter" in self.card.name else "a4"
        return self.paper if self.paper in PAPERS else family

    @property
    def cut(self) -> bool:
        """Whether there is anything to cut."""
        return (self.width, self.height) != (self.card.width, self.card.height)

    @property
    def left(self) -> float:
        """Where the first column starts, mm."""
        return (self.width - self.columns * self.card.width) / 2

    @property
    def top(self) -> float:
        """Where the first row starts, mm."""
        return 0.0 if self.rows == 1 else (self.height - self.rows * self.card.height) / 2

    def place(self, index: int) -> tuple[float, float]:
        """The corner of card number ``index`` on its sheet: left and top, mm."""
        row, column = divmod(index, self.columns)
        return self.left + column * self.card.width, self.top + row * self.card.height

    def cuts(self) -> tuple[tuple[float, float, float, float], ...]:
        """The cut marks as small boxes (left, top, width, height; mm), in the cards' empty margins."""
        return tuple(_cuts(self)) if self.cut else ()


def _arranged(card: CardSize, up: int, paper: str) -> tuple[float, float, int, int]:
    found = _grid(card, up, paper)
    if found is not None:
        return found
    fitting = [name for name, size in SIZES.items() if _grid(size, up, paper)]
    raise SheetRefused(
        f"{up} {card.name} card{'s do' if up > 1 else ' does'} not fit on {paper}; "
        f"{up} on {paper}: {', '.join(fitting) or 'none'}"
    )


def _grid(card: CardSize, up: int, paper: str) -> tuple[float, float, int, int] | None:
    """The sheet's width and height, columns and rows; upright first. None when the cards do not fit."""
    grids = {1: [(1, 1)], 2: [(1, 2), (2, 1)], 4: [(2, 2)]}.get(up, [])
    short, long = PAPERS[paper]
    for width, height in ((short, long), (long, short)):
        for columns, rows in grids:
            if columns * card.width <= width + 0.01 and rows * card.height <= height + 0.01:
                return width, height, columns, rows
    return None


MARK, THICK, UNPRINTED = 4.0, 0.25, 5.0
"""Length and width of a cut mark, and the sheet's margin where few printers print, mm."""


def _cuts(sheet: Sheet) -> list[tuple[float, float, float, float]]:
    """Short lines where card edges meet the sheet or each other; edges on the sheet's own edge need none."""
    card = sheet.card
    xs = [sheet.left + column * card.width for column in range(sheet.columns + 1)]
    ys = [sheet.top + row * card.height for row in range(sheet.rows + 1)]
    inner_x = [x for x in xs if 1 < x < sheet.width - 1]
    inner_y = [y for y in ys if 1 < y < sheet.height - 1]
    marks = []
    for y in inner_y:
        for x in xs:
            start, end = _printed(x, sheet.width)
            marks.append((start, y - THICK / 2, end - start, THICK))
    for x in inner_x:
        for y in ys:
            start, end = _printed(y, sheet.height)
            marks.append((x - THICK / 2, start, THICK, end - start))
    return marks


def _printed(at: float, side: float) -> tuple[float, float]:
    """Where a mark around this place starts and ends, moved in from the margin that stays white."""
    middle = min(max(at, UNPRINTED + MARK / 2), side - UNPRINTED - MARK / 2)
    reach = MARK / 2 if middle != at else MARK
    return max(middle - reach, UNPRINTED), min(middle + reach, side - UNPRINTED)
