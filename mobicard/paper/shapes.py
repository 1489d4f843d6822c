"""Our own marks: level shapes, textures and rail as SVG and CSS, and the code as a QR."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Any

from markupsafe import Markup, escape

from mobicard.scheme.scheme import RAIL_CELLS, RAIL_FIRST_GROUP, LevelLook, grey

QUIET = 4
INKS = ("colour", "grey", "saver")

RAIL_OUTLINE = 3.2
"""The outline of a rail cell that is not filled, of the rail's 150 units: 1.79 mm on A5."""

THIN = 3.5
"""The thinnest texture line, in twentieths of a texture cell: 1.75 mm where a cell is 10 mm."""


def ground(look: LevelLook, ink: str) -> str:
    """The colour behind the level word: the level's colour, its grey, or white for the ink saver."""
    return {"colour": look.colour, "grey": grey(look.colour), "saver": "#FFFFFF"}[ink]


def mark(look: LevelLook, ink: str) -> str:
    """The colour of word, shape, rail and texture on that ground."""
    return "#000000" if ink == "saver" else look.ink


def shape_svg(look: LevelLook, colour: str, css_class: str = "shape") -> Markup:
    """The level's shape as one path, with its word as the text a reader hears."""
    return Markup(
        '<svg class="{}" viewBox="0 0 100 100" role="img"><title>{} mark</title>'
        '<path fill="{}" fill-rule="evenodd" d="{}"/></svg>'
    ).format(css_class, look.word, colour, look.shape_path)


def rail_svg(rank: int, colour: str, css_class: str = "rail") -> Markup:
    """``rank + 1`` of seven cells filled, grouped four and three, on a 150 x 16 box; it counts no heads."""
    return Markup(
        '<svg class="{}" viewBox="0 0 150 16" role="img"><title>{} of {} on the scale of help</title>'
        '<path fill="{}" fill-rule="evenodd" d="{}"/></svg>'
    ).format(css_class, rank + 1, RAIL_CELLS, colour, rail_path(rank))


def rail_path(rank: int) -> str:
    """The rail as one even-odd path on a 150 x 16 box."""
    return "".join(_cells(rank))


def _cells(rank: int) -> Iterator[str]:
    """Cells 17 wide and 16 high, 3 apart, 12 more between the groups; an unfilled one is an outline."""
    thick = RAIL_OUTLINE
    for cell in range(RAIL_CELLS):
        x = cell * 20 + (12 if cell >= RAIL_FIRST_GROUP else 0)
        yield f"M{x} 0h17v16h-17Z"
        if cell > rank:
            wide, high = 17 - 2 * thick, 16 - 2 * thick
            yield f"M{x + thick:g} {thick:g}v{high:g}h{wide:g}v-{high:g}Z"


def texture_css(look: LevelLook, colour: str, cells: tuple[float, float]) -> Markup:
    """The texture of a whole strip, so many cells wide and high, as one CSS background image without seams.

    It is stretched over its box (``background-size: 100% 100%``); ``none`` for a level without a texture.
    """
    if look.texture == "none":
        return Markup("none")
    wide, high = cells[0] * 20, cells[1] * 20
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.2f} {high:.2f}" '
        f'preserveAspectRatio="none" width="{wide:.2f}" height="{high:.2f}">'
        f"{strip(look.texture, colour, wide, high)}</svg>"
    )
    return Markup('url("data:image/svg+xml;base64,{}")').format(
        b64encode(svg.encode("ascii")).decode("ascii")
    )


def strip(texture: str, colour: str, wide: float, high: float) -> str:
    """One texture inside a strip this wide and high (20 to a cell), as an SVG path that stays inside it."""
    drawn = strip_path(texture, wide, high)
    if drawn is None:
        return ""
    path, thick, cap = drawn
    stroke = f'stroke="{escape(colour)}" stroke-width="{thick:g}" stroke-linecap="{cap}"'
    return f'<path fill="none" {stroke} d="{path}"/>'


def strip_path(texture: str, wide: float, high: float) -> tuple[str, float, str] | None:
    """The texture's path, line width and line end; None for a level without one."""
    return _STRIPS[texture](wide, high) if texture in _STRIPS else None


def _columns(wide: float) -> range:
    return range(0, int(wide // 20) * 20, 20)


def _dots(wide: float, high: float) -> tuple[str, float, str]:
    rows = (high / 2 - 7, high / 2 + 7)
    return "".join(f"M{x + 10} {y:g}h.01" for x in _columns(wide) for y in rows), 6.4, "round"


def _diagonals(wide: float, high: float) -> tuple[str, float, str]:
    starts = [x + 2 for x in _columns(wide) if x + high + 4 <= wide]
    return "".join(f"M{x} {high:g}l{high:g}-{high:g}" for x in starts), THIN + 0.5, "butt"


def _bars(wide: float, high: float) -> tuple[str, float, str]:
    return "".join(f"M{x + 10} 0v{high:g}" for x in _columns(wide)), 6, "butt"


def _zigzag(wide: float, high: float) -> tuple[str, float, str]:
    steps = "l10-12l10 12" * len(_columns(wide))
    return f"M0 {high / 2 + 2:g}{steps}M0 {high / 2 + 13:g}{steps}", THIN + 0.5, "butt"


def _lattice(wide: float, high: float) -> tuple[str, float, str]:
    starts = [x + 2 for x in _columns(wide) if x + high + 4 <= wide]
    path = "".join(f"M{x} {high:g}l{high:g}-{high:g}M{x} 0l{high:g} {high:g}" for x in starts)
    return path, THIN, "butt"


def _bands(wide: float, high: float) -> tuple[str, float, str]:
    step = min(9.0, (high - 4) / 2)
    return "".join(f"M0 {high / 2 + y:g}H{wide:g}" for y in (-step, 0, step)), 4, "butt"


_STRIPS: dict[str, Callable[[float, float], tuple[str, float, str]]] = {
    "sparse dots": _dots,
    "wide diagonals": _diagonals,
    "upright bars": _bars,
    "rising zigzag": _zigzag,
    "lattice": _lattice,
    "flat bands": _bands,
}


@lru_cache(maxsize=4096)
def qr_img(code: str, css_class: str = "qr") -> Markup:
    """The card's code as a QR (only the code, nothing about the patient), quiet zone included.

    One dot a module, enlarged without smoothing: a path of its hundred runs costs a page ten times as much.
    """
    address = _qr(code).png_data_uri(scale=1, border=QUIET)
    return Markup('<img class="{}" alt="QR of code {}" src="{}">').format(css_class, code, address)


def qr_runs(code: str) -> tuple[int, list[tuple[int, int, int]]]:
    """The QR's side in modules, quiet zone included, and its dark runs: left, top, length."""
    matrix = _qr(code).matrix
    runs: list[tuple[int, int, int]] = []
    for y, row in enumerate(matrix):
        text = "".join("1" if dark else "0" for dark in row)
        runs.extend((found.start() + QUIET, y + QUIET, len(found[0])) for found in re.finditer("1+", text))
    return len(matrix) + 2 * QUIET, runs


def _qr(code: str) -> Any:
    """The symbol, always with mask 3: any mask reads alike, and trying all eight takes six times as long."""
    import segno

    return segno.make_qr(code, error="m", mask=3)
