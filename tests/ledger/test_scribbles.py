"""Bytes overwritten one place after another, and files that are no ledger: each said, none a traceback."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from mobicard.ledger import (
    Entry,
    Ledger,
    LedgerDamaged,
    LedgerError,
    LedgerReadOnly,
    LedgerUnreachable,
    NotALedger,
)
from mobicard.ledger.database.filekind import SQLITE_MAGIC
from mobicard.ledger.database.queries import entry_of
from mobicard.ledger.database.schema import entry
from mobicard.ledger.keeping.restoring import restore
from tests.ledger.places import START, Writer


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A closed ledger with a keeper and twenty patients in it."""
    where = tmp_path / "ledger.sqlite"
    with Ledger.open(where) as ledger:
        write = Writer(ledger)
        for number in range(20):
            write.admit(f"s{number}", f"4W-{number}")
            write.record(f"s{number}", f"4W-{number}", weight_kg=60 + number)
    return where


class Scribbler:
    """A ledger's file to be overwritten again and again, always from the same whole one."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.whole = path.read_bytes()
        self.before = self._read()

    def put(self, at: int, new: bytes) -> None:
        """The whole file but for these bytes, and nothing beside it."""
        for beside in self.path.parent.glob(f"{self.path.name}-*"):
            beside.unlink()
        self.path.write_bytes(self.whole[:at] + new + self.whole[at + len(new) :])

    def said(self) -> str:
        """What opening, reading or verifying says; empty when all is as before. Any other error fails."""
        try:
            with Ledger.open(self.path) as ledger:
                report = ledger.verify()
            return report.says if not report.ok else "" if self._read() == self.before else "READ OTHERWISE"
        except LedgerUnreachable:
            raise  # the file is there; it is its contents that are wrong
        except LedgerError as fault:
            return fault.says

    def _read(self) -> list[Entry]:
        with Ledger.open(self.path) as ledger:
            assert len(ledger.beds()) == 20
            return list(ledger.entries())


@pytest.fixture
def scribbler(path: Path) -> Scribbler:
    return Scribbler(path)


HEADER = {
    "magic": range(16),
    "page size": range(16, 18),
    "write and read version": range(18, 20),
    "reserved space and payload fractions": range(20, 24),
    "change counter and pages": range(24, 32),
    "free pages": range(32, 40),
    "schema cookie and format": range(40, 48),
    "cache and vacuum": range(48, 56),
    "text encoding": range(56, 60),
    "user version to application id": range(60, 72),
    "reserved for expansion": range(72, 92),
    "version valid for": range(92, 100),
}
"""Of the database header, as section 1.3 of sqlite.org/fileformat2.html divides its 100 bytes."""


def test_the_regions_are_the_whole_header() -> None:
    assert [at for region in HEADER.values() for at in region] == list(range(100))


@pytest.mark.parametrize("region", HEADER)
def test_each_byte_of_the_header(scribbler: Scribbler, region: str) -> None:
    """All bits turned, one bit turned, and small numbers a version field may hold: said, or harmless."""
    for at in HEADER[region]:
        there = scribbler.whole[at]
        for value in {there ^ 0xFF, there ^ 0x80, 1, 3} - {there}:
            scribbler.put(at, bytes([value]))
            assert scribbler.said() != "READ OTHERWISE", (at, value)


@pytest.mark.parametrize(
    ("at", "new"),
    [
        (0, b"s"),  # magic
        (16, b"\x00\x07"),  # a page size that is no power of two
        (19, b"\x03"),  # a read version this SQLite may not read
        (20, b"\xff"),  # more reserved space than a page can spare
        (44, b"\x00\x00\x00\x09"),  # a schema format there is none of
        (56, b"\x00\x00\x00\x02"),  # UTF-16, where all text is UTF-8
    ],
)
def test_a_header_no_ledger_can_have_is_said(scribbler: Scribbler, at: int, new: bytes) -> None:
    """Fields as in section 1.3 of sqlite.org/fileformat2.html."""
    scribbler.put(at, new)
    with pytest.raises(LedgerDamaged):
        Ledger.open(scribbler.path).verify()


def test_a_write_version_of_the_future_is_read_and_not_written(scribbler: Scribbler) -> None:
    """Section 1.3.3 of sqlite.org/fileformat2.html: write version above 2 and read version not: read-only."""
    scribbler.put(18, b"\x03")
    assert scribbler.said() == ""
    with Ledger.open(scribbler.path) as ledger, pytest.raises(LedgerReadOnly):
        Writer(ledger).admit("new", "9")


@pytest.mark.parametrize("start", range(5))
def test_bytes_of_no_text_anywhere(scribbler: Scribbler, start: int) -> None:
    """Two bytes that are no UTF-8, every 997 of the file: in the schema, a key, an entry, an index."""
    for at in range(100 + start * 199, len(scribbler.whole) - 2, 997):
        scribbler.put(at, b"\xac\xff")
        assert scribbler.said() != "READ OTHERWISE", at


def schema_names(data: Path) -> list[str]:
    with closing(sqlite3.connect(data)) as raw:
        return [row[0] for row in raw.execute("SELECT name FROM sqlite_master WHERE sql IS NOT NULL")]


def test_a_schema_that_sqlite_can_only_quote_as_bytes(scribbler: Scribbler) -> None:
    """SQLite's complaint names the table; overwritten so that it is no text, no driver can decode it."""
    for name in schema_names(scribbler.path):
        at = scribbler.whole.find(f"{name}".encode() * 2)  # name and tbl_name, side by side
        at = at if at >= 0 else scribbler.whole.find(name.encode())
        scribbler.put(at, b"\xac" * len(name))
        with pytest.raises(LedgerDamaged, match=r"damaged|lacks"):
            Ledger.open(scribbler.path).verify()


def test_no_patients_word_is_in_what_is_said(scribbler: Scribbler) -> None:
    """The driver's complaint about a body quotes the body."""
    at = scribbler.whole.find(b'"bed":"4W-7"')
    scribbler.put(at, b"\xac")
    said = scribbler.said()
    assert "damaged" in said
    assert "4W-7" not in said


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("at", "2026-03-02T07:29:00+00~00"),
        ("at", None),
        ("body", "{"),
        ("body", 7),
        ("version", "x"),
        ("by", b"J"),
    ],
)
def test_a_row_that_makes_no_sense_is_named(column: str, value: object) -> None:
    """SQLite gives back whatever type the file says; the entry is named, whatever reads it."""
    whole = {
        "seq": 7,
        "id": "a",
        "stay": "s",
        "version": 1,
        "kind": "admit",
        "at": "2026-03-02T07:29:00+00:00",
    }
    whole |= {"by": "JN", "schema": 1, "body": "{}", "prev": "0", "hash": "1"}
    assert list(whole) == entry.c.keys()
    assert entry_of(tuple(whole.values())).seq == 7  # type: ignore[arg-type]
    with pytest.raises(LedgerDamaged, match="Entry 7 "):
        entry_of(tuple((whole | {column: value}).values()))  # type: ignore[arg-type]


# -- no ledger at all --------------------------------------------------------------------------------

CSV = "bed,name\n4W-1,RT\n"
EXPORT = '{"format":"mobicard-ledger","schema":2}\n'

NO_LEDGER: dict[str, tuple[Callable[[bytes], bytes], str]] = {
    "csv": (lambda data: CSV.encode(), "is a text file, not a ledger"),
    "csv of a spreadsheet": (lambda data: CSV.encode("utf-8-sig"), "is a text file, not a ledger"),
    "long text": (lambda data: ("äöü €" * 2000).encode(), "is a text file, not a ledger"),
    "one letter": (lambda data: b"x", "is a text file, not a ledger"),
    "json lines": (lambda data: b'{"bed": "4W-1"}\n' * 3, "is a JSON text, not a ledger"),
    "export": (lambda data: EXPORT.encode(), "mobicard ledger restore"),
    "zeros": (lambda data: b"\x00" * len(data), "does not begin as a SQLite database"),
    "magic": (lambda data: b"scribble" + data[8:], "does not begin as a SQLite database"),
    "picture": (lambda data: b"\x89PNG\r\n\x1a\n" + b"\x00" * 90, "does not begin as a SQLite database"),
}


@pytest.mark.parametrize("what", NO_LEDGER)
def test_what_is_no_ledger_is_called_by_its_name_and_left_alone(path: Path, what: str) -> None:
    make, says = NO_LEDGER[what]
    path.write_bytes(make(path.read_bytes()))
    before = path.read_bytes()
    with pytest.raises(NotALedger, match=says) as caught:
        Ledger.open(path)
    assert "damaged" not in caught.value.says, "that is said of a ledger only"
    assert "RT" not in caught.value.says, "what is in it stays in it"
    assert path.read_bytes() == before
    assert [one.name for one in path.parent.iterdir() if one.name.startswith(f"{path.name}-")] == []


def test_a_sqlite_file_with_nothing_after_its_first_line_is_damaged(path: Path) -> None:
    path.write_bytes(SQLITE_MAGIC + b"\x99" * 5000)
    with pytest.raises(LedgerDamaged, match="damaged") as caught:
        Ledger.open(path)
    assert not isinstance(caught.value, NotALedger)


def test_our_export_given_as_ledger_is_restored_as_it_says(path: Path, tmp_path: Path) -> None:
    """The advice in the sentence, followed, gives the ledger back."""
    export = tmp_path / "unit.jsonl"
    with Ledger.open(path) as ledger:
        ledger.export_jsonl(export)
        before = list(ledger.entries())
    with pytest.raises(NotALedger, match=r"mobicard ledger restore .*unit\.jsonl TO"):
        Ledger.open(export)
    with restore(export, tmp_path / "again.sqlite") as again:
        assert list(again.entries()) == before


@pytest.mark.parametrize("contents", [CSV.encode(), json.dumps({"a": 1}).encode(), b"\x00\x01\x02"])
def test_what_is_no_backup_makes_no_ledger(tmp_path: Path, contents: bytes) -> None:
    (tmp_path / "file").write_bytes(contents)
    with pytest.raises(NotALedger, match="neither a backup nor an export"):
        restore(tmp_path / "file", tmp_path / "new.sqlite")
    assert not (tmp_path / "new.sqlite").exists()


@pytest.mark.parametrize("contents", [CSV.encode(), SQLITE_MAGIC + b"\x00" * 84])
def test_what_is_no_export_is_not_imported(tmp_path: Path, contents: bytes) -> None:
    (tmp_path / "file").write_bytes(contents)
    with Ledger.open(tmp_path / "new.sqlite") as ledger:
        with pytest.raises(NotALedger, match="not an export of a ledger"):
            ledger.import_jsonl(tmp_path / "file")
        assert list(ledger.entries()) == []


def test_a_damaged_line_of_the_staff_list_is_said_at_sign_in(tmp_path: Path) -> None:
    with Ledger.open(tmp_path / "unit.sqlite") as ledger:
        ledger.staff.add("KEEP", "keeper", "8402", "KEEP", START)
        for column, value in (("salt", "no hex"), ("cost", "t=3"), ("cost", "t=3,m=x,p=1"), ("salt", "00")):
            with ledger.writing() as connection:
                connection.exec_driver_sql(f"UPDATE person SET {column} = '{value}'")
            with pytest.raises(LedgerDamaged, match="line of these initials is damaged"):
                ledger.sign_in("KEEP", "8402", START)
            assert "KEEP on the staff list" in ledger.verify().says
