"""The label and the table of keys as pages: one self-contained HTML each, laid out for paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from mobicard.paper import templates
from mobicard.paper.chips import css_text
from mobicard.paper.in_words import SUPPORT
from mobicard.paper.leaflet.label import Part
from mobicard.paper.sheet_sizes import SIZES, paper_size

Keys = tuple[str, Sequence[tuple[str, str]]]
"""A place, and each of its keys with what it does."""

LETTERS_MM = 3.0
"""Height of the letters: 8.5 pt."""


def label_html(title: str, parts: Iterable[Part], paper: str = "a4") -> str:
    """The label as one page. ``paper``: a4 or letter. Raises SheetRefused."""
    width, height = paper_size(paper, "the label")
    return templates.render("label.html", parts=list(parts), **_sheet(title, width, height))


def keys_html(title: str, places: Iterable[Keys]) -> str:
    """Every key of every place, on upright A5."""
    size = SIZES["a5"]
    return templates.render("keys.html", places=list(places), **_sheet(title, size.height, size.width))


def _sheet(title: str, width: float, height: float) -> dict[str, object]:
    return {
        "title": title,
        "width": width,
        "height": height,
        "letters": LETTERS_MM,
        "first": SUPPORT,
        "support": css_text(SUPPORT),
    }
