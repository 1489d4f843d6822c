"""The bedside card as a page: one a bed whatever is recorded, whole, nothing cut in silence."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pdfminer.high_level import extract_pages
from pdfminer.layout import LAParams, LTChar, LTPage, LTTextLine

from mobicard import scheme
from mobicard.derive.model import Conflict, Reason
from mobicard.facts.words import Level, Limb, Task
from mobicard.paper.bedside import columns
from mobicard.paper.bedside.blocks import KNEES, blocks
from mobicard.paper.bedside.card import bedside_html
from mobicard.paper.door.face import BedCard
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import PAPERS
from tests.paper.beds import (
    NOW,
    at_level,
    bed_card,
    emptiest,
    expired,
    longest,
    seen,
    seven_levels,
)
from tests.paper.extremes import fullest, rich
from tests.paper.reading import Reader, letters, lines

HOUSE = scheme.load()
MM = 72 / 25.4


def html(*cards: BedCard, **how: Any) -> str:
    return bedside_html(cards, HOUSE, NOW, **how)


def said(*cards: BedCard, **how: Any) -> str:
    return Reader(html(*cards, **how)).text


def laid_out(path: Path, *cards: BedCard, **how: Any) -> list[LTPage]:
    write_pdf(html(*cards, **how), path)
    return list(extract_pages(path, laparams=LAParams(char_margin=1.0)))


def every_kind() -> list[BedCard]:
    """All levels, everything recorded, nothing recorded, out of date, each text at its longest."""
    return [
        *seven_levels(),
        bed_card(rich()),
        bed_card(rich("شرفة-١٢", label="مريض")),
        emptiest(),
        expired(),
        longest(),
        bed_card(fullest()),
    ]


@pytest.fixture(scope="module", params=[("a4", "colour"), ("letter", "saver")], ids=str)
def printed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, list[LTPage]]:
    paper, ink = request.param
    path = tmp_path_factory.mktemp("bedside") / "cards.pdf"
    return paper, laid_out(path, *every_kind(), paper=paper, ink=ink)


# One page, whole


def test_every_bed_is_exactly_one_page_of_its_paper(printed: tuple[str, list[LTPage]]) -> None:
    paper, pages = printed
    assert len(pages) == len(every_kind())
    for page in pages:
        assert (page.width / MM, page.height / MM) == pytest.approx(PAPERS[paper], abs=0.1)


def test_no_letter_leaves_the_margins(printed: tuple[str, list[LTPage]]) -> None:
    paper, pages = printed
    width, height = PAPERS[paper]
    edge = (columns.MARGIN - 0.3) * MM
    for number, page in enumerate(pages):
        out = [
            letter.get_text()
            for letter in letters(page)
            if letter.x0 < edge
            or letter.x1 > width * MM - edge
            or letter.y0 < edge - 1
            or letter.y1 > height * MM - edge + 3
        ]
        assert not out, f"page {number + 1}: {''.join(out)!r}"


def test_no_line_of_text_runs_over_another(printed: tuple[str, list[LTPage]]) -> None:
    """Lines are boxed by their capitals, not by the room the font reserves above and below."""
    _, pages = printed
    for number, page in enumerate(pages):
        boxes = [(_core(line), line.get_text().strip()) for line in lines(page)]
        for at, (one, text) in enumerate(boxes):
            for other, words in boxes[at + 1 :]:
                wide = min(one[2], other[2]) - max(one[0], other[0])
                high = min(one[3], other[3]) - max(one[1], other[1])
                assert wide <= 0.5 or high <= 0.5, f"page {number + 1}: {text!r} over {words!r}"


def _core(line: LTTextLine) -> tuple[float, float, float, float]:
    """The line's box without the font's reserve: the middle six tenths of its letters' size."""
    size = max(item.size for item in line if isinstance(item, LTChar))
    middle = (line.y0 + line.y1) / 2
    return line.x0, middle - 0.3 * size, line.x1, middle + 0.3 * size


def test_the_foot_line_stands_free_below_everything(printed: tuple[str, list[LTPage]]) -> None:
    """The line that ends each card is the lowest; nothing of the columns reaches into it."""
    _, pages = printed
    for page in pages:
        foot = next(line for line in lines(page) if line.get_text().startswith("Decision support"))
        others = [line for line in lines(page) if line.y1 > foot.y1 + 1]
        assert min(line.y0 for line in others) > foot.y1 - 1


def test_an_ordinary_full_record_keeps_readable_letters() -> None:
    """2.2 mm is a 6-point letter; a card is read in the hand."""
    for paper in PAPERS:
        sizes = re.findall(
            r'<article class="bed"[^>]*font-size: ([\d.]+)mm', html(bed_card(rich()), paper=paper)
        )
        assert [float(size) >= 2.2 for size in sizes] == [True]
        assert "find no room" not in html(bed_card(rich()), paper=paper)


def test_what_finds_no_room_is_counted_and_the_rest_is_all_there() -> None:
    card = bed_card(fullest())
    reader = Reader(html(card))
    [left_out] = re.findall(r"(\d+) more lines find no room", reader.text)
    whole = [item for block in blocks(card.plan, card.record) for item in block.items]
    items = re.findall(r"<li>", html(card).split('<div class="left">')[1])
    assert len(items) + int(left_out) == len(whole)
    assert all(text in reader.text for text in KNEES), "what to do when the knees give way always stays"


def test_a_long_word_in_any_list_stays_in_its_column(tmp_path: Path) -> None:
    word = "W" * 60
    card = bed_card(
        rich(
            on_before_up=[word, "w" * 60],
            lines=[{"kind": word, "note": "W" * 160}],
            communication={"hearing": word, "vision": word, "note": "W" * 160},
            assessed_by=word,
        )
    )
    plan = replace(
        card.plan,
        conflicts=(Conflict("W" * 160, ("inventory",)),),
        tasks={task: replace(one, cautions=("W" * 150,)) for task, one in card.plan.tasks.items()},
    )
    [page] = laid_out(tmp_path / "card.pdf", BedCard(plan, card.record))
    middle = page.width / 2
    long = [line for line in lines(page) if "WWWWWWWW" in line.get_text() and line.x1 - line.x0 < middle]
    assert len(long) > 8
    crossing = [line.get_text() for line in long if line.x0 < middle - 12 and line.x1 > middle]
    assert not crossing
    assert max(line.x1 for line in long) <= page.width - columns.MARGIN * MM + 1


def test_no_line_of_a_list_breaks_after_its_first_word(tmp_path: Path) -> None:
    """Lines each a little longer, so that the small print after some of them just finds no room."""
    text = "The move took at least a hand on the patient: one hand and more"
    reasons = tuple(Reason("x", f"{text}{'.' * most}", {}, "one; two; three") for most in range(40))
    card = seen("1")
    chair = replace(card.plan.headline, reasons=reasons)
    plan = replace(card.plan, tasks={**card.plan.tasks, Task.CHAIR: chair})
    [page] = laid_out(tmp_path / "card.pdf", BedCard(plan, card.record))
    shown = [line.get_text().strip(" \u2013\u00a0\n") for line in lines(page)]
    assert sum(line.startswith("The move took at") for line in shown) == len(reasons)


def test_limb_limits_stand_at_the_limb_in_both_units(tmp_path: Path) -> None:
    """50 % of 82 kg is 41 kg, 90 lb; the patient's left is on the right of the page's figure."""
    card = bed_card(rich())
    assert {limit.limb for limit in card.plan.weight_bearing} == {
        Limb.LEFT_LEG,
        Limb.RIGHT_LEG,
        Limb.LEFT_ARM,
    }
    [page] = laid_out(tmp_path / "card.pdf", card)
    found = {line.get_text().strip(): line for line in lines(page)}
    left, right = found["left leg"], found["right leg"]
    assert left.x0 > right.x1
    assert left.y0 < found["left arm"].y0, "the leg's label is below the arm's"
    assert found["Patient’s LEFT"].x0 > found["Patient’s RIGHT"].x1
    near = [
        line.get_text() for line in lines(page) if abs(line.x1 - left.x1) < 6 and 0 < left.y0 - line.y0 < 40
    ]
    assert "41.0 kg (90 lb)" in " ".join("".join(near).split())


def test_arabic_is_set_in_letters_a_font_here_has(tmp_path: Path) -> None:
    card = bed_card(rich(communication={"language": "ar"}))
    [page] = laid_out(tmp_path / "card.pdf", card)
    arabic = [
        letter for letter in letters(page) if "\u0600" <= letter.get_text()[0] <= "\ufeff" and letter.x0
    ]
    assert (
        len(
            [
                letter
                for letter in arabic
                if ord(letter.get_text()[0]) < 0x0700 or ord(letter.get_text()[0]) > 0xFB00
            ]
        )
        > 20
    )


def test_a_page_too_full_gives_up_paperwork_before_cautions() -> None:
    """80 disagreements of the record and 12 long cautions cannot all stand on one page."""
    paperwork = tuple(Conflict(f"Disagreement {n} " + "w" * 140, ("goals", "precautions")) for n in range(80))
    cautions = tuple(f"Caution {n} " + "c " * 60 for n in range(12))
    rated = Conflict("The full-body lift is rated only to 800 lb.", ("inventory",))
    card = at_level(Level.HOIST, conflicts=(*paperwork, rated))
    tasks = {task: replace(plan, cautions=cautions) for task, plan in card.plan.tasks.items()}
    text = said(BedCard(replace(card.plan, tasks=tasks), card.record))
    assert "find no room" in text
    assert text.count("Disagreement") < 80
    assert all(f"Caution {n} " in text for n in range(12))
    assert rated.says in text


def test_the_same_card_is_the_same_page() -> None:
    assert html(*every_kind()) == html(*every_kind())
