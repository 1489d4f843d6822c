"""Shapes and letters: drawn inside their boxes, thick enough, and told apart in grey."""

from __future__ import annotations

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from mobicard import scheme
from mobicard.facts.words import Level
from mobicard.paper import shapes, templates, text_fit
from mobicard.paper.sheet_sizes import CAP_HEIGHT
from mobicard.scheme.thresholds import contrast

HOUSE = scheme.load()
FONTS = templates.folder() / "fonts"


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
