"""The drawn part of a door card as one SVG: ground, frame, shape, rail and texture behind no text."""

from __future__ import annotations

from functools import cache

from markupsafe import Markup

from mobicard.paper import marks
from mobicard.paper.door_layout import Box, Layout
from mobicard.scheme.scheme import RAIL_CELLS, LevelLook

KEYLINE = 0.5


@cache
def panel_svg(look: LevelLook, ink: str, layout: Layout) -> Markup:
    """Everything drawn on the card, in mm; one picture, so a reader hears the level's mark and place once."""
    colour, ground = marks.mark(look, ink), marks.ground(look, ink)
    left, top, width, height = layout.panel
    edge = layout.border
    drawn = [
        _frame((left - edge, top - edge, width + 2 * edge, height + 2 * edge), edge, look.colour),
        _rect(layout.top, ground),
        f'<path fill="none" stroke="#000" stroke-width="{KEYLINE}" '
        f'd="{_outline(layout.panel)}M{left:.2f} {layout.top[1] + layout.top[3]:.2f}h{width:.2f}"/>',
        _placed(layout.shape, 100, _filled(look.shape_path, colour)),
        _placed(layout.rail, 150, _filled(marks.rail_path(look.rank), colour)),
        _texture(look, colour, layout),
    ]
    card_width, card_height = layout.card
    return Markup(
        '<svg class="panel" viewBox="0 0 {} {}" role="img">'
        "<title>{} mark, {} of {} on the scale of help</title>{}</svg>"
    ).format(card_width, card_height, look.word, look.rank + 1, RAIL_CELLS, Markup("".join(drawn)))


def _texture(look: LevelLook, colour: str, layout: Layout) -> str:
    cells = layout.texture_size
    return _placed(
        layout.texture, cells[0] * 20, marks.strip(look.texture, colour, cells[0] * 20, cells[1] * 20)
    )


def _filled(path: str, colour: str) -> str:
    return f'<path fill="{colour}" fill-rule="evenodd" d="{path}"/>'


def _placed(box: Box, units: float, drawn: str) -> str:
    """Something drawn ``units`` wide, put into this box."""
    if not drawn:
        return ""
    return f'<g transform="translate({box[0]:.2f} {box[1]:.2f}) scale({box[2] / units:.5f})">{drawn}</g>'


def _rect(box: Box, colour: str) -> str:
    return f'<path fill="{colour}" d="{_outline(box)}"/>'


def _outline(box: Box) -> str:
    return f"M{box[0]:.2f} {box[1]:.2f}h{box[2]:.2f}v{box[3]:.2f}h-{box[2]:.2f}Z"


def _frame(box: Box, edge: float, colour: str) -> str:
    if not edge:
        return ""
    inside = (box[0] + edge, box[1] + edge, box[2] - 2 * edge, box[3] - 2 * edge)
    return (
        f'<path fill="{colour}" fill-rule="evenodd" stroke="#000" stroke-width="{KEYLINE}" '
        f'd="{_outline(box)}{_outline(inside)}"/>'
    )
