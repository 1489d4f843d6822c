"""Hands and lifts on duty: people by initials, role, beds, hours and breaks; equipment unit by unit."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, NamedTuple

from mobicard.derive.equipment import Inventory, words
from mobicard.facts.text import without_controls
from mobicard.facts.toml_text import read_toml
from mobicard.facts.words import Equipment

_KEYS = ("initials", "role", "beds", "from", "to", "breaks", "stature")
_OUT_KEYS = ("equipment", "count", "why")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time, start included, end not."""

    start: datetime
    end: datetime

    def overlaps(self, other: Span) -> bool:
        return self.start < other.end and other.start < self.end

    def without(self, other: Span) -> tuple[Span, ...]:
        """What is left of this stretch once ``other`` is taken out."""
        if not self.overlaps(other):
            return (self,)
        parts = (Span(self.start, other.start), Span(other.end, self.end))
        return tuple(part for part in parts if part.start < part.end)


class Taken(NamedTuple):
    """Somebody not to be had for a while: who, when, why."""

    initials: str
    start: datetime
    end: datetime
    why: str

    @property
    def span(self) -> Span:
        return Span(self.start, self.end)

    @property
    def says(self) -> str:
        return f"{self.initials}: {self.why}, {_hours(self.span)}"


@dataclass(frozen=True, slots=True)
class OnDuty:
    """One person on duty. ``there`` are the stretches they can help in, breaks taken out; stature in cm."""

    initials: str
    role: str
    beds: tuple[str, ...]
    there: tuple[Span, ...]
    stature_cm: float | None = None

    def minutes(self) -> int:
        """Minutes on duty, breaks not counted."""
        return int(sum((span.end - span.start).total_seconds() for span in self.there) // 60)

    def is_there(self, span: Span) -> bool:
        """Whether the person is on duty for the whole of ``span``."""
        return any(own.start <= span.start and span.end <= own.end for own in self.there)

    def away(self, span: Span) -> OnDuty:
        """The same person, not there during ``span``."""
        return replace(self, there=tuple(part for own in self.there for part in own.without(span)))


@dataclass(frozen=True, slots=True)
class Unit:
    """One piece of equipment: name, class, safe working load in kg (None: not stated), place."""

    name: str
    kind: Equipment
    swl_kg: float | None
    place: str | None = None


@dataclass(frozen=True, slots=True)
class Supply:
    """Everything a shift can send: people, units, and what was wrong with the lists (``problems``)."""

    staff: tuple[OnDuty, ...]
    units: tuple[Unit, ...]
    problems: tuple[str, ...] = ()

    def there(self, span: Span) -> int:
        """People on duty for the whole of ``span``."""
        return sum(person.is_there(span) for person in self.staff)


OUTSIDE = "outside this shift; not planned with"
NOBODY = "the staff list names nobody on duty in this shift"
WRITE_WHO = (
    "Write who is there under [[staff]] with from and to, then plan again: "
    "r in Hands, or mobicard hands --again"
)


class SupplyRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A staff list that cannot be read at all; it says where and what to write."""


@dataclass(frozen=True, slots=True)
class OutOfUse:
    """Equipment out of use this shift: class, how many, why."""

    kind: Equipment
    count: int
    why: str


@dataclass(frozen=True, slots=True)
class StaffFile:
    """A staff.toml as read: people, equipment out of use, and every line that could not be taken."""

    staff: tuple[OnDuty, ...]
    out: tuple[OutOfUse, ...]
    problems: tuple[str, ...]


def read_staff(text: str, shift: Span) -> StaffFile:
    """A staff.toml for one shift. A line that cannot be taken is named in ``problems``, the rest stands.

    Raises SupplyRefused where the text is no TOML at all.
    """
    try:
        data = read_toml(text)
    except tomllib.TOMLDecodeError as wrong:
        raise SupplyRefused(f"the staff list cannot be read: {wrong}; nothing was planned from it") from None
    problems: list[str] = [
        f"staff list: “{_shown(key)}” is not known here; write [[staff]] or [[out]]"
        for key in data
        if key not in ("staff", "out")
    ]
    people = [_person(row, n, shift, problems) for n, row in enumerate(_rows(data, "staff", problems), 1)]
    out = [_out(row, n, problems) for n, row in enumerate(_rows(data, "out", problems), 1)]
    staff = _joined([person for person in people if person], problems)
    if not staff:
        problems.append(f"{NOBODY}: no move can be planned. {WRITE_WHO}")
    return StaffFile(staff, tuple(item for item in out if item), tuple(problems))


def supply_of(file: StaffFile, units: Iterable[Unit], problems: Sequence[str] = ()) -> Supply:
    """People of the staff file with the unit's equipment, what is out of use taken off."""
    left, said = list(units), [*file.problems, *problems]
    for out in file.out:
        of_kind = [unit for unit in left if unit.kind is out.kind]
        if len(of_kind) < out.count:
            said.append(f"{out.count} {words(out.kind)} out of use, but the unit has {len(of_kind)}")
        for unit in of_kind[: out.count]:
            left.remove(unit)
        said.append(f"out of use: {out.count} {words(out.kind)}" + (f" ({out.why})" if out.why else ""))
    return Supply(file.staff, tuple(left), tuple(said))


def units_of(inventory: Inventory) -> tuple[tuple[Unit, ...], tuple[str, ...]]:
    """The inventory piece by piece, and what is wrong with it (a count of zero)."""
    units: list[Unit] = []
    problems: list[str] = []
    seen: dict[str, int] = {}
    for item in inventory.items:
        if item.count < 1:
            problems.append(f"inventory: {item.name} has a count of {item.count}; none can be planned")
        for _ in range(item.count):
            seen[item.name] = n = seen.get(item.name, 0) + 1
            name = item.name if item.count == 1 and n == 1 else f"{item.name} {n}"
            units.append(Unit(name, item.equipment, item.safe_load_kg, item.where or None))
    return tuple(units), tuple(problems)


def _rows(data: Mapping[str, Any], key: str, problems: list[str]) -> list[Mapping[str, Any]]:
    rows = data.get(key, [])
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        problems.append(f"staff list: write [[{key}]] with double brackets, one block each")
        return []
    return rows


def _person(row: Mapping[str, Any], n: int, shift: Span, problems: list[str]) -> OnDuty | None:
    initials = without_controls(str(row.get("initials", "")))[:12]
    where = initials or f"staff entry {n}"
    if not initials:
        problems.append(f"{where}: has no initials; not planned with")
        return None
    problems += [f"{where}: {_unknown(key, _KEYS)}" for key in row if key not in _KEYS]
    own = _span(row.get("from"), row.get("to"), shift)
    if own is None:
        problems.append(f'{where}: needs “from” and “to” as times like "07:00"; not planned with')
        return None
    inside = Span(max(own.start, shift.start), min(own.end, shift.end))
    if inside.start >= inside.end:
        problems.append(f"{where}: on duty {_hours(own)}, {OUTSIDE}")
        return None
    beds = row.get("beds", [])
    if not isinstance(beds, list):
        problems.append(f"{where}: “beds” must be a list; read as none")
        beds = []
    staff = OnDuty(
        initials,
        without_controls(str(row.get("role", "aide")))[:20].lower(),
        tuple(str(bed) for bed in beds),
        (inside,),
        _stature(row.get("stature"), where, problems),
    )
    return _with_breaks(staff, row.get("breaks", []), shift, problems)


def _stature(value: object, where: str, problems: list[str]) -> float | None:
    """How tall somebody is, for the height of a bed; one that cannot be read is said and left out."""
    if value is None:
        return None
    from mobicard.derive.brief import HelpersRefused  # loaded only where somebody's stature is listed
    from mobicard.derive.brief.helpers import stature_of

    try:
        return stature_of(where, str(value))
    except HelpersRefused as refused:
        problems.append(f"{refused.says}; left out")
        return None


def _with_breaks(staff: OnDuty, breaks: Any, shift: Span, problems: list[str]) -> OnDuty:
    whole = staff.there[0]
    for pair in breaks if isinstance(breaks, list) else [breaks]:
        span = _span(pair[0], pair[1], shift) if isinstance(pair, list) and len(pair) == 2 else None
        if span is None:
            problems.append(f'{staff.initials}: a break needs two times, like ["10:00", "10:15"]; left out')
        elif not span.overlaps(whole):
            problems.append(f"{staff.initials}: break {_hours(span)} lies outside their hours; left out")
        else:
            staff = staff.away(span)
    return staff


def _joined(people: Sequence[OnDuty], problems: list[str]) -> tuple[OnDuty, ...]:
    """One entry a person: a split shift joined; overlapping hours named and counted once."""
    by_name: dict[str, OnDuty] = {}
    for person in people:
        before = by_name.get(person.initials)
        by_name[person.initials] = _both(before, person, problems) if before else person
    return tuple(by_name.values())


def _both(first: OnDuty, second: OnDuty, problems: list[str]) -> OnDuty:
    """Two entries of one person; where they overlap, a break in either stays a break."""
    beds = tuple(dict.fromkeys((*first.beds, *second.beds)))
    one, two = _hull(first), _hull(second)
    if one.overlaps(two):
        both = Span(max(one.start, two.start), min(one.end, two.end))
        problems.append(f"{first.initials}: two entries overlap at {_hours(both)}; one person counts once")
        for gap in _gaps(second):
            first = first.away(gap)
        second = second.away(one)
    there = tuple(sorted((*first.there, *second.there), key=lambda span: span.start))
    return replace(first, beds=beds, there=there)


def _hull(staff: OnDuty) -> Span:
    return Span(staff.there[0].start, staff.there[-1].end)


def _gaps(staff: OnDuty) -> list[Span]:
    return [Span(a.end, b.start) for a, b in pairwise(staff.there)]


def _out(row: Mapping[str, Any], n: int, problems: list[str]) -> OutOfUse | None:
    problems += [f"[[out]] entry {n}: {_unknown(key, _OUT_KEYS)}" for key in row if key not in _OUT_KEYS]
    word, count = str(row.get("equipment", "")), row.get("count", 1)
    if word not in list(Equipment):
        near = get_close_matches(word, [item.value for item in Equipment], n=1)
        hint = f" (did you mean {near[0]}?)" if near else ""
        problems.append(f"[[out]] entry {n}: “{_shown(word)}” is no equipment class{hint}; left out")
        return None
    if not isinstance(count, int) or isinstance(count, bool) or count < 1:
        problems.append(f"[[out]] entry {n}: count must be 1 or more; left out")
        return None
    return OutOfUse(Equipment(word), count, without_controls(str(row.get("why", "")))[:60])


def _span(start: Any, end: Any, shift: Span) -> Span | None:
    """Two times of day on the shift's clock; the second is the first one after the first."""
    first, second = _at(start, shift), _at(end, shift)
    if first is None or second is None:
        return None
    return Span(first, second if second > first else second + timedelta(days=1))


def _at(value: Any, shift: Span) -> datetime | None:
    """A time of day placed in the shift: up to four hours before its start counts as before, not next day."""
    try:
        of_day = value if isinstance(value, time) else time.fromisoformat(str(value))
    except ValueError:
        return None
    at = datetime.combine(shift.start.date(), of_day.replace(tzinfo=None))
    return at + timedelta(days=1) if at < shift.start - timedelta(hours=4) else at


def _hours(span: Span) -> str:
    return f"{span.start:%H:%M}-{span.end:%H:%M}"


def _unknown(key: str, known: Sequence[str]) -> str:
    near = get_close_matches(key, known, n=1)
    return f"“{_shown(key)}” is not known here" + (f"; did you mean {near[0]}?" if near else "; left out")


def _shown(value: object) -> str:
    text = without_controls(str(value))
    return text if len(text) <= 40 else text[:39] + "…"
