"""The drawn part of a door card: ground, frame, shape, rail and texture, for page and PDF alike."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from markupsafe import Markup

from mobicard.paper import shapes
from mobicard.paper.door.layout import Box, Layout
from mobicard.scheme.scheme import RAIL_CELLS, LevelLook

KEYLINE = 0.5


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


def panel_says(look: LevelLook) -> str:
    """What the drawing says to a reader who does not see it."""
    return f"{look.word} mark, {look.rank + 1} of {RAIL_CELLS} on the scale of help"


@cache
def panel_strokes(look: LevelLook, ink: str, layout: Layout) -> tuple[Stroke, ...]:
    """Everything drawn on the card, bottom first, in mm."""
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
        _placed(layout.shape, 100, look.shape_path, colour),
        _placed(layout.rail, 150, shapes.rail_path(look.rank), colour),
        *_texture(look, colour, layout),
    )


@cache
def panel_svg(look: LevelLook, ink: str, layout: Layout) -> Markup:
    """The same as one SVG picture, so a reader hears the level's mark and place once."""
    drawn = Markup("").join(_svg(stroke) for stroke in panel_strokes(look, ink, layout))
    return Markup('<svg class="panel" viewBox="0 0 {} {}" role="img"><title>{}</title>{}</svg>').format(
        *layout.card, panel_says(look), drawn
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


def _texture(look: LevelLook, colour: str, layout: Layout) -> tuple[Stroke, ...]:
    wide, high = (20 * cells for cells in layout.texture_size)
    drawn = shapes.strip_path(look.texture, wide, high)
    if drawn is None:
        return ()
    left, top, width, _ = layout.texture
    return (Stroke(drawn[0], left, top, width / wide, line=colour, width=drawn[1], cap=drawn[2]),)


def _placed(box: Box, units: float, path: str, colour: str) -> Stroke:
    return Stroke(path, box[0], box[1], box[2] / units, fill=colour)


def _outline(box: Box) -> str:
    return f"M{box[0]:.2f} {box[1]:.2f}h{box[2]:.2f}v{box[3]:.2f}h-{box[2]:.2f}Z"
