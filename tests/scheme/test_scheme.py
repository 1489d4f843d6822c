"""The scheme as values: seven looks, the rail, and files that cannot be read."""

from __future__ import annotations

import subprocess
import sys

import pytest

from mobicard import scheme
from mobicard.facts.words import Level

HOUSE = scheme.load()


def test_seven_levels_in_their_order() -> None:
    assert list(HOUSE.looks) == list(Level)
    assert [look.rank for look in HOUSE.looks.values()] == list(range(7))


def test_words_colours_inks_and_glyphs_are_the_published_ones() -> None:
    """Source: the house scheme's table."""
    rows = [(k.word, k.colour, k.ink, k.glyph, k.ascii_glyph, k.bg256, k.fg256) for k in HOUSE.looks.values()]
    assert rows == [
        ("SELF", "#FFF1DF", "#000000", "◦", "o", 230, 16),
        ("NEARBY", "#A6DDFE", "#000000", "◊", ":", 117, 16),
        ("LINK", "#E9A077", "#000000", "&", "&", 180, 16),
        ("TEAM", "#9994A0", "#000000", "#", "#", 247, 16),
        ("POWER", "#2956A3", "#FFFFFF", "⌂", "^", 24, 231),
        ("HOIST", "#4B3730", "#FFFFFF", "◙", "@", 238, 231),
        ("REMAIN", "#192541", "#FFFFFF", "▬", "=", 17, 231),
    ]


def test_every_level_has_its_own_shape() -> None:
    assert len({look.shape_path for look in HOUSE.looks.values()}) == 7


@pytest.mark.parametrize(
    ("rank", "rail"),
    [(0, "[=--- ---]"), (2, "[===- ---]"), (3, "[==== ---]"), (4, "[==== =--]"), (6, "[==== ===]")],
)
def test_the_rail_fills_rank_plus_one_of_seven_cells_grouped_four_and_three(rank: int, rail: str) -> None:
    assert scheme.rail(rank) == rail


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("levels = [", "the file is not TOML"),
        ('[levels.SELF]\nword = "self"', "levels.SELF.word"),
        ('[levels.SELF]\ncolour = "red"', "levels.SELF.colour"),
        ('[levels.SELF]\nshape = "M0 0<script>"', "levels.SELF.shape"),
        ("[levels.SELF]\nbg256 = 3", "levels.SELF.bg256"),
        ("[levels.ALONE]\nbg256 = 30", "unknown: ALONE"),
        ("[levels]\nSELF = 3", "levels.SELF: write a table"),
        ("levels = 3", "it is not a table"),
        ("[colours]\nred = 1", "colours"),
        ('[remain]\nafter_fall = ""', "remain.after_fall"),
    ],
)
def test_a_file_that_cannot_be_read_says_where_and_what(text: str, says: str) -> None:
    with pytest.raises(scheme.SchemeRefused) as refused:
        scheme.load(text)
    assert says in str(refused.value)
    assert "Traceback" not in str(refused.value)


def test_loading_the_house_scheme_does_not_load_the_colour_library() -> None:
    code = "import sys, mobicard.scheme as s; s.load(); print('coloraide' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
