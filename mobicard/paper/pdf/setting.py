"""Sets paragraphs and lines of a drawn page: tagged, in the carried fonts, each where it was measured."""

from __future__ import annotations

from typing import Any

from mobicard.paper import shapes
from mobicard.paper.pdf.drawing import Drawing, Leaf, baseline, can_write, rgb
from mobicard.paper.pdf.svg_path import operators
from mobicard.paper.points import Point, Set, set_lines
from mobicard.paper.text_fit import BOLD, LINE, REGULAR, width_mm
from mobicard.scheme.scheme import LevelLook

CHIP = 2.1
"""Ems a level's chip takes before its word."""

BLACK, WHITE = "#000000", "#FFFFFF"


def can_set(point: Point) -> bool:
    """Whether the carried fonts have every letter of it."""
    return can_write(point.text, REGULAR) and can_write(f"{point.strong}{point.loud}{point.text}", BOLD)


def draw_qr(leaf: Leaf, figure: Any, text: str, box: tuple[float, float, float, float]) -> None:
    """The text's QR in its square (left, top, width, height; mm), as this figure."""
    side, runs = shapes.qr_runs(text)
    module = box[2] / side
    leaf.bounds(figure, box)
    dark = "".join(f"{x} {y} {length} 1 re " for x, y, length in runs)
    with leaf.marked(figure):
        place = f"{module:.5f} 0 0 {module:.5f} {box[0]:.3f} {box[1]:.3f} cm"
        leaf.draw(f"q {place} 0 0 0 rg {dark}f Q")


class Setter:
    """One page being set; places in mm from its top left corner."""

    def __init__(self, drawing: Drawing, leaf: Leaf) -> None:
        self.drawing, self.leaf = drawing, leaf

    def line(
        self,
        parent: Any,
        tag: str,
        text: str,
        at: tuple[float, float],
        size: float,
        face: str = REGULAR,
        colour: str = BLACK,
        *,
        lead: float = LINE,
        side: float = 0.0,
    ) -> None:
        """One line with its top at this place; ``side`` 1 sets it left of it."""
        left = at[0] - side * width_mm(text, size, face)
        with self.leaf.marked(self.drawing.element(tag, parent)):
            self.leaf.text(text, (left, at[1] + baseline(size, size * lead, face)), size, face, colour)

    def paragraph(
        self,
        element: Any,
        point: Point,
        at: tuple[float, float],
        wide: float,
        size: float,
        face: str = REGULAR,
        *,
        right: bool = False,
    ) -> float:
        """A paragraph that belongs to this element; how far below its top it ends, mm."""
        lines = set_lines(point, wide / size, face)
        with self.leaf.marked(element):
            self._lines(lines, at, wide if right else 0.0, size)
        return len(lines) * LINE * size

    def _lines(self, lines: Set, at: tuple[float, float], right: float, size: float) -> None:
        for number, line in enumerate(lines):
            top = at[1] + number * LINE * size
            end = (line[-1].left + line[-1].wide) * size if line else 0.0
            left = at[0] + (right - end if right else 0.0)
            for place, piece in enumerate(line):
                start = left + piece.left * size
                if piece.loud:
                    self._ground(start, top, piece.wide * size, size)
                more = " " if place + 1 == len(line) and number + 1 < len(lines) else ""
                colour = WHITE if piece.loud else BLACK
                place_at = (start, top + baseline(size, size * LINE, piece.face))
                gap = " " if place + 1 < len(line) else more
                self.leaf.text(piece.text + gap, place_at, size, piece.face, colour)

    def _ground(self, left: float, top: float, wide: float, size: float) -> None:
        pad = 0.3 * size
        self.leaf.draw(f"0 0 0 rg {left - pad:.3f} {top:.3f} {wide + 2 * pad:.3f} {LINE * size:.3f} re f")

    def rule(self, left: float, top: float, wide: float, thick: float) -> None:
        """A level line, for the eye only."""
        with self.leaf.artifact():
            self.leaf.draw(f"0 0 0 rg {left:.3f} {top:.3f} {wide:.3f} {thick:.3f} re f")

    def frame(
        self, box: tuple[float, float, float, float], thick: float, ground: str = "", line: str = BLACK
    ) -> None:
        """A frame with its outer edge on this box, on a ground if one is named; for the eye only."""
        left, top, wide, high = box
        inset = f"{left + thick / 2:.3f} {top + thick / 2:.3f} {wide - thick:.3f} {high - thick:.3f} re"
        fill = f"{rgb(ground)} rg {left:.3f} {top:.3f} {wide:.3f} {high:.3f} re f " if ground else ""
        with self.leaf.artifact():
            self.leaf.draw(f"{fill}{rgb(line)} RG {thick:.3f} w {inset} S")

    def edge(self, text: str, at: tuple[float, float], size: float, *, side: float = 0.0) -> None:
        """A line in the page's margin, inside whatever is being marked."""
        left = at[0] - side * width_mm(text, size, REGULAR)
        self.leaf.text(text, (left, at[1] + baseline(size, size * LINE, REGULAR)), size, REGULAR)

    def chip(self, parent: Any, look: LevelLook, ink: str, at: tuple[float, float], size: float) -> None:
        """A level's word, its shape on its ground before it: that repeats the word, so nobody hears it."""
        with self.leaf.artifact():
            self.chip_mark(look, ink, at, size)
        self.line(parent, "P", look.word, (at[0] + CHIP * size, at[1]), size, BOLD)

    def chip_mark(self, look: LevelLook, ink: str, at: tuple[float, float], size: float) -> None:
        """A level's shape on its ground, inside whatever is being marked."""
        scale = 1.1 * size / 100
        left, top = at[0], at[1] + (LINE - 1.1) / 2 * size
        edge = look.colour if ink == "saver" else BLACK
        box = f"{left + 3 * scale:.3f} {top + 3 * scale:.3f} {144 * scale:.3f} {94 * scale:.3f} re"
        self.leaf.draw(f"{rgb(shapes.ground(look, ink))} rg {rgb(edge)} RG {6 * scale:.3f} w {box} B")
        place = (left + 31 * scale, top + 6 * scale)
        self.path(look.shape_path, shapes.mark(look, ink), 0.88 * scale, place)

    def path(self, path: str, fill: str, scale: float, at: tuple[float, float]) -> None:
        """An SVG path filled even-odd, inside whatever is being marked."""
        placed = f"{scale:.5f} 0 0 {scale:.5f} {at[0]:.3f} {at[1]:.3f} cm"
        self.leaf.draw(f"q {rgb(fill)} rg {placed} {operators(path)} f* Q")
