"""A bed list as a workbook, written by two libraries that are not ours: the same rows as the CSV file."""

from __future__ import annotations

import io
import subprocess
import zipfile
from collections.abc import Sequence
from datetime import datetime
from typing import Any

import openpyxl
import pytest
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P

from mobicard.exchange.census import sheets, workbook
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.mapping import CensusMapping
from mobicard.exchange.census.rows import Census, CensusRefused

Rows = Sequence[Sequence[Any]]
LIST: Rows = (
    ("Unit 4 West", None, None),
    (),
    ("Bed", "Initials", "Weight (kg)", "Admitted", "Visit No"),
    ("4W-12A", "RT", 82, datetime(2026, 3, 1, 14, 30), 123456),
    ("4W-13", "ÖÉ", 70.5, datetime(2026, 3, 2), "V2"),
    ("Total: 2",),
)


def xlsx(**sheets: Rows) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name.replace("_", " "))
        for number, row in enumerate(rows, start=1):
            for column, value in enumerate(row, start=1):
                sheet.cell(number, column, value)
        sheet.sheet_state = "hidden" if name.startswith("hidden") else "visible"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods(**sheets: Rows) -> bytes:
    book = OpenDocumentSpreadsheet()
    for name, rows in sheets.items():
        table = Table(name=name)
        book.spreadsheet.addElement(table)
        for row in rows:
            line = TableRow()
            table.addElement(line)
            for value in row or (None,):
                line.addElement(_ods_cell(value))
    out = io.BytesIO()
    book.write(out)
    return out.getvalue()


def _ods_cell(value: Any) -> TableCell:
    if value is None:
        return TableCell()
    if isinstance(value, datetime):
        return TableCell(valuetype="date", datevalue=value.isoformat())
    if isinstance(value, int | float):
        return TableCell(valuetype="float", value=value)
    cell = TableCell(valuetype="string")
    cell.addElement(P(text=value))
    return cell


def read(data: bytes, mapping: str = "") -> Census:
    return read_census(data, CensusMapping.from_toml(mapping), salt=b"salt")


@pytest.mark.parametrize("write", [xlsx, ods])
def test_the_sheet_and_the_heading_row_are_found_and_the_rows_are_those_of_the_csv(write: Any) -> None:
    census = read(write(Notes=(("call the ward clerk",),), Beds=LIST))
    text = (
        "Unit 4 West\n\nBed,Initials,Weight (kg),Admitted,Visit No\n4W-12A,RT,82,2026-03-01 14:30,123456\n"
        "4W-13,ÖÉ,70.5,2026-03-02,V2\nTotal: 2\n"
    )
    assert census.rows == read(text.encode()).rows
    assert [(row.bed, row.weight_kg) for row in census.rows] == [("4W-12A", 82), ("4W-13", 70.5)]
    assert "read from the sheet “Beds”" in census.notes


@pytest.mark.parametrize("write", [xlsx, ods])
def test_a_bed_that_a_spreadsheet_made_a_date_of_is_asked_about(write: Any) -> None:
    """Bed 3-2 typed into a cell that is no text; its row is the sheet's own."""
    census = read(write(Beds=(("Bed", "Initials"), ("4W-1", "RT"), (datetime(2026, 3, 2), "AB"))))
    assert [(bad.line, "looks like a date" in bad.why) for bad in census.cannot_read] == [(3, True)]


def test_blank_cells_below_a_merged_unit_are_filled_from_above() -> None:
    book = openpyxl.Workbook()
    for row in (("Unit", "Bed", "Initials"), ("4W", "1", "RT"), (None, "2", "AB")):
        book.active.append(row)
    book.active.merge_cells("A2:A3")
    out = io.BytesIO()
    book.save(out)
    assert [row.bed for row in read(out.getvalue()).rows] == ["4W-1", "4W-2"]


def test_a_hidden_sheet_is_not_meant_and_two_lists_are_a_question() -> None:
    assert len(read(xlsx(hidden_old=LIST, Beds=LIST[:5])).rows) == 2
    with pytest.raises(CensusRefused, match="more than one sheet is a bed list: “Day”, “Night”"):
        read(xlsx(Day=LIST, Night=LIST))


def test_a_line_break_in_a_cell_stays_in_its_row() -> None:
    census = read(xlsx(Beds=(("Bed", "Initials", "Note"), ("4W-1", "RT", "one\ntwo"), ("4W-2", "AB", None))))
    assert [(row.line, row.bed) for row in census.rows] == [(2, "4W-1"), (3, "4W-2")]


def packed(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in members.items():
            target.writestr(name.replace("__", "/").replace("_xml", ".xml"), data)
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"PK\x03\x04 rest", "damaged"),
        (b"\xd0\xcf\x11\xe0 rest", "cannot be read"),
        (packed(letter=b"dear"), "no workbook; unpack it"),
        (packed(xl__workbook_xml=b"<torn"), "cannot be read"),
        (packed(xl__workbook_xml=b"0" * (257 * 2**20)), "more than 256 MB"),
        (xlsx(Beds=(("Name", "Age"), ("a", 3))), "no sheet of the workbook says which bed"),
    ],
    ids=["zip", "old", "other", "torn", "bomb", "no bed"],
)
def test_what_is_no_list_is_refused_in_words(data: bytes, says: str) -> None:
    with pytest.raises(CensusRefused, match=says):
        read(data)


def test_a_damaged_workbook_whose_reading_never_ends_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A table that is not closed sends the reader round and round; found by tests/bench/mutated.py."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(ods(Beds=LIST))) as whole, zipfile.ZipFile(out, "w") as torn:
        for name in whole.namelist():
            torn.writestr(name, whole.read(name).replace(b"</table:table>", b"</table:table"))
    monkeypatch.setattr(workbook, "MOST_WAIT_S", 1.0)
    with pytest.raises(CensusRefused, match="cannot be read: it is damaged") as refused:
        read(out.getvalue())
    assert isinstance(refused.value.__context__, subprocess.TimeoutExpired)


def test_a_stray_cell_far_out_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "MOST_CELLS", 20)
    assert "“Beds” reaches far beyond a bed list" in str(sheets.sheets(xlsx(Beds=LIST)))


def test_without_the_library_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbook, "find_spec", lambda _name: None)
    with pytest.raises(CensusRefused, match=r"mobicard\[spreadsheet\]"):
        read(xlsx(Beds=LIST))
