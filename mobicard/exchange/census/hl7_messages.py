"""Admissions, transfers, discharges and their withdrawals from HL7 v2 ADT messages, as rows of a bed list.

``read_hl7(data, *, salt=b"") -> Census``: what several messages say of one visit is told by the last of them.
Segments, fields and events after HL7 v2.5.1 chapter 3: EVN-2 and MSH-7 time, PV1-19, PID-18 or PID-3 visit,
PID-5 name, PV1-3 and PV1-6 assigned and prior bed, OBX weight by LOINC. A message that cannot be read
is named by its line and segment and holds its own visit; the others go on. Messages are never a whole list:
nobody is discharged for not being mentioned.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

import hl7
import hl7.containers
import hl7.util

from mobicard.exchange.census import cells
from mobicard.exchange.census.hl7_weight import newest_weight
from mobicard.exchange.census.one_unit import ELSEWHERE, bed_or_elsewhere
from mobicard.exchange.census.rows import Census, CensusRefused, CensusRow, Merge, Unreadable
from mobicard.facts.text import in_unit

Event = Literal["admit", "transfer", "discharge", "update"]

EVENTS: dict[str, Event] = {
    "A01": "admit",
    "A02": "transfer",
    "A03": "discharge",
    "A06": "admit",
    "A07": "discharge",
    "A08": "update",
    "A11": "discharge",
    "A12": "transfer",
    "A13": "admit",
    "A17": "transfer",
}
"""What each trigger event comes to for the beds. A11 to A13 withdraw an admission, a transfer, a discharge:
PV1-3 is where the patient is after that. A06 an outpatient becomes an inpatient, A07 the other way; A17 two
patients change beds."""

SAYS = {
    "A07": "now an outpatient (A07)",
    "A11": "the admission is withdrawn (A11)",
    "A12": "the transfer is withdrawn (A12)",
    "A13": "the discharge is withdrawn (A13)",
}
NOT_ADMITTED = {"A04": "registered only, not admitted", "A05": "announced only, not admitted"}
_MERGE = "A40"
_NOT_REAL = {"T": "test", "D": "debug"}
"""Processing ids (MSH-11) of messages that tell of no patient: HL7 table 0103."""


for parser in (hl7.util, hl7.containers):
    parser.logger.disabled = True  # it writes the fields it stumbles on, names among them


class MessageRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A message that cannot be read; the text starts with the segment."""


class PassedOver(Exception):  # noqa: N818 - no error: the message is none of ours
    """A message that says nothing about who lies where; the text is what it is, to be counted."""


@dataclass(frozen=True, slots=True)
class AdtMessage:
    """What one message says, with the line its MSH stands on."""

    line: int
    event: Event
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


def read_hl7(data: bytes, *, salt: cells.Secret = b"", only: str | None = None) -> Census:
    """The net rows of a file of ADT messages. Raises CensusRefused when it holds none.

    ``salt`` keys the hash of visit numbers, as for CSV lists; ``only`` is the one unit that is meant.
    """
    found = _File(salt, only)
    for line, text in _split(_decoded(data)):
        found.take(text, line)
    if not found.count:
        raise CensusRefused("the file holds no HL7 message; each starts with a line MSH|^~\\&|…")
    rows, notes = _net(found.messages, salt)
    kept = [row for row in rows if not found.holds(row)]
    held = [f"message at line {row.line}: waits for the one of its visit that cannot be read" for row in rows]
    waiting = [says for row, says in zip(rows, held, strict=True) if row not in kept]
    over = [f"passed over: {count} × {what}" for what, count in sorted(found.over.items())]
    return Census(
        tuple(kept), tuple(found.unread), (*notes, *waiting, *over), whole=False, merges=tuple(found.merges)
    )


class _File:
    """What the messages of one file came to, each by itself: read, refused, passed over."""

    def __init__(self, salt: cells.Secret, only: str | None) -> None:
        self.salt = salt
        self.only = only
        self.count = 0
        self.messages: list[AdtMessage] = []
        self.unread: list[Unreadable] = []
        self.over: Counter[str] = Counter()
        self.merges: list[Merge] = []
        self.refused_at: dict[str, datetime | None] = {}

    def take(self, text: str, line: int) -> None:
        """One more message. Never raises for what stands in it."""
        self.count += 1
        message: Any = None
        try:
            message = _parsed(text)
            event = _event(message)
            if event == _MERGE:
                self.merges.append(_merge(message, line, self.salt))
            else:
                self.messages += _told(message, event, line, self.only)
        except PassedOver as over:
            self.over[str(over)] += 1
        except (MessageRefused, cells.CellRefused) as refused:
            self.unread.append(Unreadable(line, f"message at line {line}, {refused}"))
            self._hold(message)

    def _hold(self, message: Any) -> None:
        """A visit of which one message cannot be read: where its patient is now, the others do not know."""
        for which in range(len(_segments(message, "PID")) if message is not None else 0):
            with suppress(cells.CellRefused):
                if visit := _visit(message, which):
                    self.refused_at[cells.stay_of(visit, self.salt)] = _when(message)

    def holds(self, row: CensusRow) -> bool:
        """Whether a refused message of the row's visit is as new as the row, or of unknown time."""
        if row.stay not in self.refused_at:
            return False
        at = self.refused_at[row.stay]
        return at is None or row.event_at is None or at >= row.event_at


def read_message(text: str, line: int = 1) -> list[AdtMessage]:
    """What one ADT message says, of two patients where they change beds.

    Raises MessageRefused naming the segment and field, PassedOver for one that is none of ours.
    """
    message = _parsed(text)
    return _told(message, _event(message), line, None)


def _parsed(text: str) -> Any:
    try:
        return hl7.parse(text)
    except Exception as wrong:  # the parser raises many kinds for malformed text
        raise MessageRefused(f"segment MSH: not a message ({type(wrong).__name__}); send it again") from None


def _event(message: Any) -> str:
    """The trigger event, one that is read here. Raises MessageRefused, PassedOver."""
    kind, event = _part(message, "MSH", 9, 1), _part(message, "MSH", 9, 2) or _part(message, "EVN", 1)
    if not kind or (kind == "ADT" and not event):
        raise MessageRefused(f"segment MSH: {kind or 'no type'}^{event or 'no event'}; send it again")
    if not_real := _NOT_REAL.get(_part(message, "MSH", 11)):
        raise PassedOver(f"{not_real} message")
    if kind == "ADT" and event in NOT_ADMITTED:
        raise PassedOver(f"ADT^{event}, {NOT_ADMITTED[event]}")
    if kind != "ADT" or event not in (*EVENTS, _MERGE):
        raise PassedOver(f"{cells.shown(kind)}^{cells.shown(event)}" if event else cells.shown(kind))
    return event


def _told(message: Any, event: str, line: int, only: str | None) -> list[AdtMessage]:
    patients = 2 if event == "A17" else 1
    for segment in ("PID", "PV1"):
        if len(_segments(message, segment)) < patients:
            raise MessageRefused(f"segment {segment} is missing{', once' if patients > 1 else ''}")
    return [_patient(message, event, line, which, only) for which in range(patients)]


def _patient(message: Any, event: str, line: int, which: int, only: str | None) -> AdtMessage:
    notes: list[str] = [SAYS[event]] if event in SAYS else []
    bed = _bed(message, 3, which, only)
    if bed is None and EVENTS[event] in ("admit", "transfer"):
        raise MessageRefused("segment PV1: field 3, the assigned bed, is empty")
    name, given = (_part(message, "PID", 5, component, which) for component in (1, 2))
    return AdtMessage(
        line=line + (_place_of(message, "PID", which) if which else 0),
        event=EVENTS[event],
        at=_time(message, notes),
        bed=bed,
        from_bed=_bed(message, 6, which, only),
        visit=_visit(message, which),
        label=cells.initials(name, given) or None,
        weight_kg=_weight(message, notes) if event != "A17" else None,
        notes=tuple(notes),
    )


def _place_of(message: Any, segment: str, which: int) -> int:
    """How many lines below its MSH a segment stands: two patients of one message are two lines."""
    return [place for place, one in enumerate(message) if str(one[0]) == segment][which]


def _merge(message: Any, line: int, salt: cells.Secret) -> Merge:
    """Two numbers that are said to be one patient: PID and PV1 the one kept, MRG the one given up."""
    kept = _visit(message, 0)
    prior = next((number for field in (5, 3, 1) if (number := _part(message, "MRG", field))), None)
    if kept is None or prior is None:
        raise MessageRefused("segment MRG: which two numbers are one patient is not said")
    return Merge(line, cells.stay_of(kept, salt), cells.stay_of(prior, salt))


def _decoded(data: bytes) -> str:
    for name in ("utf-8-sig", "cp1252"):
        try:
            return data.decode(name)
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1")


def one_message(data: bytes) -> str:
    """The text of one message as it came over the wire, each segment ended as the parser wants it."""
    return "\r".join(line for line in re.split(r"[\r\n]+", _decoded(data)) if line.strip()) + "\r"


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


def _bed(message: Any, field: int, which: int = 0, only: str | None = None) -> str | None:
    """PV1-3 or PV1-6, point of care ^ room ^ bed, as the unit writes it; of another unit, that it is."""
    unit, room, place = (_part(message, "PV1", field, component, which) for component in (1, 2, 3))
    if only and unit and not in_unit(unit, only):
        return ELSEWHERE
    if not room and not place:
        return None
    try:
        return bed_or_elsewhere(cells.compose_bed(unit, room, place), only)
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


def _when(message: Any) -> datetime | None:
    """The time of a message that cannot be read whole, or None where that cannot be read either."""
    try:
        return _time(message, [])
    except cells.CellRefused:
        return None


def _visit(message: Any, which: int = 0) -> str | None:
    for segment, field in (("PV1", 19), ("PID", 18), ("PID", 3)):
        if number := _part(message, segment, field, 1, which):
            return number
    return None


def _weight(message: Any, notes: list[str]) -> float | None:
    def part(field: int, component: int, which: int) -> str:
        return _part(message, "OBX", field, component, which)

    return newest_weight(part, len(_segments(message, "OBX")), notes)


def _net(messages: Iterable[AdtMessage], salt: cells.Secret) -> tuple[list[CensusRow], list[str]]:
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
        rows[key if stay else _place(row)] = row
    return list(rows.values()), notes


def _place(row: CensusRow) -> str:
    """What tells a row without a visit from others: its bed, and elsewhere nothing but its line."""
    return f"bed {cells.bed_key(row.bed)}" if row.bed != ELSEWHERE else f"line {row.line}"


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
