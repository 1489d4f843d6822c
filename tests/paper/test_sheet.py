"""Card sizes and sheets: what fits, where it is cut, what is refused."""

from __future__ import annotations

import pytest

from mobicard.paper.door.layout import layout_for
from mobicard.paper.sheet_sizes import PAPERS, SIZES, Sheet, SheetRefused

FITTING = [
    ("a5", 1, "a4"), ("a5", 2, "a4"), ("a5", 1, "letter"), ("half-letter", 1, "letter"),
    ("half-letter", 2, "letter"),
    ("a6", 1, "a4"), ("a6", 2, "a4"), ("a6", 4, "a4"), ("a6", 1, "letter"), ("quarter-letter", 4, "letter"),
    ("quarter-letter", 2, "letter"), ("a4", 1, "a4"), ("letter", 1, "letter"),
    ("a5", 1, "a5"), ("a6", 1, "a6"), ("half-letter", 1, "half-letter"),
]  # fmt: skip


# Source: ISO 216 (A sizes); ANSI/ASME Y14.1 (letter, 8.5 x 11 in at 25.4 mm).
@pytest.mark.parametrize(
    ("name", "width", "height"),
    [
        ("a4", 297.0, 210.0),
        ("a5", 210.0, 148.0),
        ("a6", 148.0, 105.0),
        ("letter", 11 * 25.4, 8.5 * 25.4),
        ("half-letter", 8.5 * 25.4, 5.5 * 25.4),
        ("quarter-letter", 5.5 * 25.4, 4.25 * 25.4),
    ],
)
def test_cards_are_of_standard_sizes(name: str, width: float, height: float) -> None:
    assert (SIZES[name].width, SIZES[name].height) == pytest.approx((width, height))


# Source: ADA 2010 Standards 703.5.5 as tabled in the house scheme: 2 m 17.8, 3 m 28.3, 4.5 m 44.0 mm.
@pytest.mark.parametrize("name", list(SIZES))
def test_the_word_is_as_tall_as_its_reading_distance_asks(name: str) -> None:
    card = SIZES[name]
    wanted = 16.0 + 3.2 * max(0.0, card.reads_at_m * 1000 - 1830) / 305
    assert card.word_cap >= wanted - 0.1


@pytest.mark.parametrize(("name", "least"), [("a5", 28.4), ("half-letter", 28.4), ("a4", 44.0)])
def test_the_word_has_the_published_height(name: str, least: float) -> None:
    assert SIZES[name].word_cap >= least


@pytest.mark.parametrize(("size", "up", "paper"), FITTING)
def test_cards_lie_side_by_side_inside_the_paper(size: str, up: int, paper: str) -> None:
    sheet = Sheet.named(size, up, paper)
    card = sheet.card
    corners = [sheet.place(index) for index in range(up)]
    assert len(set(corners)) == up
    for left, top in corners:
        assert left >= -0.01
        assert left + card.width <= sheet.width + 0.01
        assert top >= -0.01
        assert top + card.height <= sheet.height + 0.01
    for index, (left, top) in enumerate(corners):
        for other_left, other_top in corners[index + 1 :]:
            beside = abs(left - other_left) >= card.width - 0.01
            below = abs(top - other_top) >= card.height - 0.01
            assert beside or below


@pytest.mark.parametrize(("size", "up", "paper"), FITTING)
def test_cut_marks_touch_no_card_content(size: str, up: int, paper: str) -> None:
    """The marks lie in the cards' empty margins, never inside a panel."""
    for ink in ("colour", "saver"):
        sheet = Sheet.named(size, up, paper, ink)
        layout = layout_for(sheet)
        edge = layout.border + 0.25
        for index in range(up):
            left, top = sheet.place(index)
            x, y = left + layout.panel[0] - edge, top + layout.panel[1] - edge
            right, bottom = x + layout.panel[2] + 2 * edge, y + layout.panel[3] + 2 * edge
            for cut_left, cut_top, wide, high in sheet.cuts():
                outside = (
                    cut_left + wide <= x or cut_left >= right or cut_top + high <= y or cut_top >= bottom
                )
                assert outside


def test_two_a5_on_a4_are_cut_once_across() -> None:
    assert sorted({round(top + high / 2, 1) for _, top, _, high in Sheet.named("a5", 2, "a4").cuts()}) == [
        148.5
    ]


def test_a_card_that_fills_the_page_has_nothing_to_cut() -> None:
    assert Sheet.named("a4", 1, "a4").cuts() == ()
    assert Sheet.named("a5", 1, "a5").cuts() == ()


@pytest.mark.parametrize(
    ("size", "up", "paper", "ink", "says"),
    [
        ("a5", 2, "letter", "colour", "2 a5 cards do not fit on letter; 2 on letter: half-letter"),
        ("a4", 2, "a4", "colour", "2 a4 cards do not fit on a4; 2 on a4: a5"),
        ("a5", 3, "a4", "colour", "3 cards on a sheet cannot be cut; print 1, 2 or 4"),
        ("b5", 1, "a4", "colour", "“b5” is no card size; the sizes are a5"),
        ("a5", 1, "legal", "colour", "“legal” is no paper; the papers are a4, letter"),
        ("a5", 1, "a4", "gold", "“gold” is no ink; the inks are colour, grey, saver"),
    ],
)
def test_what_cannot_be_printed_is_refused_with_what_can(
    size: str, up: int, paper: str, ink: str, says: str
) -> None:
    with pytest.raises(SheetRefused) as refused:
        Sheet.named(size, up, paper, ink)
    assert says in str(refused.value)


def test_both_spellings_of_colour_and_grey_are_taken() -> None:
    assert (Sheet.named(ink="color").ink, Sheet.named(ink="gray").ink) == ("colour", "grey")


def test_the_papers_are_the_two_the_ward_has() -> None:
    assert set(PAPERS) == {"a4", "letter"}


@pytest.mark.parametrize(
    ("size", "up", "paper"),
    [
        ("a5", 2, "a4"),
        ("a6", 4, "a4"),
        ("a5", 1, "a4"),
        ("half-letter", 2, "letter"),
        ("quarter-letter", 4, "letter"),
    ],
)
def test_cut_marks_lie_where_printers_print(size: str, up: int, paper: str) -> None:
    """Few printers print in the outer 5 mm: a mark there is no mark."""
    sheet = Sheet.named(size, up, paper)
    for left, top, wide, high in sheet.cuts():
        assert max(wide, high) >= 3
        assert left >= 5 - 0.13
        assert left + wide <= sheet.width - 5 + 0.13
        assert top >= 5 - 0.13
        assert top + high <= sheet.height - 5 + 0.13


@pytest.mark.parametrize(
    ("asked", "stock", "found"),
    [
        ((None, None, None), "a4", ("a5", 2, "a4")),
        ((None, None, None), "letter", ("half-letter", 2, "letter")),
        (("a6", None, None), "a4", ("a6", 4, "a4")),
        (("a5", None, None), "letter", ("a5", 1, "letter")),
        (("a5", 2, None), "letter", ("a5", 2, "a4")),
        (("a4", None, None), "letter", ("a4", 1, "a4")),
        ((None, None, "card"), "a4", ("a5", 1, "a5")),
        ((None, 1, None), "a4", ("a5", 1, "a4")),
    ],
)
def test_what_nobody_asked_for_follows_the_stock(
    asked: tuple[str | None, int | None, str | None], stock: str, found: tuple[str, int, str]
) -> None:
    """The sheets that lie in the printer, filled, with marks; another paper only where no card fits."""
    sheet = Sheet.asked(*asked, "colour", stock)
    assert (sheet.card.name, sheet.up, sheet.paper) == found
    assert bool(sheet.cuts()) == (sheet.paper in PAPERS and asked[0] != "a4")
