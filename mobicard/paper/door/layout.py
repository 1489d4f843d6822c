"""Where everything on a door card stands, in mm, for one card size and ink: boxes that never overlap."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from mobicard.paper.sheet_sizes import CAP_HEIGHT, CardSize, Sheet
from mobicard.scheme.scheme import WIDEST_WORD

Box = tuple[float, float, float, float]
"""Left, top, width, height inside the card, mm."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The boxes of one card, and the letter sizes (mm) of what is fitted into them.

    A band moves what is below it down by ``shift``.
    """

    card: tuple[float, float]
    scale: float
    panel: Box
    border: float
    top: Box
    shape: Box
    word: Box
    word_size: float
    sub: Box
    rail: Box
    texture: Box
    tile: float
    band: Box
    shift: float
    helpers: Box
    items: Box
    bed: Box
    until_says: Box
    until_clock: Box
    until_day: Box
    qr: Box
    code: Box
    foot: Box
    item_sizes: tuple[float, float]
    small_size: float
    day_size: float
    foot_size: float
    band_indent: float
    band_edge: float

    under_the_band = ("helpers", "items", "bed", "until_says", "until_clock", "until_day", "qr", "code")
    """The names of the boxes a band moves."""

    one_line_boxes = ("word", "sub", "band")
    """The names of the boxes whose one line stands in the middle of the whole box."""

    @property
    def texture_size(self) -> tuple[float, float]:
        """The texture strip in cells of 10 mm on a card for 3 m."""
        return self.texture[2] / self.tile, self.texture[3] / self.tile

    def shifted(self, name: str) -> Box:
        """The box of this name where it stands on a card with a band, under the band."""
        left, top, width, height = getattr(self, name)
        return left, top + self.shift, width, height - (self.shift if name == "items" else 0)

    def boxes(self) -> dict[str, Box]:
        """Every box that holds text or the QR, by its CSS class."""
        names = "word sub band helpers items bed until_says until_clock until_day qr code foot"
        return {name.replace("_", "-"): getattr(self, name) for name in names.split()}


def layout_for(sheet: Sheet) -> Layout:
    """The layout of the sheet's card in its ink."""
    return _layout(sheet.card, sheet.ink == "saver")


@cache
def _layout(card: CardSize, saver: bool) -> Layout:
    """The panel with word, rail and texture above; people, lines, bed and end of validity below it."""
    scale = min(card.width / 210, card.height / 139.7)
    border = (6.0 if scale > 0.9 else 4.0) if saver else 0.0
    left = (5.0 if scale > 0.9 else 4.0) + border
    width, height = card.width - 2 * left, card.height - 2 * left
    pad = 1.5 if saver and scale < 0.9 else 2.0 if saver else 4.0 * min(scale, 1)
    upper = _upper((left, left + pad, width, width - 2 * pad), card.word_cap, scale, saver)
    under = _lower((left, left + pad, width, width - 2 * pad), upper.pop("ends"), left + height, scale)
    return Layout(
        card=(card.width, card.height),
        scale=scale,
        panel=(left, left, width, height),
        border=border,
        word_size=card.word_cap / CAP_HEIGHT,
        tile=10.0 * scale,
        small_size=3.6 * scale,
        day_size=4.3 * scale,
        foot_size=2.7 * scale,
        band_indent=4.0 * scale,
        band_edge=1.2 * scale,
        item_sizes=(7.4 * scale, 4.3 * scale if scale > 0.9 else 3.3),
        **upper,
        **under,
    )


def _upper(across: Box, cap: float, scale: float, saver: bool) -> dict[str, Any]:
    """The level's panel: shape and word on one row, the sub-line, rail and texture; ``ends`` is its foot."""
    left, x, width, inner = across
    row, shape = cap * 1.26, min(cap * 1.2, inner - cap * (WIDEST_WORD + 0.5))
    y = left + 2.0 * scale
    sub = (x, y + row, inner, (9.0 if saver else 10.0) * scale)
    strip = (11.0 if saver else 15.0) * scale
    at = sub[1] + sub[3] + 0.5 * scale
    rail_width, rail_height = 84.0 * scale, 84.0 * scale * 16 / 150
    ends = at + strip + (2.5 if saver else 3.0) * scale
    return {
        "top": (left, left, width, ends - left),
        "shape": (x, y + (row - shape) / 2, shape, shape),
        "word": (x + shape + cap / 2, y, inner - shape - cap / 2, row),
        "sub": sub,
        "rail": (x, at + (strip - rail_height) / 2, rail_width, rail_height),
        "texture": (x + rail_width + 6 * scale, at, inner - rail_width - 6 * scale, strip),
        "ends": ends,
    }


def _lower(across: Box, y: float, end: float, scale: float) -> dict[str, Any]:
    """Under the panel from ``y`` to ``end``: people and lines at the left, bed, end and code beside."""
    left, x, width, inner = across
    foot = (x, end - 4.5 * scale, inner, 4.0 * scale)
    bottom = foot[1] - 0.5 * scale
    side_width = min(62.0 * scale, inner * 0.36)
    side, main = x + inner - side_width, inner - side_width - 4 * scale
    band = (left, y, width, 9.0 * scale)
    y += 1.5 * scale
    under = y + 10.5 * scale + 0.5 * scale
    code_height, items_top = 7.0 * scale, y + 12.0 * scale + 0.5 * scale
    qr = min(26.0 * scale, bottom - band[3] - under - code_height)
    words = side_width - qr - 1.0 * scale
    return {
        "band": band,
        "shift": band[3],
        "helpers": (x, y, main, 12.0 * scale),
        "items": (x, items_top, main, bottom - items_top),
        "bed": (side, y, side_width, 10.5 * scale),
        "until_says": (side, under, words, 4.8 * scale),
        "until_clock": (side, under + 4.8 * scale, words, 11.5 * scale),
        "until_day": (side, under + 16.3 * scale, words, 5.2 * scale),
        "qr": (side + side_width - qr, under, qr, qr),
        "code": (side + words, under + qr, side_width - words, code_height),
        "foot": foot,
    }
