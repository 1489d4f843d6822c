"""The slip drawn straight into a tagged PDF: the same words as ``slip.html``, at places known beforehand.

Loading and starting the layout for this one page took longer than all the doors beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from mobicard.paper import in_words
from mobicard.paper.pdf.drawing import Drawing
from mobicard.paper.pdf.merge import Part, taken
from mobicard.paper.pdf.setting import Setter
from mobicard.paper.points import Point, line_count
from mobicard.paper.text_fit import BOLD, LINE, width_mm
from mobicard.scheme.scheme import LevelLook

SLIP_FILES, SLIP_FROM = ("slip.html", "slip.css", "chips.css"), "82e235eea6165fda"
"""The page and style drawn here, by digest: a facility that changed either gets them laid out instead."""

SHARES = (0.24, 0.28, 0.30, 0.18)
MARGIN, SIZE, CODE, PAD = 15.0, 4.0, 5.0, 1.6
"""Millimetres: the page's margin, letters, the codes' letters, above and below a row's text."""

TICK, SIGN = (22.0, 6.0), 22.0
"""Millimetres: the box to tick; room for the signature after the last row."""

Row = tuple[Point, Point, Point, LevelLook | None]


@dataclass(frozen=True, slots=True)
class SlipPage:
    """All that the slip says."""

    title: str
    head: str
    intro: str
    heads: Sequence[str]
    rows: Sequence[Row]
    paper: tuple[float, float]
    ink: str


def drawn_slip(page: SlipPage) -> Part:
    """The slip on as many pages as it takes, its heads on each."""
    return taken(_Slip(page).drawn())


class _Slip:
    def __init__(self, page: SlipPage) -> None:
        self.page = page
        self.drawing = Drawing(page.title)
        self.wide = page.paper[0] - 2 * MARGIN
        self.end = page.paper[1] - MARGIN
        self.leaves: list[Setter] = []
        self.top = MARGIN
        self.body: Any = None

    def drawn(self) -> Any:
        """The pages in order, then on each its number of all."""
        self._page()
        self._intro()
        if self.page.rows:
            self.table = self.drawing.element("Table", self.drawing.body)
            self._heads()
            for row in self.page.rows:
                self._row(row)
        else:
            self._paragraph(Point("", "Nothing to change: every door matches."))
        self._sign()
        for number, setter in enumerate(self.leaves, start=1):
            self._edges(setter, number)
            setter.leaf.finish()
        return self.drawing.finish()

    @property
    def set(self) -> Setter:
        """The page being filled."""
        return self.leaves[-1]

    def _page(self) -> None:
        self.leaves.append(Setter(self.drawing, self.drawing.page(*self.page.paper)))
        self.top = MARGIN

    def _paragraph(self, point: Point) -> None:
        element = self.drawing.element("P", self.drawing.body)
        self.top += self.set.paragraph(element, point, (MARGIN, self.top), self.wide, SIZE) + 3.0

    def _intro(self) -> None:
        self.set.line(self.drawing.body, "H1", "Doors to change", (MARGIN, self.top), 6.4, BOLD)
        self.top += 6.4 * LINE + 1.0
        self._paragraph(Point(self.page.intro))

    def _heads(self) -> None:
        row = self.drawing.element("TR", self.drawing.element("THead", self.table))
        for place, head in enumerate(self.page.heads):
            cell = self.drawing.element("TH", row)
            cell["A"] = self.drawing.attributes("/Table", Scope="/Column")
            self.set.line(cell, "P", head, (self._left(place), self.top + 0.8), SIZE, BOLD)
        self._rule(0.5, SIZE * LINE + 1.6)
        self.body = self.drawing.element("TBody", self.table)

    def _left(self, place: int) -> float:
        return MARGIN + sum(SHARES[:place]) * self.wide + 1.0

    def _rule(self, thick: float, below: float) -> None:
        self.top += below
        self.set.rule(MARGIN, self.top - thick / 2, self.wide, thick)

    def _row(self, row: Row) -> None:
        cells = row[:3]
        sizes = (SIZE, *(CODE if point.strong else SIZE for point in cells[1:]))
        rooms = [share * self.wide - 2.0 for share in SHARES]
        tall = [line_count(cells[at], rooms[at] / sizes[at]) * LINE * sizes[at] for at in range(3)]
        named = row[3] is not None and self._chip_left(row) + self._chip_wide(row) > self._left(3)
        tall[2] += SIZE * LINE * named
        high = max(*tall, TICK[1]) + 2 * PAD
        if self.top + high > self.end:
            self._page()
            self._heads()
        line = self.drawing.element("TR", self.body)
        for place, (point, size) in enumerate(zip(cells, sizes, strict=True)):
            cell = self.drawing.element("TD" if place else "TH", line)
            if not place:
                cell["A"] = self.drawing.attributes("/Table", Scope="/Row")
            at = (self._left(place), self.top + PAD)
            self.set.paragraph(self.drawing.element("P", cell), point, at, rooms[place], size)
        if row[3] is not None:
            left = self._left(2) if named else self._chip_left(row)
            top = self.top + PAD + (CODE * LINE if named else (CODE - SIZE) * 0.6)
            self.set.chip(cell, row[3], self.page.ink, (left, top), SIZE)
        self._tick(line)
        self._rule(0.2, high)

    def _chip_left(self, row: Row) -> float:
        return self._left(2) + width_mm(row[2].strong, CODE, BOLD) + 3.0

    def _chip_wide(self, row: Row) -> float:
        return 2.1 * SIZE + width_mm(row[3].word, SIZE, BOLD) if row[3] else 0.0

    def _tick(self, line: Any) -> None:
        left, top = self._left(3), self.top + PAD
        self.set.frame((left, top, *TICK), 0.4)
        cell = self.drawing.element("TD", line)
        self.set.line(cell, "P", "not done yet", (left + 1.0, top + 0.8), 2.2)

    def _sign(self) -> None:
        if self.top + SIGN > self.end:
            self._page()
        top = self.top + 12.0
        for place, text in enumerate(("Done by", "Time")):
            left = MARGIN + place * 0.45 * self.wide
            self.set.rule(left, top, 0.4 * self.wide, 0.2)
            self.set.line(self.drawing.body, "P", text, (left, top + 0.6), SIZE)

    def _edges(self, setter: Setter, number: int) -> None:
        """What stands in the margins of every page: no part of what is read."""
        low = self.page.paper[1] - MARGIN / 2 - 1.8
        right = MARGIN + self.wide
        with setter.leaf.artifact():
            setter.edge(self.page.head, (MARGIN, MARGIN / 2 - 1.8), 3.0)
            setter.edge(in_words.SUPPORT, (MARGIN, low), 2.3)
            setter.edge(f"Page {number} of {len(self.leaves)}", (right, low), 3.0, side=1.0)
