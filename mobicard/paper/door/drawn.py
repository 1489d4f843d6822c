"""Door cards drawn straight into a tagged PDF: every place is known, so nothing needs laying out.

The same boxes, letters and paths as the page ``door.html``; a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

from mobicard.paper import shapes, text_fit
from mobicard.paper.door.face import DoorCard
from mobicard.paper.door.layout import Box, Layout
from mobicard.paper.door.panel import Stroke, panel_says, panel_strokes
from mobicard.paper.pdf.drawing import Drawing, Leaf, baseline, can_write, rgb
from mobicard.paper.pdf.merge import Part, taken
from mobicard.paper.pdf.svg_path import operators
from mobicard.paper.sheet_sizes import Sheet
from mobicard.scheme.scheme import LevelLook

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


def can_draw(card: DoorCard) -> bool:
    """Whether the carried fonts have every letter of this card."""
    face = card.face
    bold = (face.sub_line, face.band, face.helpers, *face.items, face.bed, *face.until, face.code)
    return can_write(face.look.word, text_fit.WORD) and all(can_write(text, text_fit.BOLD) for text in bold)


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
        self.banded = False

    def draw(self, card: DoorCard, ink: str, foot: str) -> None:
        """Everything on the card, in reading order."""
        face, layout = card.face, self.layout
        colour = shapes.mark(face.look, ink)
        self.banded = bool(face.band)
        self._panel(face.look, ink)
        self._line("H1", "word", face.look.word, layout.word_size, text_fit.WORD, colour)
        self._line("P", "sub", face.sub_line, card.sub_size, text_fit.BOLD, colour)
        if face.band:
            self._band(face.band, card.band_size, face.expired)
        self._line("P", "helpers", face.helpers, card.helpers_size)
        self._items(card.items)
        self._line("P", "bed", f"Bed {face.bed}", card.bed_size, side=1.0)
        self._line("P", "until_says", face.until_says, layout.small_size, text_fit.REGULAR)
        self._line("P", "until_clock", face.until[0], card.clock_size)
        self._line("P", "until_day", face.until[1], layout.day_size)
        self._qr(face.code)
        self._line("P", "code", face.code, card.code_size, side=0.5)
        self._line("P", "foot", foot, layout.foot_size, text_fit.REGULAR)

    def _box(self, name: str) -> Box:
        moves = self.banded and name in self.layout.under_the_band
        left, top, width, height = self.layout.shifted(name) if moves else getattr(self.layout, name)
        return left + self.corner[0], top + self.corner[1], width, height

    def _panel(self, look: LevelLook, ink: str) -> None:
        figure = self.drawing.element("Figure", self.article, panel_says(look))
        self.leaf.bounds(figure, (*self.corner, *self.layout.card))
        with self.leaf.marked(figure):
            self.leaf.draw(_panel_operators(look, ink, self.layout, self.corner))

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
    ) -> None:
        """One line in its box, at its left (0), middle (0.5) or right (1), as high as the page puts it."""
        left, top, width, height = self._box(name)
        line = height if name in self.layout.one_line_boxes else size * text_fit.LINE
        at = left + side * (width - text_fit.width_mm(text, size, face))
        with self.leaf.marked(self.drawing.element(tag, self.article)):
            self.leaf.text(text, (at, top + baseline(size, line, face)), size, face, colour)

    def _band(self, text: str, size: float, expired: bool) -> None:
        left, top, width, height = self._box("band")
        edge = self.layout.band_edge
        with self.leaf.artifact():
            if expired:
                self.leaf.draw(f"0 0 0 rg {left:.3f} {top:.3f} {width:.3f} {height:.3f} re f")
            else:
                inner = (
                    f"{left + edge / 2:.3f} {top + edge / 2:.3f} {width - edge:.3f} {height - edge:.3f} re"
                )
                self.leaf.draw(f"1 1 1 rg 0 0 0 RG {edge:.3f} w {inner} B")
        with self.leaf.marked(self.drawing.element("P", self.article)):
            at = (left + self.layout.band_indent, top + baseline(size, height, text_fit.BOLD))
            self.leaf.text(text, at, size, text_fit.BOLD, "#FFFFFF" if expired else "#000000")

    def _items(self, items: text_fit.Fitted) -> None:
        said = [*items.kept, *([items.more] if items.left_out else [])]
        if not said:
            return
        left, top, width, _ = self._box("items")
        size, line = items.size_mm, items.size_mm * text_fit.LINE
        listed = self.drawing.element("L", self.article)
        for number, item in enumerate(said):
            body = self.drawing.element("LBody", self.drawing.element("LI", listed))
            with self.leaf.marked(body):
                for index, text in enumerate(
                    text_fit.wrapped(item, size, width - text_fit.HANG * size, text_fit.BOLD)
                ):
                    at = (
                        left + (text_fit.HANG * size if index else 0.0),
                        top + baseline(size, line, text_fit.BOLD),
                    )
                    self.leaf.text(text + " ", at, size, text_fit.BOLD)
                    if items.left_out and number == len(said) - 1:
                        self._under(at, text_fit.width_mm(text, size, text_fit.BOLD), size)
                    top += line
            top += text_fit.GAP * size

    def _under(self, at: tuple[float, float], width: float, size: float) -> None:
        self.leaf.draw(f"{at[0]:.3f} {at[1] + size * 0.1:.3f} {width:.3f} {size * 0.06:.3f} re f")

    def _qr(self, code: str) -> None:
        box = self._box("qr")
        side, runs = shapes.qr_runs(code)
        module = box[2] / side
        figure = self.drawing.element("Figure", self.article, f"QR of code {code}")
        self.leaf.bounds(figure, box)
        boxes = "".join(f"{x} {y} {length} 1 re " for x, y, length in runs)
        with self.leaf.marked(figure):
            self.leaf.draw(
                f"q {module:.5f} 0 0 {module:.5f} {box[0]:.3f} {box[1]:.3f} cm 0 0 0 rg {boxes}f Q"
            )


@cache
def _panel_operators(look: LevelLook, ink: str, layout: Layout, corner: tuple[float, float]) -> str:
    return "\n".join(_painted(stroke, corner) for stroke in panel_strokes(look, ink, layout))


def _painted(stroke: Stroke, corner: tuple[float, float]) -> str:
    path = operators(stroke.path, stroke.scale, stroke.left + corner[0], stroke.top + corner[1])
    fill = f"{rgb(stroke.fill)} rg " if stroke.fill else ""
    line = ""
    if stroke.line:
        line = f"{rgb(stroke.line)} RG {stroke.width * stroke.scale:.4f} w {_CAPS[stroke.cap]} J "
    paint = {(True, True): "B*", (True, False): "f*", (False, True): "S"}[
        bool(stroke.fill), bool(stroke.line)
    ]
    return f"{fill}{line}{path} {paint}"
