"""A bed list as a spreadsheet or a hospital system really saves it: bytes in, rows out.

``read_census(data, mapping=None, *, salt=b"") -> Census``. Raises CensusRefused when the file as a whole is
no bed list. Names are turned to initials and visit numbers to keyed hashes while reading; neither is kept.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from mobicard.exchange.census import cells
from mobicard.exchange.census.mapping import CensusMapping, columns_by_heading, heading_key, unit_in_heading
from mobicard.exchange.census.not_a_patient import is_footer, is_heading, names_nobody, says_free
from mobicard.exchange.census.one_unit import ELSEWHERE, bed_or_elsewhere
from mobicard.exchange.census.rows import Census, CensusRefused, CensusRow, Unreadable
from mobicard.exchange.census.workbook import as_csv, is_workbook
from mobicard.facts.text import in_unit

_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_NOT_TEXT = (
    (b"%PDF", "a PDF"),
    (b"{\\rtf", "a word processor's file"),
)
_HEADER_WITHIN = 25
_LABEL_MAX = 12


def read_census(data: bytes, mapping: CensusMapping | None = None, *, salt: cells.Secret = b"") -> Census:
    """The rows of a bed list; lines that cannot be read are named, the others go on. A torn file is refused.

    ``salt`` keys the hash of visit numbers: give the same secret each time, or patients are not found again.
    """
    mapping = mapping or CensusMapping()
    text, encoding, sheet = _read(data, mapping)
    mapping = replace(mapping, delimiter=",") if sheet else mapping
    table = _table(text, mapping)
    reader = _Reader(table, mapping, salt)
    rows: list[CensusRow] = []
    unread: list[Unreadable] = []
    for line, row in table.rows:
        try:
            read = reader.row(line, row)
        except cells.CellRefused as refused:
            unread.append(Unreadable(line, str(refused), reader.bed_or_none(row)))
            continue
        if read:
            rows.append(read)
    notes = [] if encoding.startswith("utf") else [f"read as {encoding}; check accented letters"]
    notes += [f"read from the sheet “{cells.shown(sheet)}”"] if sheet else []
    if not rows and not unread:
        raise CensusRefused("the file has headings but no beds below them; export the list again")
    return Census(tuple(rows), tuple(unread), (*notes, *reader.notes()))


def _read(data: bytes, mapping: CensusMapping) -> tuple[str, str, str | None]:
    """The text of a list, how it was read, and of a workbook the sheet."""
    if not is_workbook(data):
        return *_decoded(data, mapping.encoding), None
    text, sheet = as_csv(data, lambda text: _is_list(text, replace(mapping, delimiter=",")))
    return text, "utf-8", sheet


def _is_list(text: str, mapping: CensusMapping) -> bool:
    try:
        return bool(_table(text, mapping).rows)
    except CensusRefused:
        return False


def _decoded(data: bytes, encoding: str | None) -> tuple[str, str]:
    if not data.strip(b"\x00 \t\r\n\xef\xbb\xbf"):
        raise CensusRefused("the file is empty; export the bed list again")
    for start, what in _NOT_TEXT:
        if data.startswith(start):
            raise CensusRefused(f"the file is {what}, not a CSV file; open it and save it as “CSV UTF-8”")
    for bom, name in _BOMS:
        if data.startswith(bom):
            encoding = encoding or name
    for name in [encoding] if encoding else ["utf-8", "cp1252", "latin-1"]:
        try:
            text = data.decode(name)
        except UnicodeDecodeError:
            continue
        except LookupError:
            raise CensusRefused(f"options.encoding “{name}” is not known; write utf-8 or cp1252") from None
        return text.lstrip("\ufeff").replace("\x00", ""), name
    raise CensusRefused(f"the file is not written in {encoding}; save it as “CSV UTF-8”")


@dataclass(frozen=True, slots=True)
class _Table:
    headings: list[str]
    columns: Mapping[str, int]
    rows: list[tuple[int, list[str]]]


def _table(text: str, mapping: CensusMapping) -> _Table:
    """The table with the delimiter under which its heading row says most."""
    lines = re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+", text)
    skip = 0
    told = re.match(r"(?i)sep=(.)\s*$", lines[0]) if lines else None
    if told:
        skip = 1
    delimiters = [mapping.delimiter or (told[1] if told else "")]
    if not delimiters[0]:
        delimiters = [",", ";", "\t", "|"]
    best: tuple[int, int, str, list[str]] | None = None
    for delimiter in delimiters:
        for place, row in _first(lines[: skip + 4 * _HEADER_WITHIN], skip, delimiter):
            found = _columns(row, mapping)
            if "bed" in found or "room" in found:
                score = len(found)
                if best is None or score > best[0]:
                    best = (score, place, delimiter, row)
    if best is None:
        raise CensusRefused(_no_bed_column(lines[skip : skip + 1], mapping))
    _, start, delimiter, headings = best
    columns = _columns(headings, mapping)
    rows = []
    for line, last, row in _records(lines, start - 1, delimiter):
        if last > line and line > start and _swallows(row, delimiter, columns, len(headings)):
            raise _torn(line)
        rows += [(line, row)] if line > start else []
    return _Table(headings, columns, rows)


def _first(lines: list[str], skip: int, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """The records in which the headings may be; no more from where this delimiter makes no sense."""
    with suppress(CensusRefused):
        for line, _, row in _records(lines, skip, delimiter):
            if line > skip + _HEADER_WITHIN:
                return
            yield line, row


def _no_bed_column(first: Sequence[str], mapping: CensusMapping) -> str:
    seen = f"Its first line has {len(first[0].strip()) if first else 0} signs"  # not them: it may be any file
    named = mapping.columns.get("bed")
    if named:
        return f"the mapping file names “{named}” for the bed; no such heading. {seen}"
    return (
        "no column says which bed; name it “Bed” or write a mapping file with [columns] bed = “the heading”. "
        f"{seen}"
    )


def _columns(headings: Sequence[str], mapping: CensusMapping) -> dict[str, int]:
    """Fact -> column, the mapping file's word before the heading's own; a template needs all its headings."""
    keys = [heading_key(heading) for heading in headings]
    found = columns_by_heading(headings)
    for fact, heading in mapping.columns.items():
        found.pop(fact, None)
        if fact == "bed" and "{" in heading:
            if all(heading_key(part) in keys for part in re.findall(r"\{([^}]*)\}", heading)):
                found["bed"] = -1
        elif heading_key(heading) in keys:
            found[fact] = keys.index(heading_key(heading))
    return found


def _records(lines: list[str], skip: int, delimiter: str) -> Iterator[tuple[int, int, list[str]]]:
    """(first line, last line, cells) of each record that says anything, read strictly.

    Raises CensusRefused for a torn one: what a quotation mark swallowed is somebody else's line.
    """
    reader = csv.reader(iter(lines[skip:]), delimiter=delimiter, strict=True)
    first = skip + 1
    while True:
        try:
            record = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise _torn(first) from None
        last = skip + reader.line_num
        if any(cell.strip() for cell in record):
            yield first, last, record
        first = last + 1


def _torn(line: int) -> CensusRefused:
    return CensusRefused(
        f"line {line} is torn: a quotation mark on it does not close where its cell ends. Nothing was taken; "
        "mend the line or export the list again"
    )


def _swallows(record: Sequence[str], delimiter: str, columns: Mapping[str, int], width: int) -> bool:
    """Whether a cell holds what look like further rows, or a cell that says who or where has a line break."""
    broken = {place for place, cell in enumerate(record) if "\n" in cell.strip() or "\r" in cell.strip()}
    pieces = [piece for place in broken for piece in re.split(r"[\r\n]+", record[place])[1:]]
    whole = width > 2 and any(piece.count(delimiter) >= width - 1 for piece in pieces)
    return whole or bool(broken & set(columns.values()))


class _Reader:
    """Turns the cells of one row into facts, by the table's columns and the mapping's options."""

    def __init__(self, table: _Table, mapping: CensusMapping, salt: cells.Secret) -> None:
        self.columns = table.columns
        self.headings = table.headings
        self.mapping = mapping
        self.salt = salt
        self.unit = mapping.weight_unit or self._heading_unit()
        self.pattern = mapping.columns.get("bed", "") if table.columns.get("bed") == -1 else None
        self.by_heading = {heading_key(heading): place for place, heading in enumerate(table.headings)}
        self.has_identity = bool({"label", "name", "visit", "status"} & set(table.columns))
        self.order = mapping.dates or self._order(table)
        self.above: dict[int, str] = {}
        self.passed_over: list[int] = []

    def notes(self) -> list[str]:
        """How the file was read, for the preview."""
        used = [
            f"{fact} from “{self.headings[place].strip()}”"
            for fact, place in self.columns.items()
            if place >= 0
        ]
        over = ", ".join(map(str, self.passed_over))
        footers = [f"passed over, headings or totals: line {over}"] if over else []
        return (["columns: " + ", ".join(used)] if used else []) + footers

    def row(self, line: int, row: list[str]) -> CensusRow | None:
        """One row, or None for a blank one. Raises CellRefused."""
        if self._is_footer(row) or is_heading(row, self.headings):
            self.passed_over.append(line)
            return None
        notes: list[str] = []
        row = self._filled_down(row, notes)
        bed = self._bed(row)
        if bed and self.mapping.only and not in_unit(bed, self.mapping.only):
            return self._elsewhere(line, row)
        who = self._who(row, notes)
        left = self._dates("discharged_at", row, notes)
        weight = self._or_note(lambda: self._weight(row), notes)
        if not bed and not any((*who, left, weight)):
            return None
        label, visit = who
        state = self._state(row, occupied=bool(label or visit or weight or not self.has_identity))
        if not label and (visit or weight) and self._named_free(row):
            raise cells.CellRefused("its name says the bed is free, but a visit or a weight stands there")
        at = self._dates("admitted_at", row, notes)
        came_from = self._cell("from_bed", row)
        return CensusRow(
            line=line,
            bed=cells.bed(bed),
            state=state,
            label=label or None,
            stay=cells.stay_of(visit, self.salt) if visit else None,
            from_bed=bed_or_elsewhere(came_from, self.mapping.only) if came_from else None,
            weight_kg=weight,
            at=at[0] if len(at) == 1 else None,
            discharge_times=left,
            notes=tuple(notes),
        )

    def _elsewhere(self, line: int, row: list[str]) -> CensusRow:
        """A row of another unit: only who it is counts, and the bed left."""
        label, visit = self._who(row, [])
        came_from = self._cell("from_bed", row)
        return CensusRow(
            line=line,
            bed=ELSEWHERE,
            label=label or None,
            stay=cells.stay_of(visit, self.salt) if visit else None,
            from_bed=bed_or_elsewhere(came_from, self.mapping.only) if came_from else None,
        )

    def bed_or_none(self, row: list[str]) -> str | None:
        """The bed of a row that could not be read, when at least that can be."""
        try:
            return cells.bed(self._bed(row))
        except cells.CellRefused:
            return None

    def _heading_unit(self) -> str | None:
        place = self.columns.get("weight")
        return unit_in_heading(self.headings[place]) if place is not None else None

    def _raw(self, fact: str, row: list[str]) -> str:
        place = self.columns.get(fact)
        return row[place] if place is not None and place < len(row) else ""

    def _cell(self, fact: str, row: list[str]) -> str:
        return cells.text(self._raw(fact, row))

    def _bed(self, row: list[str]) -> str:
        if self.pattern is None:
            place = self._cell("bed", row)
            return cells.compose_bed(self._cell("unit", row), self._cell("room", row), place)
        found = [cells.text(row[place]) if place < len(row) else "" for place in self._pattern_places()]
        if not any(found):
            return ""
        values = iter(found)
        return re.sub(r"\{[^}]*\}", lambda _: next(values), self.pattern)

    def _pattern_places(self) -> list[int]:
        return [self.by_heading[heading_key(part)] for part in re.findall(r"\{([^}]*)\}", self.pattern or "")]

    def _who(self, row: list[str], notes: list[str]) -> tuple[str, str]:
        """(label, visit number); a name becomes initials here and goes no further."""
        label = self._cell("label", row)
        if len(label) > _LABEL_MAX:
            notes.append(f"the label is longer than {_LABEL_MAX} characters and was left out")
            label = ""
        if not label and not self._named_free(row):
            label = cells.initials(self._cell("name", row), self._cell("first_name", row))
        return "" if says_free(label) else label, self._cell("visit", row)

    def _named_free(self, row: list[str]) -> bool:
        """Whether what stands for the patient says that there is none: vacant, frei, libre."""
        said = (self._raw(fact, row).strip("-*. ") for fact in ("label", "name", "first_name"))
        return says_free(" ".join(filter(None, said)))

    def _is_footer(self, row: list[str]) -> bool:
        """Whether a total or a signature stands where the bed should, and nobody beside it."""
        places = [self.columns[fact] for fact in ("bed", "unit", "room") if self.columns.get(fact, -1) >= 0]
        said = [row[place] for place in places if place < len(row) and is_footer(row[place])]
        nobody = all(names_nobody(self._raw(fact, row)) for fact in ("label", "name", "first_name", "visit"))
        if said and not nobody and is_footer(self._raw("bed", row)):
            raise cells.CellRefused("looks like a total or a footer, but names somebody; nothing is taken")
        return bool(said) and nobody

    def _weight(self, row: list[str]) -> float | None:
        cells.ask_unless_plausible(self._raw("weight", row), self.unit)
        return cells.weight_kg(self._raw("weight", row), self.unit)

    def _filled_down(self, row: list[str], notes: list[str]) -> list[str]:
        """The row with unit and room of the line above where merged cells left them blank."""
        places = [self.columns[fact] for fact in ("unit", "room") if fact in self.columns]
        filled = list(row)
        if not self._cell("bed", row) and not self._cell("room", row):
            return filled
        for place in places:
            if place >= len(row) or row[place].strip():
                break
            filled[place] = self.above.get(place, "")
        self.above = {place: filled[place] for place in places if place < len(filled)}
        if filled != row:
            notes.append("unit or room is blank and was taken from the line above")
        return filled

    def _state(self, row: list[str], *, occupied: bool) -> Literal["present", "discharge", "empty"]:
        word = self._cell("status", row)
        state = self.mapping.state_of(word) if word else None
        if word and state is None:
            raise cells.CellRefused(
                f"the status “{cells.shown(word)}” is not known; say under [words] of a mapping file what it "
                "means"
            )
        if state == "discharge":
            return "discharge"
        return "empty" if state == "empty" or not occupied else "present"

    def _dates(self, fact: str, row: list[str], notes: list[str]) -> tuple[datetime, ...]:
        raw = self._raw(fact, row)
        try:
            ways = cells.dates(raw)
        except cells.CellRefused as refused:
            if fact == "discharged_at":
                raise
            notes.append(f"{refused}; left out")
            return ()
        if len(ways) == 2 and self.order:
            return ways[:1] if self.order == "dmy" else ways[1:]
        return ways

    def _order(self, table: _Table) -> str | None:
        """``dmy`` or ``mdy`` where one date of the file can only be read that way and none the other way."""
        seen: set[str] = set()
        for fact in ("admitted_at", "discharged_at"):
            for _, row in table.rows:
                found = re.match(r"\s*(\d{1,2})[/.\-](\d{1,2})[/.\-]\d{2}", self._raw(fact, row))
                if found and int(found[1]) > 12:
                    seen.add("dmy")
                if found and int(found[2]) > 12:
                    seen.add("mdy")
        return seen.pop() if len(seen) == 1 else None

    @staticmethod
    def _or_note(read: Callable[[], float | None], notes: list[str]) -> float | None:
        try:
            return read()
        except cells.CellRefused as refused:
            notes.append(f"{refused}; left out")
            return None
