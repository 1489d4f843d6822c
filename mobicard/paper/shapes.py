"""Our own marks: level shapes as SVG, and the code as a QR."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from mobicard.scheme.scheme import LevelLook, grey

QUIET = 4
INKS = ("colour", "grey", "saver")


def ground(look: LevelLook, ink: str) -> str:
    """The colour behind the level word: the level's colour, its grey, or white for the ink saver."""
    return {"colour": look.colour, "grey": grey(look.colour), "saver": "#FFFFFF"}[ink]


def mark(look: LevelLook, ink: str) -> str:
    """The colour of word and shape on that ground."""
    return "#000000" if ink == "saver" else look.ink


def shape_svg(look: LevelLook, colour: str, css_class: str = "shape") -> Markup:
    """The level's shape as one path, with its word as the text a reader hears."""
    return Markup(
        '<svg class="{}" viewBox="0 0 100 100" role="img"><title>{} mark</title>'
        '<path fill="{}" fill-rule="evenodd" d="{}"/></svg>'
    ).format(css_class, look.word, colour, look.shape_path)


@lru_cache(maxsize=4096)
def qr_img(code: str, address: str = "", css_class: str = "qr") -> Markup:
    """The card's code as a QR (nothing about the patient), the facility's address before it if it has one.

    One dot a module, enlarged without smoothing: a path of its hundred runs costs a page ten times as much.
    """
    picture = _qr(address + code).png_data_uri(scale=1, border=QUIET)
    return Markup('<img class="{}" alt="QR of code {}" src="{}">').format(css_class, code, picture)


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
