"""The bedside card as a page: one a bed whatever is recorded, whole, nothing cut in silence."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pdfminer.high_level import extract_pages, extract_text
from pdfminer.layout import LAParams, LTChar, LTCurve, LTPage, LTTextLine

from mobicard import scheme
from mobicard.derive.model import Conflict
from mobicard.facts.words import Limb
from mobicard.paper.bedside import sides
from mobicard.paper.bedside.blocks import front
from mobicard.paper.bedside.card import BedsideBatch, bedside_batches, bedside_html
from mobicard.paper.bedside.moves import rows
from mobicard.paper.bedside.reasons import back
from mobicard.paper.clinical_words import printed as printed_words
from mobicard.paper.door.face import BedCard
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import PAPERS
from tests.paper.beds import (
    NOW,
    bed_card,
    emptiest,
    expired,
    longest,
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
    """Drawn where the carried fonts have every letter, laid out where they have not."""
    paper, ink = request.param
    path = tmp_path_factory.mktemp("bedside") / "cards.pdf"
    batches = list(bedside_batches(every_kind()[:8], HOUSE, NOW, paper=paper, ink=ink))
    assert all(batch.drawn() for batch in batches)
    more = BedsideBatch(every_kind()[8:], HOUSE, NOW, paper, ink, None, "more")
    assert more.drawn() is None
    write_pdf([*batches, more], path)
    return paper, list(extract_pages(path, laparams=LAParams(char_margin=1.0)))


# Both sides of a sheet, whole


def test_every_bed_is_whole_sheets_of_its_paper(printed: tuple[str, list[LTPage]]) -> None:
    paper, pages = printed
    batch = BedsideBatch(every_kind(), HOUSE, NOW, paper, "colour", None, "")
    assert len(pages) == sum(len(page.sides) for page in batch.pages)
    assert all(len(page.sides) % 2 == 0 for page in batch.pages)
    for page in pages:
        assert (page.width / MM, page.height / MM) == pytest.approx(PAPERS[paper], abs=0.1)


def test_no_letter_leaves_the_margins(printed: tuple[str, list[LTPage]]) -> None:
    paper, pages = printed
    width, height = PAPERS[paper]
    edge = (sides.MARGIN - 0.3) * MM
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


def test_no_rule_and_no_figure_touches_a_word(printed: tuple[str, list[LTPage]]) -> None:
    """Level rules keep half a millimetre from the capitals; what the figure draws, from every word."""
    _, pages = printed
    for number, page in enumerate(pages):
        drawn = [shape for shape in page if isinstance(shape, LTCurve) and _thin_or_dark(shape)]
        for line in lines(page):
            left, low, right, high = _core(line)
            for shape in drawn:
                wide = min(right, shape.x1) - max(left, shape.x0)
                tall = min(high, shape.y1) - max(low, shape.y0)
                across = shape.x0 <= left + 1 and shape.x1 >= right - 1
                inside = across and shape.y0 <= low and shape.y1 >= high
                assert inside or wide <= 0.3 or tall <= -0.2, f"page {number + 1}: {line.get_text()!r}"


def _thin_or_dark(shape: LTCurve) -> bool:
    """A rule, a limb or a leader: no frame round text, no ground under white words."""
    framed = shape.stroke and not shape.fill and shape.height > 8
    ground = shape.fill and 6 < shape.height < 20
    return not framed and not ground and shape.width > 2


def test_the_foot_stands_free_below_everything(printed: tuple[str, list[LTPage]]) -> None:
    """The lines that end each side are the lowest; nothing of the columns reaches into them."""
    _, pages = printed
    for page in pages:
        foot = next(line for line in lines(page) if re.match(r"Bed .*side \d of \d", line.get_text()))
        others = [line for line in lines(page) if line.y1 > foot.y1 + 1]
        assert min(line.y0 for line in others) > foot.y1 - 1


def test_no_letter_of_a_first_side_is_smaller_than_nine_points(printed: tuple[str, list[LTPage]]) -> None:
    """All but a name of 60 wide letters, who looked: nobody hopes to meet it."""
    _, pages = printed
    for page in pages:
        if "side 1 of" not in "".join(line.get_text() for line in lines(page)):
            continue
        small = [line.get_text() for line in lines(page) if _size(line) < 8.95]
        assert not [text for text in small if not re.search("WWWW|Looked at", text)]


def _size(line: LTTextLine) -> float:
    return max(item.size for item in line if isinstance(item, LTChar))


def test_a_full_record_keeps_to_one_sheet() -> None:
    for paper in PAPERS:
        batch = BedsideBatch([bed_card(rich())], HOUSE, NOW, paper, "colour", None, "")
        assert len(batch.pages[0].sides) == 2, paper


def test_two_lines_are_not_parted_under_a_second_title() -> None:
    """“Fall risk (goes on)” stood beside “Fall risk”, a line in each."""
    assert "goes on" not in said(emptiest())


def test_nothing_is_dropped_however_much_there_is() -> None:
    """Every item of every block and every row, on as many sheets as it takes; six sides for the fullest."""
    for card in every_kind():
        text = said(card)
        told = [*front(card.plan, card.record), *back(card.plan, card.record)]
        items = [item.plain for block in printed_words(tuple(told)) for item in block.items]
        rows_say = [point.plain for row in rows(card.plan, card.record, NOW) for point in row.says]
        for words in (*items, *printed_words(tuple(rows_say))):
            assert " ".join(words.split()) in text


def test_the_pdf_says_the_words_of_the_page(tmp_path: Path) -> None:
    cards = [bed_card(rich()), *seven_levels(), expired(), emptiest()]
    [batch] = [BedsideBatch(cards, HOUSE, NOW, "a4", "colour", None, "Cards")]
    write_pdf([batch], tmp_path / "cards.pdf")
    told = Counter(re.findall(r"\w+", extract_text(tmp_path / "cards.pdf")))
    page = Counter(re.findall(r"\w+", Reader(batch.html()).text.split("</h1>")[-1]))
    page.subtract(re.findall(r"\w+", f"Cards Cards {_drawn_titles(batch)}"))
    numbers = Counter(str(number) for number in range(1, 20))
    assert not {word for word in (told - page) + (page - told) if word not in numbers}


def _drawn_titles(batch: BedsideBatch) -> str:
    """What pictures say to who does not see them: in the page's text, and in the PDF as their alternative."""
    return " ".join(re.findall("<title[^>]*>(.*?)</title>", batch.html().split("<body>")[1]))


def test_limb_limits_stand_at_the_limb_in_both_units(tmp_path: Path) -> None:
    """50 % of 82 kg is 41 kg, 90 lb; the patient's left is on the right of the page's figure."""
    card = bed_card(rich())
    assert {limit.limb for limit in card.plan.weight_bearing} == {
        Limb.LEFT_LEG,
        Limb.RIGHT_LEG,
        Limb.LEFT_ARM,
    }
    page = laid_out(tmp_path / "card.pdf", card)[0]
    found = {" ".join(line.get_text().split()[:2]): line for line in lines(page)}
    left, right = found["Left leg,"], found["Right leg,"]
    assert left.x0 > right.x1
    assert left.y0 < found["Left arm,"].y0, "the leg's label is below the arm's"
    assert found["Patient’s LEFT"].x0 > found["Patient’s RIGHT"].x1
    near = [
        line.get_text() for line in lines(page) if abs(line.x1 - left.x1) < 6 and 0 <= left.y0 - line.y0 < 40
    ]
    assert "41.0 kg (90 lb)" in " ".join("".join(near).split())


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
    for page in laid_out(tmp_path / "card.pdf", BedCard(plan, card.record)):
        middle = page.width / 2
        long = [line for line in lines(page) if "WWWWWWWW" in line.get_text() and line.x1 - line.x0 < middle]
        assert not [line.get_text() for line in long if line.x0 < middle - 12 and line.x1 > middle]
        assert max((line.x1 for line in long), default=0.0) <= page.width - sides.MARGIN * MM + 1


def test_arabic_is_set_in_letters_a_font_here_has(tmp_path: Path) -> None:
    card = bed_card(rich(communication={"language": "ar"}))
    page = laid_out(tmp_path / "card.pdf", card)[0]
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


def test_the_same_card_is_the_same_page() -> None:
    assert html(*every_kind()) == html(*every_kind())


@pytest.mark.parametrize("ink", ["colour", "saver"])
def test_the_band_is_drawn_where_the_page_has_it(ink: str, tmp_path: Path) -> None:
    """In the ink saver the people needed were drawn over the band's thick border."""
    batch = BedsideBatch([bed_card(rich())], HOUSE, NOW, "a4", ink, None, "Cards")
    places = []
    for made in ([batch], batch.html()):
        write_pdf(made, tmp_path / "cards.pdf")
        page = next(iter(extract_pages(tmp_path / "cards.pdf", laparams=LAParams(char_margin=1.0))))
        said = {line.get_text().strip(): line for line in sorted(lines(page), key=_size)}
        [made_page] = batch.pages
        named = [said[text] for text in (made_page.look.word, made_page.sub_line, made_page.people[0])]
        places.append([(line.x0 / MM, (line.y0 + line.y1) / 2 / MM) for line in named])
    for drawn, laid in zip(*places, strict=True):
        assert drawn == pytest.approx(laid, abs=0.3)
