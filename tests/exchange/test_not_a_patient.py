"""Lines of real bed lists that are nobody: right, or a question, never a patient."""

from __future__ import annotations

import pytest

from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.preview import preview
from mobicard.exchange.census.rows import Census


def read(text: str) -> Census:
    return read_census(text.encode(), salt=b"a secret of the unit")


def present(census: Census) -> list[tuple[str, str | None]]:
    return [(row.bed, row.label) for row in census.rows if row.state == "present"]


@pytest.mark.parametrize(
    "line",
    [
        "Total: 1,,",
        "Total patients,1,",
        "Printed 02/03/2026 07:10,,",
        "Page 1 of 1,,",
        "Gesamt,,",
        "Bed,Name,Visit",
    ],
)
def test_a_total_a_footer_or_a_heading_is_passed_over_and_named(line: str) -> None:
    census = read(f'Bed,Name,Visit\n5N-01,"Doe, Jane",V1\n{line}\n5N-02,"Roe, Rich",V2\n')
    assert [row.bed for row in census.rows] == ["5N-01", "5N-02"]
    assert "passed over, headings or totals: line 3" in census.notes
    assert not census.cannot_read


def test_who_has_the_name_of_a_footer_is_a_patient() -> None:
    """Page and Total are surnames too; only where the bed should stand are they a footer."""
    census = read('Name,Bed,Visit\n"Page, Anna",5N-01,V1\n"Total, Tom",5N-02,V2\n')
    assert present(census) == [("5N-01", "AP"), ("5N-02", "TT")]


def test_a_footer_that_names_somebody_is_a_question() -> None:
    census = read('Bed,Name\n5N-01,"Doe, Jane"\nTotal,"Roe, Rich"\n')
    assert [each.line for each in census.cannot_read] == [3]
    assert present(census) == [("5N-01", "JD")]


@pytest.mark.parametrize(
    "name",
    [
        "VACANT",
        "Empty bed",
        "*** VACANT ***",
        "frei",
        "- frei -",
        "Bett frei",
        "libre",
        "cama vacía",
        "Clean",
    ],
)
def test_a_bed_whose_name_says_it_is_free_is_empty(name: str) -> None:
    assert [row.state for row in read(f"Bed,Name\n5N-01,{name}\n").rows] == ["empty"]


def test_a_person_of_such_a_name_is_a_patient_and_a_free_bed_with_a_visit_a_question() -> None:
    assert present(read('Bed,Name\n5N-01,"Frei, Hans"\n')) == [("5N-01", "HF")]
    census = read("Bed,Name,Visit\n5N-01,Frei,V1\n")
    assert "says the bed is free" in census.cannot_read[0].why


@pytest.mark.parametrize(
    ("word", "state"),
    [
        ("belegt", "present"),
        ("entlassen", "discharge"),
        ("leer", "empty"),
        ("ocupada", "present"),
        ("alta", "discharge"),
    ],
)
def test_german_and_spanish_words_of_a_status(word: str, state: str) -> None:
    census = read(f"Bett,Nachname,Fallnummer,Status\n5N-01,Doe,V1,{word}\n")
    assert [row.state for row in census.rows] == [state]


def test_merged_cells_keep_the_unit_and_room_of_the_line_above() -> None:
    """A patient in “12B” of nowhere would be in the wrong bed; another unit does not inherit the room."""
    text = 'Unit,Room,Bed,Name\n5N,12,A,"Doe, J"\n,,B,"Roe, R"\n,13,A,"Poe, P"\n4W,,C,"Moe, M"\n'
    assert [row.bed for row in read(text).rows] == ["5N-12A", "5N-12B", "5N-13A", "4W-C"]


@pytest.mark.parametrize(
    ("unit", "figure", "kg"),
    [
        ("kg", "180", 180.0),
        ("kg", "181", None),
        ("kg", "181 lb", 82.1),
        ("lb", "180", 81.647),
        ("lb", "62", None),
    ],
)
def test_a_weight_unlikely_for_its_columns_unit_is_asked(unit: str, figure: str, kg: float | None) -> None:
    """181 lb is 82.100 kg and 180 lb 81.647 kg: NIST SP 811 (2008), appendix B.8."""
    row = read(f"Bed,Initials,Weight ({unit})\n5N-01,JD,{figure}\n").rows[0]
    assert row.weight_kg == kg
    assert bool(row.notes) == (kg is None)


@pytest.mark.parametrize(
    "text", ['Bed,Status\n5N-01,"Doe, Jane"\n', 'Bed,Name\n"Doe, Jane Elizabeth",5N-01\n']
)
def test_a_refusal_repeats_no_name(text: str) -> None:
    (refused,) = read(text).cannot_read
    assert "Doe" not in refused.why
    assert "Jane" not in refused.why


def test_the_preview_says_what_is_written() -> None:
    """Initials and the weight with both units."""
    seen = preview(read("Bed,Initials,Weight (kg)\n5N-01,JD,82\n"), ())
    assert seen.admit[0].says == "5N-01: new patient JD 82.0 kg (180 lb), not assessed yet"
