"""The drawn part of a door card: ground or frame, shape, pictures, rules, boxes, for page and PDF alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from markupsafe import Markup

from mobicard.paper import shapes
from mobicard.paper.door.face import DoorFace, State
from mobicard.paper.door.layout import FRAME, Box, Layout
from mobicard.scheme.scheme import LevelLook

KEYLINE = 0.5
HAIR = 0.3
DASH = 8.0
"""Length of the frame's dashes where nobody has looked, mm."""

PICTURES = {
    "chair": (
        "M36 0a12 12 0 1 1 0 24a12 12 0 1 1 0-24ZM28 28h16v22h30v50h-13v-37h-33Z"
        "M8 34h12v34h34v9h-6v23h-9v-23h-10v23h-9v-23h-12Z"
    ),
    "bed": "M0 18h8v42h92v34h-8v-16h-84v16h-8ZM24 34a11 11 0 1 1 0 22a11 11 0 1 1 0-22ZM40 40h56v16h-56Z",
}
"""A sitting and a lying figure on a 100 x 100 box. Ours."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """One path: where its origin stands (mm), its scale, how it is painted (width in the path's units)."""

    path: str
    left: float = 0.0
    top: float = 0.0
    scale: float = 1.0
    fill: str | None = None
    line: str | None = None
    width: float = 0.0
    cap: str = "butt"


def panel_says(face: DoorFace) -> str:
    """What the drawing says to a reader who does not see it."""
    if face.state is State.UNSEEN:
        return f"{face.word}: a dashed frame, no level"
    return f"{face.word} mark"


def panel_strokes(face: DoorFace, ink: str, layout: Layout) -> tuple[Stroke, ...]:
    """Everything drawn on the card, bottom first, in mm."""
    pictures = tuple(number.picture for number in face.numbers)
    ground = _unseen(face.look, layout) if face.state is State.UNSEEN else _level(face.look, ink, layout)
    band = (Stroke(_outline(layout.places["band"]), fill="#000000"),) if face.band else ()
    return (*ground, *band, *_pictures(pictures, layout), *_boxes(len(face.boxes), layout))


@cache
def _level(look: LevelLook, ink: str, layout: Layout) -> tuple[Stroke, ...]:
    colour, ground = shapes.mark(look, ink), shapes.ground(look, ink)
    left, top, width, height = layout.panel
    edge = layout.border
    outer = (left - edge, top - edge, width + 2 * edge, height + 2 * edge)
    keyline = f"{_outline(layout.panel)}M{left:.2f} {layout.top[1] + layout.top[3]:.2f}h{width:.2f}"
    frame = Stroke(_outline(outer) + _outline(layout.panel), fill=look.colour, line="#000000", width=KEYLINE)
    return (
        *((frame,) if edge else ()),
        Stroke(_outline(layout.top), fill=ground),
        Stroke(keyline, line="#000000", width=KEYLINE),
        _placed(layout.places["shape"], 100, look.shape_path, colour),
    )


@cache
def _unseen(look: LevelLook, layout: Layout) -> tuple[Stroke, ...]:
    """A white card in a dashed frame: nothing is claimed."""
    left, top, width, height = layout.panel
    thick = layout.size(FRAME)
    middle = (left + thick / 2, top + thick / 2, width - thick, height - thick)
    return tuple(Stroke(path, line=look.colour, width=thick) for path in _dashes(middle))


def _dashes(box: Box) -> Iterator[str]:
    """Each side of the box as an odd number of equal pieces, every second drawn, the corners always."""
    left, top, width, height = box
    for x, y, along, across in ((left, top, width, 0.0), (left, top + height, width, 0.0),
                                (left, top, 0.0, height), (left + width, top, 0.0, height)):  # fmt: skip
        pieces = int((along or across) / DASH) | 1
        step = (along / pieces, across / pieces)
        yield "".join(
            f"M{x + index * step[0]:.2f} {y + index * step[1]:.2f}l{step[0]:.2f} {step[1]:.2f}"
            for index in range(0, pieces, 2)
        )


@cache
def _pictures(pictures: tuple[str, ...], layout: Layout) -> tuple[Stroke, ...]:
    return tuple(
        _placed(layout.places[f"picture{index}"], 100, PICTURES[name], "#000000")
        for index, name in enumerate(pictures)
    )


@cache
def _boxes(count: int, layout: Layout) -> tuple[Stroke, ...]:
    drawn = "".join(_outline(layout.places[f"box{index}"]) for index in range(count))
    return (Stroke(drawn, line="#000000", width=HAIR),) if drawn else ()


def rule_stroke(box: Box) -> Stroke:
    """The rule above a line that may hurt if missed."""
    return Stroke(f"M{box[0]:.2f} {box[1]:.2f}h{box[2]:.2f}", line="#000000", width=HAIR)


def word_colour(face: DoorFace, ink: str) -> str:
    """The colour of word and sub-line: the ink on the level's ground, or the level's own on white."""
    return face.look.colour if face.state is State.UNSEEN else shapes.mark(face.look, ink)


def panel_svg(face: DoorFace, ink: str, layout: Layout) -> Markup:
    """The same as one SVG picture, so a reader hears the level's mark once."""
    drawn = Markup("").join(_svg(stroke) for stroke in panel_strokes(face, ink, layout))
    return Markup('<svg class="panel" viewBox="0 0 {} {}" role="img"><title>{}</title>{}</svg>').format(
        *layout.card, panel_says(face), drawn
    )


def _svg(stroke: Stroke) -> Markup:
    paint = Markup(' stroke="{}" stroke-width="{:g}" stroke-linecap="{}"')
    line = paint.format(stroke.line, stroke.width, stroke.cap) if stroke.line else ""
    drawn = Markup('<path fill="{}" fill-rule="evenodd"{} d="{}"/>').format(
        stroke.fill or "none", line, stroke.path
    )
    if (stroke.left, stroke.top, stroke.scale) == (0, 0, 1):
        return drawn
    place = Markup('<g transform="translate({:.2f} {:.2f}) scale({:.5f})">{}</g>')
    return place.format(stroke.left, stroke.top, stroke.scale, drawn)


def _placed(box: Box, units: float, path: str, colour: str) -> Stroke:
    return Stroke(path, box[0], box[1], box[2] / units, fill=colour)


def _outline(box: Box) -> str:
    return f"M{box[0]:.2f} {box[1]:.2f}h{box[2]:.2f}v{box[3]:.2f}h-{box[2]:.2f}Z"
