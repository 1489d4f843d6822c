"""A level's look as style-sheet values: ground, ink, shape and texture for chips and bands."""

from __future__ import annotations

from base64 import b64encode

from markupsafe import Markup

from mobicard.paper import marks
from mobicard.scheme.scheme import LevelLook, Scheme


def level_colours(scheme: Scheme, ink: str, weave_cells: tuple[float, float]) -> list[dict[str, object]]:
    """What the style sheet needs of each level in this ink; ``weave_cells``: the texture's strip in cells."""
    return [_colours(look, ink, weave_cells) for look in scheme.looks.values()]


def _colours(look: LevelLook, ink: str, weave_cells: tuple[float, float]) -> dict[str, object]:
    mark = marks.mark(look, ink)
    return {
        "level": look.level.value,
        "ground": marks.ground(look, ink),
        "ink": mark,
        "edge": look.colour if ink == "saver" else "#000",
        "texture": marks.texture_css(look, mark, weave_cells),
        "shape": _shape_css(look, mark),
    }


def _shape_css(look: LevelLook, colour: str) -> Markup:
    """The shape as a background image: it repeats the word beside it, so no reader needs to hear it."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'
        f'<path fill="{colour}" fill-rule="evenodd" d="{look.shape_path}"/></svg>'
    )
    return Markup('url("data:image/svg+xml;base64,{}")').format(b64encode(svg.encode()).decode("ascii"))


def css_text(text: str) -> Markup:
    """Any text as a CSS string inside a style element: whatever could end either is spelled by number."""
    safe = "".join(c if c.isalnum() or c in " .,:-" else f"\\{ord(c):x} " for c in text)
    return Markup(f'"{safe}"')  # only letters, digits, harmless marks and escapes are left
