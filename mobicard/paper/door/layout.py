"""Where everything on a door card stands, in mm, for one card size and ink: boxes that never overlap."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from mobicard.paper.door.face import DoorFace
from mobicard.paper.sheet_sizes import CAP_HEIGHT, CardSize, Sheet

Box = tuple[float, float, float, float]
"""Left, top, width, height inside the card, mm."""

NUMBER_CAP = 20.0
"""Capital height of the people needed, mm on a card for 3 m (ADA 2010 Standards 703.5.5 asks 18 from 2 m)."""

END_CAP = 8.4
"""Capital height of the bed and the end, mm on a card for 3 m (20/40 at 3 m is 8.7, at 2.75 m 8.0)."""

LINE_CAP = (4.3, 3.55)
"""Capital height of the lines, mm: as they are wanted, and the least on a card for 3 m."""

UNDER_BAND = 1.18
"""How much larger lines may be where a band has taken the numbers' place: they say all that is to be done."""

BOLD_CAP = 0.668
"""Capital height of the running text's font, in ems; tests read it from the font."""


BAND = 20.0
"""Height of the band that forbids every move, mm on a card for 3 m: seen before the word is read."""

FRAME = 2.4
"""Thickness of the dashed frame where nobody has looked, mm on a card for 3 m."""

LEAD, SAYS_LEAD = 1.5, 1.18
"""Height of a line that may hurt if missed, its rule included, and of a sentence, in ems."""

ENDS = ("until_day", "until_clock")
NEEDED = "People needed, you included"
LATER = ("unless a later end", "below is signed")
"""Stands beside the first end where boxes do: on a card signed on, readers took the large end for its end."""

STRIP = "Past its end: assess first, never fewer people"
THEN = ("Then assess first,", "never fewer people")
"""What an end that has passed means: above the boxes, or beside the end where there are none."""


def items_box(face: DoorFace) -> str:
    """The name of the box the lines stand in: under a band where no numbers do."""
    return "under_band" if face.band else "items"


def bed_box(face: DoorFace) -> str:
    """The name of the box the bed stands in: under a band that fills the card's width."""
    return "bed_under_band" if face.band else "bed"


def beside_end(face: DoorFace) -> tuple[str, str]:
    """The two short lines beside the first end's hour."""
    return LATER if face.boxes else THEN


@dataclass(frozen=True, slots=True)
class Layout:
    """The boxes of one card, by name, and the letter sizes (mm) of what is fitted into them."""

    card: tuple[float, float]
    scale: float
    border: float
    panel: Box
    top: Box
    word_size: float
    number_size: float
    end_size: float
    band_size: float
    line_sizes: tuple[float, float]
    places: dict[str, Box]

    one_line_boxes = (
        "word",
        "sub",
        "band",
        "number0",
        "number1",
        "bed",
        "bed_under_band",
        "until_day",
        "until_clock",
    )
    """The names of the boxes whose one line stands in the middle of the whole box."""

    def size(self, mm: float) -> float:
        """A letter size on a card for 3 m, on this card."""
        return mm * self.scale

    def __hash__(self) -> int:
        return hash((self.card, self.border))


def layout_for(sheet: Sheet) -> Layout:
    """The layout of the sheet's card in its ink."""
    return _layout(sheet.card, sheet.ink == "saver")


@cache
def _layout(card: CardSize, saver: bool) -> Layout:
    """The panel with word and shape above; numbers and lines below it, bed, end and code beside them."""
    wide = min(card.width / 210, card.height / 139.7)
    border = (6.0 if card.height > 145 else 4.2 if wide > 0.9 else 3.2) if saver else 0.0
    edge = (5.0 if wide > 0.9 else 4.5) + border
    width, height = card.width - 2 * edge, card.height - 2 * edge
    top = (edge, edge, width, card.word_cap * 1.2 + 12.5 * wide)
    scale = min(wide, (height - top[3]) / UNDER)
    return Layout(
        card=(card.width, card.height),
        scale=scale,
        border=border,
        panel=(edge, edge, width, height),
        top=top,
        word_size=card.word_cap / CAP_HEIGHT,
        number_size=NUMBER_CAP * scale / CAP_HEIGHT,
        end_size=END_CAP * scale / CAP_HEIGHT,
        band_size=BAND * 0.62 * scale / CAP_HEIGHT,
        line_sizes=(LINE_CAP[0] * scale / BOLD_CAP, LINE_CAP[1] * min(wide, 1.0) / BOLD_CAP),
        places={**_upper(top, card.word_cap, wide), **_lower(top, edge + height, scale)},
    )


UNDER = 83.0
"""What stands under the panel of a card for 3 m takes this much, mm."""


def _upper(top: Box, cap: float, scale: float) -> dict[str, Box]:
    """The level's panel: word and sub-line at the left, the shape as high as the word at the right."""
    left, edge, width, _ = top
    x, inner, row = left + 4 * scale, width - 8 * scale, cap * 1.2
    y = edge + 1.8 * scale
    return {
        "word": (x, y, inner - cap * 1.2, row),
        "shape": (x + inner - cap, y + (row - cap) / 2, cap, cap),
        "sub": (x, y + row, inner, 9.5 * scale),
    }


def _lower(top: Box, end: float, scale: float) -> dict[str, Box]:
    """Under the panel to ``end``: people and lines at the left, bed, end, boxes and code at the right."""
    left, edge, width, height = top
    x, inner, y = left + 4 * scale, width - 8 * scale, edge + height
    side_width, low = 62.0 * scale, end - (FRAME + 0.2) * scale
    side, main, bottom = x + inner - side_width, inner - side_width - 5 * scale, end - 7.1 * scale
    half, cap = main / 2, NUMBER_CAP * scale
    number, items = y + 6.0 * scale, y + 42.5 * scale
    qr = min(17.0 * scale, low - y - 65.3 * scale)
    places = {
        "band": (left, y, width, BAND * scale),
        "needed": (x, y + 1.5 * scale, main, 5.0 * scale),
        "items": (x, items, main, bottom - items),
        "under_band": (x, y + (BAND + 3) * scale, main, bottom - y - (BAND + 3) * scale),
        "says": (x, y + 2.0 * scale, main, 38.0 * scale),
        "bed": (side, y + 1.0 * scale, side_width, 12.5 * scale),
        "bed_under_band": (side, y + (BAND + 2) * scale, side_width, 12.5 * scale),
        "until_says": (side, y + 14.0 * scale, side_width, 5.5 * scale),
        "until_day": (side, y + 18.0 * scale, side_width, 12.0 * scale),
        "until_clock": (side, y + 29.0 * scale, 28.0 * scale, 12.0 * scale),
        "then0": (side + 28.5 * scale, y + 30.4 * scale, side_width - 28.5 * scale, 5.2 * scale),
        "then1": (side + 28.5 * scale, y + 35.9 * scale, side_width - 28.5 * scale, 5.2 * scale),
        "strip": (side, y + 42.0 * scale, side_width, 4.2 * scale),
        "qr": (x + inner - qr, low - qr, qr, qr),
        "foot": (x, end - 6.6 * scale, inner - qr - scale, 3.8 * scale),
    }  # fmt: skip
    for index in range(2):
        at = x + index * half
        places[f"number{index}"] = (at, number, half, cap * 1.26)
        places[f"picture{index}"] = (at + cap * 0.9, number + cap * 0.43, cap * 0.7, cap * 0.7)
        places[f"label{index}"] = (at, number + 25.0 * scale, half - scale, 5.3 * scale)
        places[f"moves{index}"] = (at, number + 30.4 * scale, half - scale, 4.4 * scale)
    for index in range(4):
        row, column = divmod(index, 2)
        wide = side_width / 2
        places[f"box{index}"] = (side + column * wide, y + (46.5 + row * 9.2) * scale, wide, 9.2 * scale)
    places["code"] = (side, bottom - 6.0 * scale, side_width - qr - 1.5 * scale, 6.0 * scale)
    return places
