"""Bedside cards drawn straight into a tagged PDF: every line is measured beforehand, so nothing is laid out.

The same words at the same places as the page ``bedside.html``; a facility that changes the page or its style
gets its change in the PDF too: then nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from mobicard.paper import shapes
from mobicard.paper.bedside import sides as fit
from mobicard.paper.bedside.blocks import Block
from mobicard.paper.bedside.body_figure import body_alternative, body_operators
from mobicard.paper.bedside.moves import HEADS, Row
from mobicard.paper.bedside.page import Page
from mobicard.paper.bedside.sides import Side
from mobicard.paper.pdf.drawing import Drawing, can_write
from mobicard.paper.pdf.merge import Part, taken
from mobicard.paper.pdf.setting import BLACK, Setter, can_set, draw_qr
from mobicard.paper.points import Point
from mobicard.paper.templates import same_files
from mobicard.paper.text_fit import BOLD, LINE, REGULAR, WORD
from mobicard.scheme.scheme import Scheme

FILES = ("bedside.html", "bedside.css", "bedside_block.html", "bedside_point.html", "chips.css")
DRAWN_FROM = "8debfc0f4df465f5"
"""Digest of the page and style this room draws: a facility that changed either gets them laid out instead."""


def drawn(
    pages: Sequence[Page],
    scheme: Scheme,
    paper: tuple[float, float],
    ink: str,
    title: str,
    foot: Sequence[str],
    address: str = "",
) -> Part:
    """One part of a PDF: every side of every card. Every letter must be in the carried fonts.

    ``address`` stands before the code in the QR.
    """
    drawing = Drawing(title)
    for page in pages:
        article = drawing.element("Art", drawing.body)
        for number in range(len(page.sides)):
            leaf = drawing.page(*paper)
            _Side(Setter(drawing, leaf), article, page, number, scheme, paper, ink).draw(foot, address)
            leaf.finish()
    return taken(drawing.finish())


def can_draw(page: Page) -> bool:
    """Whether the page is the one drawn here, and the carried fonts have every letter of this card."""
    if not same_files(FILES, DRAWN_FROM):
        return False
    names = (page.bed, page.label, page.assessed, page.until, page.sub_line)
    return (
        can_write(page.look.word, WORD)
        and all(can_write(name, face) for name in names for face in (REGULAR, BOLD))
        and all(can_set(point) for side in page.sides for point in _points(side))
    )


def _points(side: Side) -> Iterator[Point]:
    yield from side.banners
    yield from (Point(step) for step in side.steps)
    if side.patient:
        yield Point(side.patient.note, side.patient.text)
    for row in side.rows:
        yield from (Point(row.people, row.moves), *row.says, Point(row.share))
    yield from (limb.says for limb in side.limbs)
    for block in (*side.columns[0], *side.columns[1]):
        yield from (Point("", block.title), *block.items)


class _Side:
    """One side of one card."""

    def __init__(
        self,
        setter: Setter,
        article: Any,
        page: Page,
        number: int,
        scheme: Scheme,
        paper: tuple[float, float],
        ink: str,
    ) -> None:
        self.set, self.article, self.page, self.number = setter, article, page, number
        self.scheme, self.ink = scheme, ink
        self.side = page.sides[number]
        self.size = self.side.size_mm
        self.shares = fit.shares(self.side.rows)
        self.left, self.wide = fit.MARGIN, paper[0] - 2 * fit.MARGIN
        self.bottom = paper[1] - fit.MARGIN
        self.top = fit.MARGIN

    def draw(self, foot: Sequence[str], address: str) -> None:
        """Everything on the side, in reading order."""
        if self.side.first:
            self._strip(address)
            self._band()
            self.top += fit.UNDER_BAND
        else:
            self._again()
            self.top += fit.BACK_HEAD
        self._banners()
        self._steps()
        self._patient()
        self._table()
        self._columns()
        self._foot(foot)

    def _element(self, tag: str, parent: Any = None, alt: str | None = None) -> Any:
        return self.set.drawing.element(tag, self.article if parent is None else parent, alt)

    # -- Strip and band -----------------------------------------------------------------------------------

    def _strip(self, address: str) -> None:
        page, left, top = self.page, self.left, self.top
        line = self.set.line
        line(self.article, "H1", f"Bed {page.bed}", (left, top), page.bed_mm, BOLD, lead=1.1)
        if page.label:
            line(self.article, "P", page.label, (left, top + 8.6), page.label_mm, lead=1.1)
        self.set.paragraph(self._element("P"), Point(page.assessed), (left, top + 14), 91.0, page.assessed_mm)
        line(self.article, "P", page.until_says, (left + 94, top), 3.4)
        line(self.article, "P", page.until, (left + 94, top + 4.15), page.until_mm, BOLD, lead=1.15)
        code = Point("", f"Card code {page.code}")
        self.set.paragraph(self._element("P"), code, (left + 94, top + 13.6), 70.0, 3.9)
        figure = self._element("Figure", alt=f"QR of code {page.code}")
        draw_qr(self.set.leaf, figure, address + page.code, (left + self.wide - 20, top, 20.0, 20.0))

    def _band(self) -> None:
        look, page = self.page.look, self.page
        colour, saver = shapes.mark(look, self.ink), self.ink == "saver"
        edge = (2.2, look.colour) if saver else (0.5, BLACK)
        band = (self.left, self.top + fit.STRIP, self.wide, fit.BAND)
        self.set.frame(band, edge[0], shapes.ground(look, self.ink), edge[1])
        left, top, low = (edge[0] + band[0], edge[0] + band[1], 13.4 if saver else 16.0)
        high = -0.4 if saver else 1.2
        self._mark(
            f"{look.word} mark",
            look.shape_path,
            colour,
            0.17 if saver else 0.178,
            (left + 4.0, top + (0.4 if saver else 2.0)),
        )
        self.set.line(self.article, "H2", look.word, (left + 34.0, top + high), 13.8, WORD, colour, lead=1.0)
        sub = (left + 34.6, top + low)
        self.set.line(self.article, "P", page.sub_line, sub, page.sub_mm, REGULAR, colour, lead=1.05)
        for at, text in enumerate(page.people):
            place = (left + 118.0, top + high + 3.0 + at * 1.15 * page.people_mm)
            self.set.line(self.article, "P", text, place, page.people_mm, BOLD, colour, lead=1.15)

    def _mark(self, says: str, path: str, colour: str, scale: float, at: tuple[float, float]) -> None:
        figure = self._element("Figure", alt=says)
        self.set.leaf.bounds(figure, (*at, 100 * scale, 100 * scale))
        with self.set.leaf.marked(figure):
            self.set.path(path, colour, scale, at)

    def _again(self) -> None:
        page, left, top = self.page, self.left, self.top
        self.set.line(
            self.article, "H2", f"Bed {page.bed}", (left, top), min(page.bed_mm, 5.0), BOLD, lead=1.1
        )
        self.set.line(self.article, "P", page.head(self.number), (left, top + 5.2), 3.2)
        ends = f"{page.until_says} {page.until}, card code {page.code}"
        self.set.line(self.article, "P", ends, (left + self.wide, top + 5.2), 3.2, BOLD, side=1.0)
        self.set.rule(left, top + fit.BACK_HEAD - 2.5, self.wide, 0.5)

    # -- Lines over the whole width -----------------------------------------------------------------------

    def _banners(self) -> None:
        letters = self.size * fit.BANNER
        for banner in self.side.banners:
            high = fit.banner_height(banner, self.size, self.wide)
            self.set.frame((self.left, self.top, self.wide, high - 1.4), 0.6)
            at = (self.left + fit.FRAME, self.top + fit.BANNER_PAD)
            self.set.paragraph(self._element("P"), banner, at, self.wide - 2 * fit.FRAME, letters)
            self.top += high

    def _steps(self) -> None:
        listed = self._element("L") if self.side.steps else None
        for number, step in enumerate(self.side.steps, start=1):
            item = self._element("LI", listed)
            self.set.line(item, "Lbl", f"{number}.", (self.left + 7.0, self.top), self.size, side=1.0)
            body = self._element("LBody", item)
            self.set.paragraph(body, Point(step), (self.left + 8, self.top), self.wide - 8, self.size)
            self.top += fit.step_height(step, self.size, self.wide)
        self.top += fit.STEPS_END if self.side.steps else 0.0

    def _patient(self) -> None:
        said = self.side.patient
        if said is None:
            return
        high = fit.patient_height(said, self.size, self.wide)
        self.set.frame((self.left, self.top, self.wide, high - 1.6), 0.4)
        at = (self.left + fit.FRAME, self.top + fit.BANNER_PAD)
        quote = self._element("BlockQuote")
        quote["Lang"] = self.set.drawing.string(said.language)
        wide = self.wide - 2 * fit.FRAME
        used = self.set.paragraph(quote, Point("", said.text), at, wide, fit.PATIENT_MM, BOLD)
        note = f"For the patient ({said.language})" + (f": {said.note}" if said.note else "")
        self.set.paragraph(self._element("P"), Point(note), (at[0], at[1] + used), wide, self.size)
        self.top += high

    # -- The table ----------------------------------------------------------------------------------------

    def _table(self) -> None:
        if self.side.rows:
            table = self._element("Table")
            self._heads(self._element("TR", self._element("THead", table)))
            body = self._element("TBody", table)
            for row in self.side.rows:
                self._row(row, self._element("TR", body))
        if self.side.note:
            self.top += 1.0
            note = Point(self.side.note)
            self.top += self.set.paragraph(
                self._element("P"), note, (self.left, self.top), self.wide, self.size
            )
        self.top += 3.0 if self.side.rows else 0.0

    def _heads(self, row: Any) -> None:
        for place, head in enumerate(HEADS[: len(self.shares)]):
            self._cell(self._scoped(row, "/Column"), place, [Point("", head)])
        self.top += fit.head_height(self.shares, self.size, self.wide)
        self.set.rule(self.left, self.top - 0.2, self.wide, 0.4)

    def _row(self, row: Row, element: Any) -> None:
        self._cell(self._scoped(element, "/Row"), 0, [Point("", row.moves)])
        look = next(look for look in self.scheme.looks.values() if look.level.value == row.level)
        cell = self._element("TD", element)
        self.set.chip(cell, look, self.ink, self._place(1), self.size)
        self._cell(cell, 1, [Point(row.people)], below=1)
        self._cell(self._element("TD", element), 2, row.says)
        if len(self.shares) > 3:
            self._cell(self._element("TD", element), 3, [Point(row.share)] if row.share else [])
        self.top += fit.row_height(row, self.shares, self.size, self.wide)
        self.set.rule(self.left, self.top - 0.1, self.wide, 0.2)

    def _scoped(self, row: Any, scope: str) -> Any:
        cell = self._element("TH", row)
        cell["A"] = self.set.drawing.attributes("/Table", Scope=scope)
        return cell

    def _place(self, place: int) -> tuple[float, float]:
        return self.left + sum(self.shares[:place]) * self.wide + fit.INDENT, self.top + fit.PAD

    def _cell(self, cell: Any, place: int, says: Sequence[Point], below: int = 0) -> None:
        left, top = self._place(place)
        top += below * LINE * self.size
        for point in says:
            wide = fit.cell_ems(self.shares[place], self.size, self.wide) * self.size
            element = self._element("P", cell)
            top += self.set.paragraph(element, point, (left, top), wide, self.size)

    # -- The columns --------------------------------------------------------------------------------------

    def _columns(self) -> None:
        column = (self.wide - fit.GAP) / 2
        top = self.top
        if self.side.limbs:
            self._figure(column)
        for blocks, left in zip(self.side.columns, (self.left, self.left + column + fit.GAP), strict=True):
            for block in blocks:
                self._block(block, left, column)
            self.top = top

    def _figure(self, column: float) -> None:
        side, left, top = self.side, self.left, self.top
        self.set.frame((left, top, column, side.figure_mm - 2.0), 0.2)
        right = left + column - 1.0
        self.set.line(self.article, "P", "Patient’s RIGHT", (left + 1, top + 1), self.size, BOLD)
        self.set.line(self.article, "P", "Patient’s LEFT", (right, top + 1), self.size, BOLD, side=1.0)
        limits = {limit.limb: limit for limit in self.page.limits}
        figure = self._element("Figure", alt=body_alternative(limits))
        place = (left + column / 2 - 13.1, top + 4.6, 26.25, 42.0)
        self.set.leaf.bounds(figure, place)
        with self.set.leaf.marked(figure):
            self.set.leaf.draw(body_operators(limits, place[0], place[1], 42.0))
        for limb in side.limbs:
            down = fit.leg_top(side.limbs, self.size) if limb.key.endswith("leg") else 7.0
            on_right = limb.key.startswith("left")
            at = (right - fit.LABEL if on_right else left + 1, top + down)
            self.set.paragraph(self._element("P"), limb.says, at, fit.LABEL, self.size, right=on_right)
        self.top += side.figure_mm

    def _block(self, block: Block, left: float, column: float) -> None:
        high = fit.frame_height(block, self.size) + sum(
            fit.item_height(item, block, self.size, column) for item in block.items
        )
        end, pad = self.top + high, 0.0
        if block.loud:
            self.set.frame((left, self.top, column, high - 2.2), 0.6)
            self.top += fit.BANNER_PAD
            pad = fit.FRAME
        self.set.line(self.article, "H3", block.title, (left + pad, self.top), self.size * 1.08, BOLD)
        self.top += fit.title_height(self.size)
        self.set.rule(left + pad, self.top - 1.1, column - 2 * pad, 0.2)
        listed = self._element("L")
        for item in block.items:
            self._item(item, block, listed, left + pad, column)
        self.top = end

    def _item(self, item: Point, block: Block, listed: Any, left: float, column: float) -> None:
        element = self._element("LI", listed)
        if block.key != "sources":
            with self.set.leaf.artifact():
                at = (left, self.top + 0.66 * self.size)
                self.set.leaf.draw(f"0 0 0 rg {at[0]:.3f} {at[1]:.3f} {0.5 * self.size:.3f} 0.25 re f")
        wide = fit.inner(block, self.size, column) * self.size
        at = (left + fit.DASH * self.size, self.top)
        self.set.paragraph(self._element("LBody", element), item, at, wide, self.size)
        self.top += fit.item_height(item, block, self.size, column)

    def _foot(self, foot: Sequence[str]) -> None:
        page, size = self.page, fit.FRONT_MM[-1]
        top = self.bottom - 3 * LINE * size - 0.5
        self.set.rule(self.left, top - 0.9, self.wide, 0.3)
        first = Point(f"{page.until_says} {page.until}.", page.foot(self.number))
        self.set.paragraph(self._element("P"), first, (self.left, top), self.wide, size)
        for number, text in enumerate(foot, start=1):
            self.set.line(self.article, "P", text, (self.left, top + number * LINE * size), size)
