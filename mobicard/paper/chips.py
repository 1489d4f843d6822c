"""Looks as style-sheet values: a level's ground, ink and shape for chips and bands; small drawn marks."""

from __future__ import annotations

from base64 import b64encode

from markupsafe import Markup

from mobicard.paper import shapes
from mobicard.scheme.scheme import LevelLook, Scheme


def level_colours(scheme: Scheme, ink: str) -> list[dict[str, object]]:
    """What the style sheet needs of each level in this ink."""
    return [_colours(look, ink) for look in scheme.looks.values()]


def _colours(look: LevelLook, ink: str) -> dict[str, object]:
    ground, mark = shapes.ground(look, ink), shapes.mark(look, ink)
    edge = look.colour if ink == "saver" else "#000000"
    return {
        "level": look.level.value,
        "ground": ground,
        "ink": mark,
        "edge": edge,
        "chip": _chip_css(ground, mark, edge, look.shape_path),
    }


def _chip_css(ground: str, mark: str, edge: str, path: str) -> Markup:
    """The shape on its ground as a background image: it repeats the word beside it, so nobody hears it."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 150 100">'
        f'<rect x="3" y="3" width="144" height="94" fill="{ground}" stroke="{edge}" stroke-width="6"/>'
        f'<path transform="translate(31 6) scale(.88)" fill="{mark}" fill-rule="evenodd" d="{path}"/></svg>'
    )
    return Markup('url("data:image/svg+xml;base64,{}")').format(b64encode(svg.encode()).decode("ascii"))


def triangle(path: str, fill: str, stroke: str = "#000") -> Markup:
    """A small drawn mark as a background image, 10 by 8 units."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 8">'
        f'<path d="{path}" fill="{fill}" stroke="{stroke}"/></svg>'
    )
    return Markup('url("data:image/svg+xml;base64,{}")').format(b64encode(svg.encode()).decode("ascii"))


def css_text(text: str) -> Markup:
    """Any text as a CSS string inside a style element: whatever could end either is spelled by number."""
    safe = "".join(c if c.isalnum() or c in " .,:-" else f"\\{ord(c):x} " for c in text)
    return Markup(f'"{safe}"')  # only letters, digits, harmless marks and escapes are left
