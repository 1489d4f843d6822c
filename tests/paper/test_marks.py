"""Shapes, textures, rail and letters: drawn inside their boxes, thick enough, and told apart in grey."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from mobicard import scheme
from mobicard.facts.words import Level
from mobicard.paper import shapes, templates, text_fit
from mobicard.paper.door.layout import layout_for
from mobicard.paper.sheet_sizes import CAP_HEIGHT, SIZES, Sheet
from mobicard.scheme.scheme import TEXTURES
from mobicard.scheme.thresholds import contrast

HOUSE = scheme.load()
FONTS = templates.folder() / "fonts"


def points(path: str) -> list[tuple[float, float]]:
    """Where a path of M, L, H, V, h, v, l and Z goes."""
    x = y = 0.0
    at = []
    for command, arguments in re.findall(r"([MLHVhvlZ])([^MLHVhvlZ]*)", path):
        numbers = [float(number) for number in re.findall(r"-?\d*\.?\d+", arguments)]
        pairs = list(zip(numbers[::2], numbers[1::2], strict=False))
        for step in {"H": [(n, None) for n in numbers], "V": [(None, n) for n in numbers]}.get(command, []):
            x, y = (step[0] if step[0] is not None else x), (step[1] if step[1] is not None else y)
            at.append((x, y))
        for number in numbers if command in "hv" else ():
            x, y = (x + number, y) if command == "h" else (x, y + number)
            at.append((x, y))
        for dx, dy in pairs if command in "MLl" else ():
            x, y = (x + dx, y + dy) if command == "l" else (dx, dy)
            at.append((x, y))
    return at


@pytest.mark.parametrize("texture", [texture for texture in TEXTURES if texture != "none"])
@pytest.mark.parametrize("name", list(SIZES))
@pytest.mark.parametrize("ink", shapes.INKS)
def test_a_texture_stays_inside_its_strip(texture: str, name: str, ink: str) -> None:
    """So it can never run under text."""
    wide, high = (20 * cells for cells in layout_for(Sheet.named(name, paper=name, ink=ink)).texture_size)
    drawn = shapes.strip(texture, "#000000", wide, high)
    path = re.search(' d="([^"]+)"', drawn)
    thick = re.search('stroke-width="([0-9.]+)"', drawn)
    assert path is not None
    assert thick is not None
    half = float(thick[1]) / 2
    for x, y in points(path[1]):
        assert -half <= x <= wide + half
        assert -half <= y <= high + half


@pytest.mark.parametrize("texture", [texture for texture in TEXTURES if texture != "none"])
def test_texture_lines_are_thick_enough_on_a5(texture: str) -> None:
    """At least 1.75 mm on A5, the smallest line seen at 3 m. Source: the house scheme."""
    layout = layout_for(Sheet.named("a5", paper="a5"))
    thick = re.search('stroke-width="([0-9.]+)"', shapes.strip(texture, "#000000", 200, 30))
    assert thick is not None
    assert float(thick[1]) / 20 * layout.tile >= 1.75 - 1e-9


def test_seven_levels_have_seven_different_textures_drawn() -> None:
    assert len({shapes.strip(look.texture, "#000000", 200, 30) for look in HOUSE.looks.values()}) == 7


@pytest.mark.parametrize("rank", range(7))
def test_the_rail_fills_rank_plus_one_of_seven_cells(rank: int) -> None:
    path = shapes.rail_path(rank)
    assert path.count("v16") == 7
    assert path.count("v9.6") == 7 - (rank + 1)


def test_the_rail_is_grouped_four_and_three() -> None:
    starts = [float(x) for x in re.findall(r"M(\d+) 0h17", shapes.rail_path(6))]
    gaps = [round(after - before - 17, 1) for before, after in pairwise(starts)]
    assert gaps == [3, 3, 3, 15, 3, 3]


def test_rail_outlines_are_thick_enough_on_a5() -> None:
    """At least 1.75 mm on A5. Source: the house scheme, letters and distance."""
    rail = layout_for(Sheet.named("a5", paper="a5")).rail
    assert shapes.RAIL_OUTLINE / 150 * rail[2] >= 1.75


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("ink", shapes.INKS)
def test_marks_keep_their_contrast_in_every_ink(level: Level, ink: str) -> None:
    """Source: WCAG 2.2 SC 1.4.6 for the word, which the mark's colour is, so 7 and not 3."""
    look = HOUSE.looks[level]
    assert contrast(shapes.mark(look, ink), shapes.ground(look, ink)) >= 7.0


def test_grey_is_the_grey_a_plain_printer_makes() -> None:
    """Source: PDF Reference 1.7, 6.2.1: 0.30 R + 0.59 G + 0.11 B: pure red is 76.5 of 255."""
    assert shapes.grey("#FF0000") == "#4C4C4C"
    assert shapes.grey("#FFFFFF") == "#FFFFFF"


def font(name: str) -> TTFont:
    return TTFont(FONTS / f"{name}.ttf")


def bounds(face: TTFont, letter: str) -> tuple[float, float, float, float]:
    glyphs = face.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[face.getBestCmap()[ord(letter)]].draw(pen)
    assert pen.bounds is not None
    return pen.bounds


def test_the_word_font_has_sign_proportions() -> None:
    """ADA 2010 Standards 703.5.4: O 55 to 110 percent of I's height wide; 703.5.7: stroke 10 to 30."""
    face = font(text_fit.WORD)
    letter_i, letter_o = bounds(face, "I"), bounds(face, "O")
    height = letter_i[3] - letter_i[1]
    assert 0.55 <= (letter_o[2] - letter_o[0]) / height <= 1.10
    assert 0.10 <= (letter_i[2] - letter_i[0]) / height <= 0.30
    assert height / face["head"].unitsPerEm == pytest.approx(CAP_HEIGHT)


@pytest.mark.parametrize("name", [text_fit.REGULAR, text_fit.BOLD, text_fit.WORD])
def test_widths_are_those_of_the_fonts(name: str) -> None:
    face = font(name)
    names, metrics = face.getBestCmap(), face["hmtx"]
    for letter in "AaMmWwIil1290 ,.:;()/-é\xa0":
        if ord(letter) in names:
            assert text_fit.width_mm(letter, 1000.0, name) == metrics[names[ord(letter)]][0]


@pytest.mark.parametrize("name", [text_fit.REGULAR, text_fit.BOLD, text_fit.WORD])
def test_each_font_is_carried_for_pdf_and_page_with_its_licence(name: str) -> None:
    assert (FONTS / f"{name}.ttf").is_file()
    assert (FONTS / f"{name}.woff2").is_file()
    licence = (FONTS / f"LICENSE-{name.split('-', maxsplit=1)[0]}.txt").read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in licence
