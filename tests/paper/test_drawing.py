"""What is drawn straight into a PDF: paths that are the page's own, fonts told as they are."""

from __future__ import annotations

import io
import math
import re
import shutil
from pathlib import Path

import pikepdf
import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont

from mobicard import scheme
from mobicard.paper import templates, text_fit
from mobicard.paper.door import drawn
from mobicard.paper.pdf.drawing import Drawing, baseline, can_write, faces
from mobicard.paper.pdf.svg_path import arc_curves, operators

HOUSE = scheme.load()


def ends(drawn: str) -> list[tuple[float, float]]:
    """Where each m, l and c operator ends."""
    found = []
    for numbers, _ in re.findall(r"((?:-?[\d.]+ )+)([mlc])\b", drawn):
        values = [float(number) for number in numbers.split()]
        found.append((values[-2], values[-1]))
    return found


@pytest.mark.parametrize("word", [look.word for look in HOUSE.looks.values()])
def test_a_shape_fills_the_same_bounds_as_an_independent_reader_says(word: str) -> None:
    """The bounds of the path by fontTools, to a fiftieth of the 100-unit box."""
    path = next(look.shape_path for look in HOUSE.looks.values() if look.word == word)
    pen = BoundsPen(None)
    parse_path(path, pen)
    assert pen.bounds is not None
    left, top, right, bottom = pen.bounds
    drawn = ends(operators(path))
    assert min(x for x, _ in drawn) == pytest.approx(left, abs=0.02)
    assert max(x for x, _ in drawn) == pytest.approx(right, abs=0.02)
    assert min(y for _, y in drawn) == pytest.approx(top, abs=0.02)
    assert max(y for _, y in drawn) == pytest.approx(bottom, abs=0.02)


@pytest.mark.parametrize(
    "path",
    [
        "M10 10h20v30l-5 5H4V2Z",
        "M0 0C10 0 20 10 20 20S30 40 40 40",
        "M0 0Q10 20 20 0T40 0",
        "m5 5 10 0 0 10z m20 0 5 5",
        "M10 20A30 15 30 1 0 60 40",
        "M10 20a30 15 -20 0 1 25 -10",
    ],
)
def test_every_command_ends_where_an_independent_reader_says(path: str) -> None:
    """End of each segment by fontTools; an arc may take several curves to get there."""
    pen = RecordingPen()
    parse_path(path, pen)
    wanted = [points[-1] for _, points in pen.value if points]
    drawn = ends(operators(path))
    for end in wanted:
        assert any(end == pytest.approx(found, abs=0.002) for found in drawn), end
    if not path.endswith("Z"):  # there fontTools draws the closing line itself
        assert drawn[-1] == pytest.approx(wanted[-1], abs=0.002)


def test_an_arc_keeps_its_radius() -> None:
    """Each curve of a circle of radius 24 has its middle 24 from the centre, to one part in a thousand."""
    at = (50.0, 26.0)
    for first, second, end in arc_curves(at, [24, 24, 0, 1, 0], (50.0, 74.0)):
        x = (at[0] + 3 * first[0] + 3 * second[0] + end[0]) / 8
        y = (at[1] + 3 * first[1] + 3 * second[1] + end[1]) / 8
        assert math.hypot(x - 50, y - 50) == pytest.approx(24.0, rel=1e-3)
        at = end
    assert at == pytest.approx((50.0, 74.0))


def test_a_path_keeps_its_own_units() -> None:
    assert operators("M1 2L3 4Z") == "1.000 2.000 m 3.000 4.000 l h"


@pytest.mark.parametrize("name", [text_fit.REGULAR, text_fit.BOLD, text_fit.WORD])
def test_glyphs_and_metrics_are_those_of_the_fonts(name: str) -> None:
    font = TTFont(templates.folder() / "fonts" / f"{name}.ttf")
    told = faces()[name]
    names = font.getBestCmap()
    assert told["glyphs"] == {chr(code): font.getGlyphID(names[code]) for code in names if code >= 32}
    assert (told["ascent"], told["descent"]) == (font["hhea"].ascent, font["hhea"].descent)
    assert told["cap"] == font["OS/2"].sCapHeight


def test_a_letter_the_font_lacks_is_known_beforehand() -> None:
    assert can_write("Bed 4W-12A: é ≤ 41\xa0kg", text_fit.BOLD)
    assert not can_write("Ж", text_fit.BOLD)
    assert not can_write("力", text_fit.WORD)


def test_a_baseline_stands_where_css_puts_it() -> None:
    """CSS 2.2, 10.8.1: half the leading (14 less 9.5 and 2.9), then the ascent."""
    assert baseline(10.0, 14.0, text_fit.REGULAR) == pytest.approx((14.0 - 9.5 - 2.9) / 2 + 9.5)


def test_text_drawn_can_be_read_back_with_its_title() -> None:
    drawing = Drawing("Cards (1) \u2013 \u00e9")
    leaf = drawing.page(100, 50)
    with leaf.marked(drawing.element("P", drawing.body)):
        leaf.text("Caf\u00e9 (41\u00a0kg)", (10, 10), 5, text_fit.BOLD)
    leaf.finish()
    out = io.BytesIO()
    drawing.finish().write(out)
    from pypdf import PdfReader

    read = PdfReader(out)
    assert read.pages[0].extract_text().strip() == "Caf\u00e9 (41\u00a0kg)"
    assert read.metadata is not None
    assert read.metadata.title == "Cards (1) \u2013 \u00e9"
    with pikepdf.open(out) as made:
        assert made.check_pdf_syntax() == []


def test_a_facility_that_changed_the_page_gets_its_change_in_the_pdf(tmp_path: Path) -> None:
    """The digest here is the page's and the style's: draw anew what changed, then write it down."""
    assert drawn.is_the_page(), "door.html or door.css changed: draw the change too, then its digest"
    for page in ("door.html", "door.css"):
        shutil.copy(templates.folder() / page, tmp_path / page)
    (tmp_path / "door.css").write_text("/* ours */", encoding="utf-8")
    assert not drawn.is_the_page(tmp_path)
