"""One cell of a bed list: what is read, what is refused, and on which side of each edge."""

from __future__ import annotations

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mobicard.exchange.census import cells


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("  RT\u00a0", "RT"),
        ('="4W-12A"', "4W-12A"),
        ("'=1+2", "=1+2"),
        ("n/a", ""),
        ("-", ""),
        ("NA", "NA"),  # somebody's initials
        ("-12.5", "-12.5"),
        ("one\r\ntwo", "one two"),
    ],
)
def test_a_cell_is_read_as_the_text_it_means(cell: str, read: str) -> None:
    assert cells.text(cell) == read


@pytest.mark.parametrize("cell", ["=1+2", '=HYPERLINK("x")', "@SUM(A1)", "+cmd|' /C calc'!A0", "-A1", "＝1"])
def test_a_formula_is_refused_not_guessed(cell: str) -> None:
    with pytest.raises(cells.CellRefused, match="formula"):
        cells.text(cell)


@pytest.mark.parametrize(
    ("cell", "read"),
    [("4W - 12A", "4W-12A"), ("12.0", "12"), (" 7 ", "7"), ("12/A", "12/A"), ("May-Ward 3", "May-Ward 3")],
)
def test_a_bed_is_kept_as_written_but_for_spaces_and_a_spreadsheets_point_zero(cell: str, read: str) -> None:
    assert cells.bed(cell) == read


@pytest.mark.parametrize(
    "cell", ["12-Apr", "Apr-12", "12/04/2026", "2026-04-12 00:00:00", "4.00E+12", "4E+02"]
)
def test_a_bed_that_a_spreadsheet_changed_is_refused(cell: str) -> None:
    with pytest.raises(cells.CellRefused, match="spreadsheet made of it"):
        cells.bed(cell)


def test_a_bed_is_at_most_sixteen_characters() -> None:
    assert cells.bed("X" * 16) == "X" * 16
    with pytest.raises(cells.CellRefused, match="at most 16"):
        cells.bed("X" * 17)


@pytest.mark.parametrize(
    ("parts", "bed"),
    [
        (("4W", "12", "A"), "4W-12A"),
        (("4W", "12", "12A"), "4W-12A"),
        (("4W", "12", "2"), "4W-12-2"),
        (("4W", "1", "12"), "4W-1-12"),
        (("4W", "", "4W-12A"), "4W-12A"),
        (("4", "", "41A"), "4-41A"),
        (("4W", "12", ""), "4W-12"),
        (("", "", "12A"), "12A"),
        (("4W", "", ""), ""),
    ],
)
def test_unit_room_and_bed_make_one_name(parts: tuple[str, str, str], bed: str) -> None:
    assert cells.compose_bed(*parts) == bed


@pytest.mark.parametrize(
    ("cell", "unit", "kg"),
    [
        ("82", "kg", 82.0),
        ("82,5", "kg", 82.5),
        ("181", "lb", 82.100),  # 181 x 0.45359237: NIST SP 811 (2008), appendix B.8
        ("181 lb", "kg", 82.100),
        ("82 kg", None, 82.0),
        ("", None, None),
        ("0.3", "kg", 0.3),
        ("500", "kg", 500.0),
    ],
)
def test_a_weight_is_read_with_its_own_unit_before_the_headings(
    cell: str, unit: str | None, kg: float | None
) -> None:
    assert cells.weight_kg(cell, unit) == kg


@pytest.mark.parametrize(
    ("cell", "unit"), [("82", None), ("0.2", "kg"), ("501", "kg"), ("heavy", "kg"), ("=82", "kg")]
)
def test_a_weight_without_unit_or_sense_is_refused(cell: str, unit: str | None) -> None:
    with pytest.raises(cells.CellRefused):
        cells.weight_kg(cell, unit)


@pytest.mark.parametrize(
    ("cell", "times"),
    [
        # serial 46083 is 2 March 2026: day 1 is 1 January 1900 (ECMA-376 part 1, 18.17.4.1)
        ("46083", [datetime(2026, 3, 2)]),
        ("46083.25", [datetime(2026, 3, 2, 6, 0)]),
        ("36526", [datetime(2000, 1, 1)]),
        ("13/02/2026 7:10", [datetime(2026, 2, 13, 7, 10)]),
        ("2/13/26 7:10 pm", [datetime(2026, 2, 13, 19, 10)]),
        ("2/13/26 12:30 PM", [datetime(2026, 2, 13, 12, 30)]),
        ("2/13/26 12:30 AM", [datetime(2026, 2, 13, 0, 30)]),
        ("03.04.2026", [datetime(2026, 4, 3), datetime(2026, 3, 4)]),
        ("03/03/2026", [datetime(2026, 3, 3)]),
        ("02-Mar-2026 07:10", [datetime(2026, 3, 2, 7, 10)]),
        ("2026-03-02T07:10", [datetime(2026, 3, 2, 7, 10)]),
        ("", []),
    ],
)
def test_dates_as_spreadsheets_write_them(cell: str, times: list[datetime]) -> None:
    assert list(cells.dates(cell)) == times


@pytest.mark.parametrize("cell", ["soon", "32/13/2026", "30/02/2026", "12/12/2026 25:00", "=TODAY()"])
def test_what_is_no_date_is_refused(cell: str) -> None:
    with pytest.raises(cells.CellRefused):
        cells.dates(cell)


@pytest.mark.parametrize(
    ("name", "first", "letters"),
    [
        ("DOE, JANE", "", "JD"),
        ("Jane Q Doe", "", "JQD"),
        ("Doe", "Jane", "JD"),
        ("Ödön, Ása", "", "ÁÖ"),
        ("A B C D E F", "", "ABCF"),
        ("", "", ""),
        ("12345", "", ""),
    ],
)
def test_a_name_becomes_initials(name: str, first: str, letters: str) -> None:
    assert cells.initials(name, first) == letters


def test_a_visit_number_is_kept_only_as_a_keyed_hash() -> None:
    """The first 80 bits of HMAC-SHA-256; value from `printf %s 123 | openssl dgst -sha256 -hmac key`."""
    assert cells.stay_of("123", b"key") == "visit-a7f7739b1dc5b4e922b1"
    assert cells.stay_of(" 123 ", b"key") == cells.stay_of("123", b"key")
    assert cells.stay_of("123", b"other") != cells.stay_of("123", b"key")


@given(st.text(max_size=40))
def test_any_cell_is_read_or_refused_in_words(cell: str) -> None:
    for read in (cells.text, cells.bed, cells.dates, lambda text: cells.weight_kg(text, "kg")):
        said = "read as a fact"
        try:
            read(cell)
        except cells.CellRefused as refused:
            said = str(refused)
        assert len(said) > 10
