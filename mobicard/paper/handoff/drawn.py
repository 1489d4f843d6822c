"""The handoff drawn straight into a tagged PDF: the words of ``handoff.html``, each line measured beforehand.

Laid out, 24 beds took three seconds of processor time; a facility that changes the page or its style gets its
change in the PDF too: then nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from mobicard.paper import in_words
from mobicard.paper.handoff import sheet as at
from mobicard.paper.handoff.level_chart import HIGH, LETTER, WIDE, StepChart
from mobicard.paper.handoff.say import GROUND, LEADING, Piece, Say, set_says
from mobicard.paper.handoff.sheet import Cell, Measure, Section, Spot, Tables
from mobicard.paper.pdf.drawing import Drawing, baseline, can_write
from mobicard.paper.pdf.merge import Part, taken
from mobicard.paper.pdf.setting import BLACK, WHITE, Setter
from mobicard.paper.pdf.svg_path import operators
from mobicard.paper.text_fit import BOLD, REGULAR, width_mm
from mobicard.scheme.scheme import Scheme

FILES = ("handoff.html", "handoff.css", "chips.css")
DRAWN_FROM = "e0ecdd1c0e2ef849"
"""Digest of the page and style this room draws: a facility that changed either gets them laid out instead."""

LEFT, TOP, FOOT = 10.0, 12.0, 10.0
"""The page's margins, mm."""

_PATHS = {"more": "M0 8L5 0L10 8Z", "less": "M1 1L5 7.4L9 1Z"}
"""The triangles of the page, 10 by 8 units: one full, one an outline."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """All that the pages show: the fitted tables, their title, what stands in the margins, the ink."""

    made: Tables
    measure: Measure
    title: str
    head: str
    holds: str
    scheme: Scheme
    ink: str

    def part(self) -> Part:
        """The pages as part of a PDF. Every letter must be in the carried fonts."""
        return taken(_Pages(self).drawn())

    def can_draw(self) -> bool:
        """Whether the carried fonts have every letter of it."""
        texts = list(self._texts())
        return all(can_write("".join(texts), face) for face in (REGULAR, BOLD))

    def _texts(self) -> Iterator[str]:
        yield from (self.made.title, self.head, self.holds)
        for says in (self.made.facts, at.ranked_says(self.made.ranked)):
            yield from _letters(says)
        for section in at.sections(self.made):
            yield from (section.heading, section.beside)
            yield from _letters(section.under)
            for row in section.rows:
                for cell in row:
                    yield from _letters(cell.says)
                    yield from (word[0] for word in (cell.chart.words if cell.chart else ()))


def _letters(says: Sequence[Say]) -> Iterator[str]:
    for one in says:
        yield from (part.replace("\xa0", " ") for part in (one.lead, one.word, one.text))


class _Pages:
    """The pages while they are drawn: each thing at its spot, in reading order."""

    def __init__(self, drawn: Drawn) -> None:
        self.all, self.measure, self.size = drawn, drawn.measure, drawn.measure.size
        self.drawing = Drawing(drawn.title)
        self.sections = at.sections(drawn.made)
        self.leaves: list[Setter] = []
        self.parent: Any = None

    def drawn(self) -> Any:
        """Everything, then the margins of each page."""
        for spot in at.spots(self.all.made, self.measure):
            while len(self.leaves) <= spot.page:
                paper = (self.measure.wide + 2 * LEFT, self.measure.high + TOP + FOOT)
                self.leaves.append(Setter(self.drawing, self.drawing.page(*paper)))
            getattr(self, f"_{spot.what}")(spot)
        for number, setter in enumerate(self.leaves, start=1):
            self._edges(setter, number)
            setter.leaf.finish()
        return self.drawing.finish()

    @property
    def set(self) -> Setter:
        """The page being filled."""
        return self.leaves[-1]

    def _element(self, tag: str, parent: Any = None) -> Any:
        return self.drawing.element(tag, self.drawing.body if parent is None else parent)

    # -- What stands where --------------------------------------------------------------------------------

    def _title(self, spot: Spot) -> None:
        place = (LEFT, TOP + spot.top)
        self.set.line(self.drawing.body, "H1", self.all.made.title, place, at.TITLE_MM, BOLD, lead=LEADING)

    def _facts(self, spot: Spot) -> None:
        self._says(self._element("P"), self.all.made.facts, (LEFT, TOP + spot.top), self.measure.wide)

    def _ranked(self, spot: Spot) -> None:
        box = (LEFT, TOP + spot.top + 1.0, self.measure.wide, spot.tall - 1.0)
        self.set.frame(box, 0.6)
        place = (LEFT + at.INSIDE, box[1] + at.FRAME)
        says = at.ranked_says(self.all.made.ranked)
        wide = self.measure.wide - 2 * at.INSIDE
        self._says(self._element("P"), says, place, wide, leading=at.RANK_LEADING)

    def _heading(self, spot: Spot) -> None:
        section = self.sections[spot.section]
        place = (LEFT, TOP + spot.top + at.GAP)
        self._headed(section.heading, section.beside, place)
        below = (LEFT, place[1] + at.HEADING_MM * LEADING)
        if section.under:
            self._says(self._element("P"), section.under, below, self.measure.wide)
        if section.rows or section.heads:
            self.parent = self._element("Table" if section.heads else "L")

    def _headed(self, heading: str, beside: str, place: tuple[float, float]) -> None:
        self.set.line(self.drawing.body, "H2", heading, place, at.HEADING_MM, BOLD, lead=LEADING)
        if beside:
            [[piece]] = set_says((Say("", heading),), 1e6, False)
            left = place[0] + piece.wide * at.HEADING_MM + 0.8 * self.size
            low = place[1] + (at.HEADING_MM - self.size) * 0.9
            self.set.line(self.drawing.body, "P", beside, (left, low), self.size, lead=LEADING)

    def _heads(self, spot: Spot) -> None:
        section = self.sections[spot.section]
        if not section.heads:
            return
        row = self._element("TR", self._element("THead", self.parent))
        for column, head in enumerate(section.heads):
            cell = self._scoped(row, "/Column")
            place = (self._left(section, column), TOP + spot.top + at.RULE)
            wide = self.measure.box(section, column)
            self._says(self._element("P", cell), (Say("", head),), place, wide, flow=False)
        self._rule(spot, 0.5)
        self.parent = self._element("TBody", self.parent)

    def _again(self, spot: Spot) -> None:
        """A table's heads on its next page: for the eye only, they were told before."""
        section = self.sections[spot.section]
        with self.set.leaf.artifact():
            for column, head in enumerate(section.heads):
                place = (self._left(section, column), TOP + spot.top + at.RULE)
                wide = self.measure.box(section, column)
                self._lines(set_says((Say("", head),), wide / self.size, False), place, LEADING)
        if section.heads:
            self._rule(spot, 0.5)

    def _row(self, spot: Spot) -> None:
        section = self.sections[spot.section]
        cells = section.rows[spot.row]
        top = TOP + spot.top + at.RULE
        if section.heads:
            row = self._element("TR", self.parent)
            for column, cell in enumerate(cells):
                element = self._element("TD", row) if column else self._scoped(row, "/Row")
                self._cell(
                    element, cell, (self._left(section, column), top), self.measure.box(section, column)
                )
        else:
            body = self._element("LBody", self._element("LI", self.parent))
            self._says(body, cells[0].says, (LEFT + at.PAD, top), self.measure.box(section, 0))
        self._rule(spot, 0.2)

    def _sign(self, spot: Spot) -> None:
        top = TOP + spot.top + 2.0
        self.set.frame((LEFT, top, self.measure.wide, spot.tall - 2.0), 0.4)
        inner, wide = LEFT + 3.4, self.measure.wide - 6.8
        self._headed(at.TAKEN, at.TAKEN_HOW, (inner, top + 1.4))
        self.set.rule(inner, top + 11.0, wide, 0.2)
        for number, text in enumerate(at.SIGNED):
            left = inner + number * 0.325 * wide
            self.set.rule(left, top + 14.2, 0.3 * wide, 0.2)
            self.set.line(self.drawing.body, "P", text, (left, top + 14.7), self.size, lead=LEADING)

    def _edges(self, setter: Setter, number: int) -> None:
        """What stands in the margins of every page: no part of what is read."""
        right, low = LEFT + self.measure.wide, TOP + self.measure.high + FOOT / 2
        edges = (
            (self.all.head, LEFT, TOP / 2, 3.0, BOLD),
            (self.all.holds, right, TOP / 2, 3.4, BOLD),
            (in_words.SUPPORT, LEFT, low, 3.0, REGULAR),
            (f"Page {number} of {len(self.leaves)}", right, low, 3.0, REGULAR),
        )
        with setter.leaf.artifact():
            for text, left, middle, size, face in edges:
                wide = width_mm(text, size, face) if left == right else 0.0
                place = (left - wide, middle - size * LEADING / 2 + baseline(size, size * LEADING, face))
                setter.leaf.text(text, place, size, face)

    # -- Cells and lines ----------------------------------------------------------------------------------

    def _scoped(self, row: Any, scope: str) -> Any:
        cell = self._element("TH", row)
        cell["A"] = self.drawing.attributes("/Table", Scope=scope)
        return cell

    def _left(self, section: Section, column: int) -> float:
        return LEFT + sum(at.SHARES[section.name][:column]) / 100 * self.measure.wide + at.PAD

    def _rule(self, spot: Spot, thick: float) -> None:
        self.set.rule(LEFT, TOP + spot.top + spot.tall - thick, self.measure.wide, thick)

    def _cell(self, element: Any, cell: Cell, place: tuple[float, float], wide: float) -> None:
        top = place[1]
        for says in [cell.says] if cell.flow else [(one,) for one in cell.says]:
            top += self._says(self._element("P", element), says, (place[0], top), wide, flow=cell.flow)
        if cell.chart:
            self._chart(element, cell.chart, (place[0], top))

    def _says(
        self,
        element: Any,
        says: Sequence[Say],
        place: tuple[float, float],
        wide: float,
        *,
        flow: bool = True,
        leading: float = LEADING,
    ) -> float:
        """A paragraph that belongs to this element; how far below its top it ends, mm."""
        lines = set_says(tuple(says), wide / self.size, flow)
        with self.set.leaf.marked(element):
            self._lines(lines, place, leading)
        return len(lines) * self.size * leading

    def _lines(self, lines: Sequence[Sequence[Piece]], place: tuple[float, float], leading: float) -> None:
        for number, line in enumerate(lines):
            top = place[1] + number * self.size * leading
            for at_, piece in enumerate(line):
                left = place[0] + piece.left * self.size
                self._mark(piece, left, top + (leading - LEADING) / 2 * self.size)
                more = at_ + 1 < len(line) or number + 1 < len(lines)
                low = top + baseline(self.size, self.size * leading, piece.face)
                text = piece.text + (" " if more and piece.text else "")
                colour = WHITE if piece.mark == "late" else BLACK
                self.set.leaf.text(text, (left, low), self.size, piece.face, colour)

    def _mark(self, piece: Piece, left: float, top: float) -> None:
        """What is drawn behind or before the words: a ground, a frame, a triangle, a box, a level's chip."""
        size, draw = self.size, self.set.leaf.draw
        if piece.mark in GROUND:
            pad = 0.25 * size
            wide, high = piece.wide * size + 2 * pad, size * LEADING - 0.3
            box = f"{left - pad:.3f} {top + 0.15:.3f} {wide:.3f} {high:.3f} re"
            draw(f"0 0 0 rg {box} f" if piece.mark == "late" else f"0 0 0 RG 0.3 w {box} S")
        elif piece.mark in _PATHS:
            scale = 0.095 * size
            placed = f"{scale:.4f} 0 0 {scale:.4f} {left - 1.15 * size:.3f} {top + 0.2 * size:.3f} cm"
            paint = "0 0 0 rg {} f" if piece.mark == "more" else "0 0 0 RG 1 w {} s"
            draw(f"q {placed} {paint.format(operators(_PATHS[piece.mark]))} Q")
        elif piece.mark == "box":
            draw(f"0 0 0 RG 0.3 w {left - 1.25 * size:.3f} {top + 0.3:.3f} 2.6 2.6 re S")
        elif piece.mark == "level":
            look = next(one for one in self.all.scheme.looks.values() if one.level.value == piece.level)
            self.set.chip_mark(look, self.all.ink, (left - 2.1 * size, top + 0.02 * size), size)

    def _chart(self, parent: Any, chart: StepChart, place: tuple[float, float]) -> None:
        figure = self.drawing.element("Figure", parent, chart.says)
        self.set.leaf.bounds(figure, (*place, WIDE, HIGH))
        x, y = chart.now
        dot = operators(f"M{x - 0.9} {y}A0.9 0.9 0 1 0 {x + 0.9} {y}A0.9 0.9 0 1 0 {x - 0.9} {y}Z")
        with self.set.leaf.marked(figure):
            self.set.leaf.draw(f"q 1 0 0 1 {place[0]:.3f} {place[1]:.3f} cm 0 0 0 RG 0 0 0 rg {dot} f")
            self.set.leaf.draw(f"0.6 w {operators(chart.path)} S")
            self.set.leaf.draw(f"0.12 w [0.3 0.7] 0 d {operators(chart.grid)} S Q")
            for text, left, low, ends in chart.words:
                wide = width_mm(text, LETTER, REGULAR) if ends else 0.0
                self.set.leaf.text(f"{text} ", (place[0] + left - wide, place[1] + low), LETTER, REGULAR)
