"""A bed list with everything real files have in them."""

from __future__ import annotations

import csv
import io
from datetime import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.mapping import CensusMapping, MappingRefused
from mobicard.exchange.census.rows import Census, CensusRefused

SALT = b"a secret of the unit"


def read(text: str, mapping: str = "", encoding: str = "utf-8") -> Census:
    return read_census(text.encode(encoding), CensusMapping.from_toml(mapping), salt=SALT)


def beds(census: Census) -> list[str]:
    return [row.bed for row in census.rows]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_any_usual_encoding_and_delimiter(encoding: str, delimiter: str) -> None:
    text = delimiter.join(["Bed", "Initials"]) + "\r\n" + delimiter.join(["4W-12A", "ÖÉ"]) + "\r\n"
    census = read(text, encoding=encoding)
    assert [(row.bed, row.label) for row in census.rows] == [("4W-12A", "ÖÉ")]


def test_a_file_that_is_not_utf_8_says_how_it_was_read() -> None:
    assert "read as cp1252; check accented letters" in read("Bed,Initials\n1,Ö\n", encoding="cp1252").notes


def test_titles_above_the_headings_blank_rows_and_trailing_cells_are_passed_over() -> None:
    text = "sep=;\r\nUnit 4 West, 2 March;;\r\n\r\nBed;Initials\r\n;\r\n4W-1;RT;;;extra\r\n;;;\r\n4W-2\r\n"
    assert beds(read(text)) == ["4W-1", "4W-2"]


def test_a_quoted_line_break_keeps_the_rows_and_their_line_numbers() -> None:
    census = read('Bed,Initials,Note\n1,RT,"line one\nline two"\n2,=1+2,x\n')
    assert beds(census) == ["1"]
    assert [(each.line, each.bed) for each in census.cannot_read] == [(4, "2")]


@pytest.mark.parametrize(
    ("rows", "line"),
    [
        ('1,RT,ok\n2,"KB,open\n3,LM,ok\n4,NO,ok\n', 3),
        ('1,RT,ok\n2,"KB,open\n3,LM,ok\n4,"NO,open\n5,PQ,ok\n', 3),
        ('1,"Doe, Jane,V1\n2,"Roe, Joe",V2\n', 2),
        ('1,"Doe, Jane,V1\n2,Roe",V2\n', 2),
        ('1,RT,"ok\n2,KB,ok\n3,LM,ok"\n', 2),
        ('1,"RT" x,ok\n2,KB,ok\n', 2),
    ],
)
def test_a_torn_list_is_refused_whole_with_its_line(rows: str, line: int) -> None:
    """A quotation mark that swallows the next patient: nobody of the list is taken, and nobody leaves."""
    with pytest.raises(CensusRefused, match=f"line {line} is torn"):
        read(f"Bed,Initials,Note\n{rows}")


def test_unit_room_and_bed_columns_make_the_bed() -> None:
    assert beds(read("Unit,Room,Bed,Patient\n4W,12,A,x\n4W,12,B,y\n")) == ["4W-12A", "4W-12B"]


def test_a_formula_refuses_its_line_and_names_it() -> None:
    census = read('Bed,Initials\n4W-1,"=HYPERLINK(""http://x"",""RT"")"\n4W-2,RT\n')
    assert beds(census) == ["4W-2"]
    assert [(each.line, "formula" in each.why) for each in census.cannot_read] == [(2, True)]


def test_a_formula_in_a_column_that_is_not_used_does_no_harm() -> None:
    assert beds(read("Bed,Remarks\n4W-1,=1+2\n")) == ["4W-1"]


@pytest.mark.parametrize(
    ("heading", "cell", "kg"),
    [
        ("Weight (kg)", "82", 82.0),
        ("Wt lbs", "181", 82.100),  # 181 x 0.45359237: NIST SP 811 (2008), appendix B.8
        ("Weight", "181 lb", 82.100),
        ("Weight", "82,5 kg", 82.5),
    ],
)
def test_weights_come_in_with_the_unit_of_the_cell_or_heading(heading: str, cell: str, kg: float) -> None:
    assert read(f"Bed;{heading}\n1;{cell}\n").rows[0].weight_kg == kg


def test_a_weight_nobody_can_be_sure_of_is_left_out_and_said() -> None:
    row = read("Bed,Initials,Weight\n1,RT,181\n").rows[0]
    assert row.weight_kg is None
    assert "no unit" in row.notes[0]


def test_names_become_initials_and_visit_numbers_hashes_and_neither_is_kept() -> None:
    census = read('Bed,Patient Name,MRN\n1,"DOE, JANE",00731882\n')
    assert census.rows[0].label == "JD"
    assert census.rows[0].stay is not None
    assert "DOE" not in repr(census)
    assert "731882" not in repr(census)


def test_a_visit_number_is_preferred_to_a_record_number() -> None:
    both = read("Bed,MRN,Visit No\n1,77,V5\n").rows[0].stay
    assert both == read("Bed,Visit No\n1,V5\n").rows[0].stay


@pytest.mark.parametrize(
    ("word", "state"),
    [("Discharged", "discharge"), ("A03", "discharge"), ("VACANT", "empty"), ("Admit", "present")],
)
def test_the_status_column_says_who_left(word: str, state: str) -> None:
    assert read(f"Bed,Initials,Status\n1,RT,{word}\n").rows[0].state == state


def test_an_unknown_status_refuses_the_line_and_a_mapping_file_teaches_it() -> None:
    text = "Bed,Initials,Status\n1,RT,heimgegangen\n"
    assert "heimgegangen" in read(text).cannot_read[0].why
    assert read(text, '[words]\ndischarge = ["Heimgegangen"]').rows[0].state == "discharge"


def test_a_line_with_a_bed_and_nobody_in_it_is_an_empty_bed() -> None:
    assert [row.state for row in read("Bed,Initials\n1,RT\n2,\n").rows] == ["present", "empty"]


def test_a_list_of_beds_alone_is_a_list_of_patients() -> None:
    assert [row.state for row in read("Bed\n1\n2\n").rows] == ["present", "present"]


def test_one_plain_date_tells_how_the_others_are_written() -> None:
    text = "Bed,Initials,Discharge Date\n1,RT,03/02/2026\n2,KB,13/02/2026\n"
    assert read(text).rows[0].discharge_times == (datetime(2026, 2, 3),)


def test_without_one_both_readings_are_kept_and_the_mapping_file_decides() -> None:
    text = "Bed,Initials,Discharge Date\n1,RT,03/02/2026\n"
    assert len(read(text).rows[0].discharge_times) == 2
    assert read(text, '[options]\ndates = "mdy"').rows[0].discharge_times == (datetime(2026, 3, 2),)


def test_a_mapping_file_names_headings_that_do_not_speak() -> None:
    text = "Platz;Zimmer;Kürzel;kg\nA;12;RT;82\n"
    mapping = """
        [columns]
        bed = "4W-{Zimmer}{Platz}"
        label = "Kürzel"
        weight = "kg"
        [options]
        weight_unit = "kg"
    """
    row = read(text, mapping).rows[0]
    assert (row.bed, row.label, row.weight_kg) == ("4W-12A", "RT", 82.0)


@pytest.mark.parametrize(
    ("toml", "says"),
    [
        ("[columns\n", "not TOML"),
        ("[colums]\nbed = 'x'", "“colums” is not known"),
        ("[columns]\nbett = 'x'", "“bett” is not known"),
        ("[columns]\nbed = 3", "columns.bed is 3"),
        ("[options]\nweight_unit = 'st'", "write kg or lb"),
        ("[options]\ndates = 'ymd'", "write dmy or mdy"),
        ("[words]\ndischarge = 'gone'", "write a list"),
        ("columns = 3", "write it as a table"),
    ],
)
def test_a_mapping_file_that_cannot_be_used_says_which_key(toml: str, says: str) -> None:
    with pytest.raises(MappingRefused, match=says):
        CensusMapping.from_toml(toml)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf  \r\n", "empty"),
        (b"%PDF-1.7", "a PDF"),
        (b"Name,Age\nx,3\n", "no column says which bed"),
        (b"Bed,Initials\n", "headings but no beds"),
    ],
)
def test_a_file_that_is_no_bed_list_is_refused_in_words(data: bytes, says: str) -> None:
    with pytest.raises(CensusRefused, match=says):
        read_census(data)


def test_a_heading_the_mapping_file_promised_but_the_file_lacks_is_named() -> None:
    with pytest.raises(CensusRefused, match="“Platz”"):
        read("Lager,Initials\n1,RT\n", '[columns]\nbed = "Platz"')


ROWS = st.lists(
    st.tuples(
        st.from_regex(r"\A[0-9][A-Z]-[0-9]{1,2}[A-D]\Z"),
        st.text("ABCDEFGH", min_size=1, max_size=4),
        st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=80, deadline=None)
@given(ROWS, st.sampled_from([",", ";", "\t"]), st.sampled_from(["utf-8-sig", "utf-16"]), st.booleans())
def test_beds_survive_any_free_text_beside_them(
    rows: list[tuple[str, str, str]], delimiter: str, encoding: str, quoted: bool
) -> None:
    """Whatever stands in a column that is not used, properly written rows come in whole, or are named."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL)
    writer.writerow(["Bed", "Initials", "Remarks"])
    writer.writerows(rows)
    census = read_census(out.getvalue().encode(encoding))
    read_back = [(row.bed, row.label) for row in census.rows]
    assert len(read_back) + len(census.cannot_read) >= len(rows)
    assert [pair for pair in read_back if pair not in [(bed, label) for bed, label, _ in rows]] == []


@settings(max_examples=150, deadline=None)
@given(
    st.binary(max_size=200),
    st.sampled_from([b"", b"Bed,Initials\n", b"Bed;Weight (lb)\r\n", b'"Bed"\t"Status"\n']),
)
def test_any_bytes_are_read_or_refused_in_words(junk: bytes, start: bytes) -> None:
    said = "read"
    try:
        read_census(start + junk)
    except CensusRefused as refused:
        said = str(refused)
    assert said == "read" or len(said) > 10
