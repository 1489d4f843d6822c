"""The clerk's slip: which card on which door, which one down, nothing counted before it is done."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from pdfminer.high_level import extract_text

from mobicard import scheme
from mobicard.facts.words import Level
from mobicard.paper.door.slip import Slip, SlipLine, slip_html
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import SheetRefused
from tests.paper.beds import NOW
from tests.paper.reading import Reader

HOUSE = scheme.load()


def said(*lines: SlipLine) -> str:
    return Reader(slip_html(lines, HOUSE, NOW)).text


def test_a_door_that_changes_says_what_goes_up_and_what_comes_down() -> None:
    text = said(SlipLine("4W-12A", "7Q4MKD", "K3P9AX", Level.TEAM))
    assert "4W-12A K3P9AX 7Q4MKD TEAM" in text
    assert "1 to hang, 1 to take down" in text


def test_a_bare_door_and_an_empty_bed_say_so() -> None:
    bare = (SlipLine("4W-13", "7Q4MKE", None, Level.LINK), SlipLine("4W-15", "7Q4MKF", None, Level.SELF))
    text = said(*bare, SlipLine("4W-14", None, "K3P9AY"))
    assert "4W-13 nothing hangs there 7Q4MKE LINK" in text
    assert "4W-14 K3P9AY nothing: no patient of this card here" in text
    assert "2 to hang, 1 to take down" in text


def test_doors_keep_their_order() -> None:
    text = said(*(SlipLine(f"bed-{n}", "7Q4MKD", None, Level.SELF) for n in (3, 1, 2)))
    assert text.index("bed-3") < text.index("bed-1") < text.index("bed-2")


def test_it_says_that_nothing_counts_until_the_clerk_says_so() -> None:
    assert "until then no door counts as changed" in said()


def test_nothing_to_change_is_said() -> None:
    assert "Nothing to change: every door matches." in said()


def test_hostile_text_adds_no_element() -> None:
    wild = slip_html([SlipLine("<script>&amp;\"'", "</td>", "<b>", Level.SELF)], HOUSE, NOW)
    tame = slip_html([SlipLine("1", "x", "y", Level.SELF)], HOUSE, NOW)
    assert Reader(wild).elements == Reader(tame).elements
    assert "<script>&amp;\"'" in Reader(wild).text


def test_unknown_paper_is_refused_naming_the_known() -> None:
    with pytest.raises(SheetRefused, match="a4, letter"):
        slip_html([], HOUSE, NOW, paper="a3")


def test_the_drawn_slip_says_the_words_of_the_page_on_as_many_pages_as_it_takes(tmp_path: Path) -> None:
    """Heads on each page; each door once; a name the carried fonts lack a letter of is laid out."""
    lines = [
        SlipLine(f"4W-{n}", "7Q4MKD" if n % 7 else None, "K3P9AX, K3P9AY" if n % 3 else None, Level.TEAM)
        for n in range(60)
    ]
    slip = Slip(lines, HOUSE, NOW)
    assert slip.drawn() is not None
    assert Slip([SlipLine("\u0634-1", "7Q4MKD", None)], HOUSE, NOW).drawn() is None
    write_pdf([slip], tmp_path / "slip.pdf")
    pages = extract_text(tmp_path / "slip.pdf").split("\f")[:-1]
    assert len(pages) > 1
    assert all("Take down and shred" in page for page in pages)
    told = Counter(re.findall(r"4W-\d+|[2-9A-Z]{6}|nothing|[a-z]{4,}", " ".join(pages)))
    page = Counter(re.findall(r"4W-\d+|[2-9A-Z]{6}|nothing|[a-z]{4,}", said(*lines)))
    assert {word: count for word, count in page.items() if told[word] < count} == {}
