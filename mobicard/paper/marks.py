"""Our own marks: level shapes, textures and rail as SVG and CSS, and the code as a QR."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from functools import lru_cache

from markupsafe import Markup, escape

from mobicard.scheme.scheme import RAIL_CELLS, RAIL_FIRST_GROUP, LevelLook

QUIET = 4
INKS = ("colour", "grey", "saver")

THIN = 3.5
"""The thinnest texture line, in twentieths of a texture cell: 1.75 mm where a cell is 10 mm."""


def ground(look: LevelLook, ink: str) -> str:
    """The colour behind the level word: the level's colour, its grey, or white for the ink saver."""
    return {"colour": look.colour, "grey": grey(look.colour), "saver": "#FFFFFF"}[ink]


def mark(look: LevelLook, ink: str) -> str:
    """The colour of word, shape, rail and texture on that ground."""
    return "#000000" if ink == "saver" else look.ink


def grey(colour: str) -> str:
    """The grey a plain printer makes of it: 0.30 R + 0.59 G + 0.11 B. Source: PDF Reference 1.7, 6.2.1."""
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + f"{round(0.30 * red + 0.59 * green + 0.11 * blue):02X}" * 3


def shape_svg(look: LevelLook, colour: str, css_class: str = "shape") -> Markup:
    """The level's shape as one path, with its word as the text a reader hears."""
    return Markup(
        '<svg class="{}" viewBox="0 0 100 100" role="img"><title>{} mark</title>'
        '<path fill="{}" fill-rule="evenodd" d="{}"/></svg>'
    ).format(css_class, look.word, colour, look.shape_path)


def rail_svg(rank: int, colour: str, css_class: str = "rail") -> Markup:
    """``rank + 1`` of seven cells filled, grouped four and three, on a 150 x 16 box; it counts no heads."""
    path = "".join(_cells(rank))
    return Markup(
        '<svg class="{}" viewBox="0 0 150 16" role="img"><title>{} of {} on the scale of help</title>'
        '<path fill="{}" fill-rule="evenodd" d="{}"/></svg>'
    ).format(css_class, rank + 1, RAIL_CELLS, colour, path)


def _cells(rank: int) -> Iterator[str]:
    """Cells 18 wide, 3 apart, 12 more between the groups; an empty one is an outline 2.6 thick."""
    for cell in range(RAIL_CELLS):
        x = cell * 20 + (12 if cell >= RAIL_FIRST_GROUP else 0)
        yield f"M{x} 0h17v16h-17Z"
        if cell > rank:
            yield f"M{x + 2.6:g} 2.6v10.8h11.8v-10.8Z"


def texture_css(look: LevelLook, colour: str, cells: tuple[float, float]) -> Markup:
    """The texture of a whole strip, so many cells wide and high, as one CSS background image without seams.

    It is stretched over its box (``background-size: 100% 100%``); ``none`` for a level without a texture.
    """
    if look.texture == "none":
        return Markup("none")
    wide, high = cells[0] * 20, cells[1] * 20
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.2f} {high:.2f}" preserveAspectRatio="none" '
        f'width="{wide:.2f}" height="{high:.2f}">{_strip(look.texture, escape(colour), wide, high)}</svg>'
    )
    return Markup('url("data:image/svg+xml;base64,{}")').format(b64encode(svg.encode("ascii")).decode("ascii"))


def _strip(texture: str, colour: str, wide: float, high: float) -> str:
    columns, rows = range(int(wide // 20) + 2), range(int(high // 20) + 2)
    line = f'fill="none" stroke="{colour}" stroke-width="{{}}"'
    middle = high / 2
    match texture:
        case "sparse dots":
            dots = "".join(f"M{20 * x + 10} {y:g}h.01" for x in columns for y in (middle - 7, middle + 7))
            return f'<path d="{dots}" stroke-linecap="round" {line.format(6.4)}/>'
        case "wide diagonals":
            path = "".join(f"M{20 * x - high:g} {high:g}L{20 * x} 0" for x in range(len(columns) + len(rows)))
            return f'<path d="{path}" {line.format(THIN + 0.5)}/>'
        case "upright bars":
            path = "".join(f"M{20 * x + 10} 0v{high:g}" for x in columns)
            return f'<path d="{path}" {line.format(6)}/>'
        case "rising zigzag":
            path = "".join(
                f"M{10 * -1} {middle + y:g}" + "l10-12l10 12" * (len(columns) + 1) for y in (0, 11)
            )
            return f'<path d="{path}" {line.format(THIN + 0.5)}/>'
        case "lattice":
            count = len(columns) + len(rows)
            path = "".join(
                f"M{20 * x - high:g} {high:g}l{high:g}-{high:g}M{20 * x - high:g} 0l{high:g} {high:g}"
                for x in range(count)
            )
            return f'<path d="{path}" {line.format(THIN)}/>'
        case _:
            path = "".join(f"M0 {y:g}H{wide:g}" for y in (middle - 9, middle, middle + 9))
            return f'<path d="{path}" {line.format(4)}/>'


def qr_svg(code: str, css_class: str = "qr") -> Markup:
    """The card's code as a QR (only the code, nothing about the patient), one path, quiet zone included."""
    size, path = _qr(code)
    return Markup(
        '<svg class="{}" viewBox="0 0 {} {}" role="img"><title>QR of code {}</title>'
        '<path stroke="#000" d="{}" shape-rendering="crispEdges"/></svg>'
    ).format(css_class, size, size, code, path)


@lru_cache(maxsize=4096)
def _qr(code: str) -> tuple[int, str]:
    import segno

    matrix = segno.make_qr(code, error="m").matrix
    runs = []
    for y, row in enumerate(matrix):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                runs.append(f"M{x + QUIET} {y + QUIET + 0.5}h{end - x}")
            x = end + 1
    return len(matrix) + 2 * QUIET, "".join(runs)
