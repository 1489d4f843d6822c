"""Admissions, transfers and discharges from HL7 v2 ADT messages in a file, as rows of a bed list.

``read_hl7(data, *, salt=b"") -> Census``: A01 admit, A02 transfer, A03 discharge, A08 update; what several
messages say of one visit is told by the last of them. Segments and fields after HL7 v2.5.1 chapter 3: EVN-2
and MSH-7 time, PV1-19, PID-18 or PID-3 visit, PID-5 name, PV1-3 and PV1-6 assigned and prior bed, OBX weight
by LOINC 29463-7. A message that cannot be read is named by its line and segment; the others go on. Messages
are never a whole list: nobody is discharged for not being mentioned.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import hl7

from mobicard.exchange.census import cells
from mobicard.exchange.census.rows import Census, CensusRefused, CensusRow, Unreadable

EVENTS = {"A01": "admit", "A02": "transfer", "A03": "discharge", "A08": "update"}
_WEIGHT_LOINC = "29463-7"


class MessageRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A message that cannot be read; the text starts with the segment."""


@dataclass(frozen=True, slots=True)
class AdtMessage:
    """What one message says, with the line its MSH stands on."""

    line: int
    event: str
    at: datetime | None
    bed: str | None
    from_bed: str | None
    visit: str | None
    label: str | None
    weight_kg: float | None
    notes: tuple[str, ...] = ()


def looks_like_hl7(data: bytes) -> bool:
    """Whether a file starts like HL7 v2: a message, batch or file header, maybe after a block character."""
    return bool(re.match(rb"[\xef\xbb\xbf\x0b\s]*(MSH|FHS|BHS)[^\w\s]", data))


def read_hl7(data: bytes, *, salt: bytes = b"") -> Census:
    """The net rows of a file of ADT messages. Raises CensusRefused when it holds none.

    ``salt`` keys the hash of visit numbers, as for CSV lists.
    """
    messages: list[AdtMessage] = []
    unread: list[Unreadable] = []
    for line, text in _split(_decoded(data)):
        try:
            messages.append(read_message(text, line))
        except (MessageRefused, cells.CellRefused) as refused:
            unread.append(Unreadable(line, f"message at line {line}, {refused}"))
    if not messages and not unread:
        raise CensusRefused("the file holds no HL7 message; each starts with a line MSH|^~\\&|…")
    rows, notes = _net(messages, salt)
    return Census(tuple(rows), tuple(unread), tuple(notes), whole=False)


def read_message(text: str, line: int = 1) -> AdtMessage:
    """One ADT message. Raises MessageRefused naming the segment and field."""
    try:
        message = hl7.parse(text)
    except Exception as wrong:  # the parser raises many kinds for malformed text
        raise MessageRefused(f"segment MSH: not a message ({type(wrong).__name__}); send it again") from None
    kind, event = _part(message, "MSH", 9, 1), _part(message, "MSH", 9, 2) or _part(message, "EVN", 1)
    if kind != "ADT" or event not in EVENTS:
        raise MessageRefused(
            f"segment MSH: {kind or 'no type'}^{event or 'no event'} is not read here; read are ADT "
            f"{', '.join(EVENTS)}. Do it by hand"
        )
    for segment in ("PID", "PV1"):
        if not _segments(message, segment):
            raise MessageRefused(f"segment {segment} is missing")
    notes: list[str] = []
    bed = _bed(message, 3)
    if bed is None and EVENTS[event] in ("admit", "transfer"):
        raise MessageRefused("segment PV1: field 3, the assigned bed, is empty")
    name = _part(message, "PID", 5, 1)
    return AdtMessage(
        line=line,
        event=EVENTS[event],
        at=_time(message, notes),
        bed=bed,
        from_bed=_bed(message, 6),
        visit=_visit(message),
        label=cells.initials(name, _part(message, "PID", 5, 2)) or None,
        weight_kg=_weight(message, notes),
        notes=tuple(notes),
    )


def _decoded(data: bytes) -> str:
    for name in ("utf-8-sig", "cp1252"):
        try:
            return data.decode(name)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


def _split(text: str) -> list[tuple[int, str]]:
    """(line of its MSH, text with CR between segments) of each message; wrappers are dropped."""
    found: list[tuple[int, list[str]]] = []
    for number, raw in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        line = raw.strip("\x0b\x1c \t\ufeff")
        if re.match(r"(FHS|BHS|BTS|FTS)\W", line) or not line:
            continue
        if line.startswith("MSH") or not found:
            found.append((number, []))
        found[-1][1].append(line)
    return [(number, "\r".join(lines) + "\r") for number, lines in found]


def _segments(message: Any, name: str) -> list[Any]:
    try:
        return list(message.segments(name))
    except KeyError:
        return []


def _part(message: Any, segment: str, field: int, component: int = 1, which: int = 0) -> str:
    """A component as text, escapes undone; "" wherever the message stops short. HL7's "" is empty too."""
    try:
        place = _segments(message, segment)[which]
        if segment == "MSH" and field < 3:
            return ""
        value = place.extract_field(1, field, 1, component, 1)
        value = message.unescape(str(value))
    except (IndexError, KeyError, AttributeError, ValueError, LookupError):
        return ""
    return "" if value == '""' else cells.text(value)


def _bed(message: Any, field: int) -> str | None:
    """PV1-3 or PV1-6, point of care ^ room ^ bed, as the unit writes it."""
    unit, room, place = (_part(message, "PV1", field, component) for component in (1, 2, 3))
    if not room and not place:
        return None
    try:
        return cells.bed(cells.compose_bed(unit, room, place))
    except cells.CellRefused as refused:
        raise MessageRefused(f"segment PV1: field {field}, {refused}") from None


def _time(message: Any, notes: list[str]) -> datetime | None:
    """EVN-2, else MSH-7, as wall clock: a zone offset is dropped, the sender's hour stays."""
    raw = _part(message, "EVN", 2) or _part(message, "MSH", 7)
    bare = re.sub(r"[+-]\d{4}$", "", raw).split(".")[0]
    for form, length in (("%Y%m%d%H%M%S", 14), ("%Y%m%d%H%M", 12), ("%Y%m%d", 8)):
        if len(bare) == length:
            try:
                return datetime.strptime(bare, form)
            except ValueError:
                break
    if raw:
        notes.append(f"the time “{raw[:24]}” in EVN-2 cannot be read; left out")
    return None


def _visit(message: Any) -> str | None:
    for segment, field in (("PV1", 19), ("PID", 18), ("PID", 3)):
        if number := _part(message, segment, field):
            return number
    return None


def _weight(message: Any, notes: list[str]) -> float | None:
    for which in range(len(_segments(message, "OBX"))):
        if _part(message, "OBX", 3, 1, which) == _WEIGHT_LOINC:
            figure, unit = _part(message, "OBX", 5, 1, which), _part(message, "OBX", 6, 1, which)
            word = {"kg": "kg", "lb": "lb", "lbs": "lb", "[lb_av]": "lb"}.get(unit.casefold(), unit)
            try:
                return cells.weight_kg(f"{figure} {word}".strip(), None)
            except cells.CellRefused as refused:
                notes.append(f"OBX: {refused}; left out")
    return None


def _net(messages: Iterable[AdtMessage], salt: bytes) -> tuple[list[CensusRow], list[str]]:
    """One row for each visit: where the last message leaves it. Told in order of time, then of the file."""
    rows: dict[str, CensusRow] = {}
    notes: list[str] = []
    for message in sorted(messages, key=lambda each: (each.at.isoformat() if each.at else "", each.line)):
        stay = cells.stay_of(message.visit, salt) if message.visit else None
        key = stay or f"bed {cells.bed_key(message.from_bed or message.bed or '')}"
        before = rows.pop(key, None)
        row = _after(message, stay, before)
        if row is None:
            notes.append(f"message at line {message.line}: an update without a bed says nothing here")
            if before:
                rows[key] = before
            continue
        if before:
            notes.append(f"message at line {before.line}: overtaken by the one at line {message.line}")
        rows[key if stay else f"bed {cells.bed_key(row.bed)}"] = row
    return list(rows.values()), notes


def _after(message: AdtMessage, stay: str | None, before: CensusRow | None) -> CensusRow | None:
    """The row of a visit after one more message; None where there is no bed to speak of."""
    bed = message.bed or (before.bed if before else None) or message.from_bed
    if bed is None:
        return None
    gone: Literal["present", "discharge"] = "discharge" if message.event == "discharge" else "present"
    if message.event == "update" and before and before.state == "discharge":
        gone = "discharge"
    arrived = before is not None and message.event == "update"
    return CensusRow(
        line=message.line,
        bed=bed,
        state=gone,
        label=message.label or (before.label if before else None),
        stay=stay,
        from_bed=before.from_bed if before else (message.from_bed if message.event == "transfer" else None),
        weight_kg=message.weight_kg or (before.weight_kg if before else None),
        at=before.at if arrived and before else message.at,
        event_at=message.at,
        notes=message.notes,
        admits=message.event != "update" or (before is not None and before.admits),
    )
