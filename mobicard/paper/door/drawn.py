"""Door cards drawn straight into a tagged PDF: every place is known, so nothing needs laying out.

The same boxes, letters and paths as the page ``door.html``; a test holds the two together. Kept for its
speed: 24 doors are drawn in 0.08 s where laying them out starts at half a second. A facility that changes
the page or its style gets its change in the PDF too: then nothing is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mobicard.paper import text_fit
from mobicard.paper.door.face import DoorCard, DoorFace
from mobicard.paper.door.layout import (
    ENDS,
    LEAD,
    NEEDED,
    SAYS_LEAD,
    STRIP,
    Box,
    Layout,
    bed_box,
    beside_end,
    items_box,
)
from mobicard.paper.door.panel import Stroke, panel_says, panel_strokes, rule_stroke, word_colour
from mobicard.paper.pdf.drawing import Drawing, Leaf, baseline, can_write, rgb
from mobicard.paper.pdf.merge import Part, taken
from mobicard.paper.pdf.setting import draw_qr
from mobicard.paper.pdf.svg_path import operators
from mobicard.paper.sheet_sizes import Sheet
from mobicard.paper.templates import same_files

_CAPS = {"butt": 0, "round": 1}


def drawn(groups: Sequence[Sequence[DoorCard]], sheet: Sheet, layout: Layout, title: str, foot: str) -> Part:
    """One part of a PDF: a page for each group of cards. Every letter must be in the carried fonts."""
    drawing = Drawing(title)
    for group in groups:
        leaf = drawing.page(sheet.width, sheet.height)
        for index, card in enumerate(group):
            _Card(drawing, leaf, layout, sheet.place(index)).draw(card, sheet.ink, foot)
        _cuts(leaf, sheet)
        leaf.finish()
    return taken(drawing.finish())


DRAWN_FROM = "c7c9e1cd6da67954"
"""Digest of the page and style this room draws: a facility that changed either gets them laid out instead."""


def is_the_page(folder: Path | None = None) -> bool:
    """Whether ``door.html`` and ``door.css`` (of this folder, else the ones used) are the ones drawn here."""
    return same_files(("door.html", "door.css"), DRAWN_FROM, folder)


def can_draw(card: DoorCard) -> bool:
    """Whether the page is the one drawn here, and the carried fonts have every letter of this card."""
    if not is_the_page():
        return False
    face = card.face
    people = (number.people for number in face.numbers)
    words = (face.word, face.sub_line, face.band, face.bed, *face.until, *face.boxes, *people)
    bold = (*face.items, *face.says, face.code)
    return all(can_write(text, text_fit.WORD) for text in words) and all(
        can_write(text, text_fit.BOLD) for text in bold
    )


def _cuts(leaf: Leaf, sheet: Sheet) -> None:
    if sheet.cuts():
        boxes = " ".join(f"{x:.3f} {y:.3f} {w:.3f} {h:.3f} re" for x, y, w, h in sheet.cuts())
        with leaf.artifact():
            leaf.draw(f"0 0 0 rg {boxes} f")


class _Card:
    """One card at its corner of the sheet."""

    def __init__(self, drawing: Drawing, leaf: Leaf, layout: Layout, corner: tuple[float, float]) -> None:
        self.drawing, self.leaf, self.layout, self.corner = drawing, leaf, layout, corner
        self.article: Any = drawing.element("Art", drawing.body)

    def draw(self, card: DoorCard, ink: str, foot: str) -> None:
        """Everything on the card, in reading order."""
        face, layout = card.face, self.layout
        colour = word_colour(face, ink)
        self._panel(face, ink)
        self._line("H1", "word", face.word, layout.word_size, text_fit.WORD, colour)
        if face.sub_line:
            self._line("P", "sub", face.sub_line, card.sub_size, text_fit.WORD, colour)
        if face.band:
            inset = layout.size(4.0)
            self._line("P", "band", face.band, card.band_size, text_fit.WORD, "#FFFFFF", inset=inset)
        self._numbers(face)
        self._block("says", card.says, card.says_size, SAYS_LEAD)
        self._block(items_box(face), card.items, card.items_size, LEAD, ruled=True)
        self._line("P", bed_box(face), face.bed, card.bed_size, text_fit.WORD, side=1.0)
        self._end(card)
        self._qr(face)
        self._line("P", "code", f"card {face.code}", layout.size(4.2), side=1.0)
        self._line("P", "foot", foot, layout.size(2.8), text_fit.WORD)

    def _box(self, name: str) -> Box:
        left, top, width, height = self.layout.places[name]
        return left + self.corner[0], top + self.corner[1], width, height

    def _panel(self, face: DoorFace, ink: str) -> None:
        figure = self.drawing.element("Figure", self.article, panel_says(face))
        self.leaf.bounds(figure, (*self.corner, *self.layout.card))
        with self.leaf.marked(figure):
            strokes = panel_strokes(face, ink, self.layout)
            self.leaf.draw("\n".join(_painted(one, self.corner) for one in strokes))

    def _numbers(self, face: DoorFace) -> None:
        if not face.numbers:
            return
        layout = self.layout
        self._line("P", "needed", NEEDED, layout.size(4.2))
        for index, number in enumerate(face.numbers):
            self._line("P", f"number{index}", number.people, layout.number_size, text_fit.WORD)
            self._line("P", f"label{index}", number.says, layout.size(4.4))
            self._line("P", f"moves{index}", number.moves, layout.size(3.4), text_fit.REGULAR)

    def _end(self, card: DoorCard) -> None:
        face, layout = card.face, self.layout
        if not face.until:
            return
        self._line("P", "until_says", "NOT VALID AFTER", layout.size(4.4))
        for name, text in zip(ENDS, face.until, strict=True):
            self._line("P", name, text, card.until_size, text_fit.WORD)
        for index, text in enumerate(beside_end(face)):
            self._line("P", f"then{index}", text, layout.size(4.2), text_fit.WORD)
        if face.boxes:
            self._line("P", "strip", STRIP, layout.size(3.35), text_fit.WORD)
        for index, text in enumerate(face.boxes):
            self._line("P", f"box{index}", text, layout.size(3.3), text_fit.WORD, inset=layout.size(0.8))

    def _line(
        self,
        tag: str,
        name: str,
        text: str,
        size: float,
        face: str = text_fit.BOLD,
        colour: str = "#000000",
        *,
        side: float = 0.0,
        inset: float = 0.0,
    ) -> None:
        """One line in its box, at its left (0), middle (0.5) or right (1), as high as the page puts it."""
        left, top, width, height = self._box(name)
        line = height if name in self.layout.one_line_boxes else size * text_fit.LINE
        at = left + inset + side * (width - text_fit.width_mm(text, size, face))
        with self.leaf.marked(self.drawing.element(tag, self.article)):
            self.leaf.text(text, (at, top + baseline(size, line, face)), size, face, colour)

    def _block(
        self, name: str, items: tuple[text_fit.Line, ...], size: float, lead: float, *, ruled: bool = False
    ) -> None:
        """Lines one under another, each item of a list with a rule above it."""
        if not items:
            return
        left, top, width, _ = self._box(name)
        listed = self.drawing.element("L", self.article)
        for item in items:
            if ruled:
                with self.leaf.artifact():
                    self.leaf.draw(_painted(rule_stroke((left, top, width, 0.0)), (0.0, 0.0)))
            body = self.drawing.element("LBody", self.drawing.element("LI", listed))
            with self.leaf.marked(body):
                for text in item:
                    at = (left, top + baseline(size, size * lead, text_fit.BOLD))
                    self.leaf.text(text + " ", at, size, text_fit.BOLD)
                    top += size * lead

    def _qr(self, face: DoorFace) -> None:
        box = self._box("qr")
        figure = self.drawing.element("Figure", self.article, f"QR of code {face.code}")
        draw_qr(self.leaf, figure, face.address + face.code, box)


def _painted(stroke: Stroke, corner: tuple[float, float]) -> str:
    at = (stroke.left + corner[0], stroke.top + corner[1])
    placed = f"{stroke.scale:.5f} 0 0 {stroke.scale:.5f} {at[0]:.3f} {at[1]:.3f} cm"
    fill = f"{rgb(stroke.fill)} rg " if stroke.fill else ""
    line = ""
    if stroke.line:
        line = f"{rgb(stroke.line)} RG {stroke.width:.4f} w {_CAPS[stroke.cap]} J "
    paint = {(True, True): "B*", (True, False): "f*", (False, True): "S"}[
        bool(stroke.fill), bool(stroke.line)
    ]
    return f"q {fill}{line}{placed} {operators(stroke.path)} {paint} Q"
