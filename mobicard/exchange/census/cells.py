"""One cell of a bed list read as a fact: text, weight, date, initials, bed; or why it cannot be."""

from __future__ import annotations

import hashlib
import hmac
import re
from collections.abc import Callable
from datetime import datetime, timedelta

from pydantic import TypeAdapter, ValidationError

from mobicard.facts.record import Bed
from mobicard.facts.text import without_controls
from mobicard.facts.units import kg_from_lb, read_mass

STAY_PREFIX = "visit-"
_BLANK = {"", "-", "--", "—", "–", "n/a", "none", "null", "nil", "unknown", "?", "."}
_TEXT_FORMULA = re.compile(r'^="((?:[^"]|"")*)"$')
_SERIAL_EPOCH = datetime(1899, 12, 30)
"""Day 0 of spreadsheet serial dates from 1 March 1900 on (ECMA-376 part 1, 18.17.4.1, the 1900 date base)."""

_BED: TypeAdapter[str] = TypeAdapter(Bed)
_DATE_LIKE_BED = re.compile(
    r"^(\d{1,2}[-/ ](jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*([-/ ]\d{2,4})?"
    r"|(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/ ]\d{1,4}"
    r"|\d{1,2}[/.]\d{1,2}[/.]\d{4}.*|\d{4}-\d{2}-\d{2}.*)$",
    re.IGNORECASE,
)
_CHANGED = "the bed “{value}” looks like a {kind} a spreadsheet made of it; set that column to text"
_NO_BED = "the bed “{value}” cannot be kept: at most 16 characters, without < and >"
_NO_DATE = "“{value}” is not a date mobicard can read; write it like 2026-03-02 07:10"
_DATE_FORMS = ("%d-%b-%Y", "%d %b %Y", "%d-%b-%y", "%b %d, %Y", "%Y/%m/%d")
_COMPACT_FORMS = {8: "%Y%m%d", 12: "%Y%m%d%H%M", 14: "%Y%m%d%H%M%S"}
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?\s*([ap])?\.?m?\.?", re.IGNORECASE)
_SCIENTIFIC = re.compile(r"^\d(?:[.,]\d+)?E[+-]?\d{2,}$")


class CellRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A cell that cannot be taken; the text says why and what to do, and never repeats a name."""


def shown(value: str) -> str:
    """A cell as an error may repeat it: of two words and more, which may be a name, the first letters."""
    words = re.findall(r"[^\W\d_]{2,}", value)
    return value[:24] if len(words) < 2 else re.sub(r"([^\W\d_])[^\W\d_]+", r"\1…", value)[:24]


def text(cell: str) -> str:
    """A cell as plain text; blanks of every kind become "". Raises CellRefused on a formula.

    ``="4W-12A"`` is a spreadsheet's way to keep text as text and is read as that text.
    """
    bare = without_controls(cell.replace("\u00a0", " ").replace("\ufeff", ""))
    kept = _TEXT_FORMULA.match(bare)
    if kept:
        bare = kept[1].replace('""', '"').strip()
    elif re.match(r"^'[=+\-@'＝＋－＠]", bare):
        bare = bare[1:]
    elif re.match(r"^[=@＝＠]", bare) or re.match(r"^[+\-＋－]\s*[^\d\s.,+\-＋－]", bare):
        raise CellRefused("a formula stands here instead of a value; paste it as a value and save again")
    return "" if bare.casefold() in _BLANK else bare


def bed(cell: str) -> str:
    """A bed as it will be kept. Raises CellRefused on one a spreadsheet has changed, or an impossible one."""
    value = text(cell)
    if _DATE_LIKE_BED.match(value):
        raise CellRefused(_CHANGED.format(value=value, kind="date"))
    if _SCIENTIFIC.match(value):
        raise CellRefused(_CHANGED.format(value=value, kind="number"))
    value = re.sub(r"\s*([-/])\s*", r"\1", re.sub(r"^(\d+)\.0+$", r"\1", value))
    try:
        return _BED.validate_python(value)
    except ValidationError:
        raise CellRefused(_NO_BED.format(value=shown(value)) if value else "the bed is empty") from None


def bed_key(name: str) -> str:
    """A bed as compared: case and spaces do not tell two beds apart."""
    return re.sub(r"\s+", "", name).casefold()


def compose_bed(unit: str, room: str, place: str) -> str:
    """One bed name of unit, room and bed: ``4W``, ``12``, ``A`` -> ``4W-12A``, as ``4W``, ``12``, ``12A``."""
    after_room = place[len(room) : len(room) + 1] if place.casefold().startswith(room.casefold()) else ""
    if after_room and not after_room.isdigit():
        room = ""
    inner = f"{room}{place}" if not room or not place or place[0].isalpha() else f"{room}-{place}"
    names_unit = re.match(re.escape(unit) + r"\s*[-/]", inner, re.IGNORECASE)
    return inner if not unit or names_unit else f"{unit}-{inner}" if inner else ""


def weight_kg(cell: str, unit: str | None) -> float | None:
    """Kilograms of a weight cell; ``unit`` is for figures without one. Raises CellRefused with the reason.

    The limits are those of the record, 0.3 to 500 kg.
    """
    value = text(cell)
    if not value:
        return None
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?", value)
    if bare and unit is None:
        raise CellRefused(f"the weight {value} has no unit; write kg or lb in the heading or a mapping file")
    if bare:
        figure = float(value.replace(",", "."))
        mass = kg_from_lb(figure) if unit == "lb" else figure
    else:
        try:
            mass = read_mass(value)
        except ValueError as wrong:
            raise CellRefused(str(wrong)) from None
    if not 0.3 <= mass <= 500:
        raise CellRefused(f"the weight {value} cannot be true")
    return round(mass, 3)


PLAUSIBLE = {"kg": (35.0, 180.0), "lb": (90.0, 440.0)}
"""Figures of grown patients that are rarely meant in the other unit. Common practice, no source."""


def ask_unless_plausible(cell: str, unit: str | None) -> None:
    """A bare figure that the column's unit makes unlikely is not taken: a missing weight counts as the worst.

    Raises CellRefused with the question.
    """
    bare = re.fullmatch(r"\d+(?:[.,]\d+)?", text(cell))
    if bare is None or unit is None:
        return
    figure = float(bare[0].replace(",", "."))
    least, most = PLAUSIBLE[unit]
    if not least <= figure <= most:
        raise CellRefused(f"the weight {figure:g} is unlikely in {unit}: write its unit beside it, or weigh")


def initials(name: str, first_name: str = "") -> str:
    """Initials of a name, which itself is not kept: ``DOE, JANE`` -> ``JD``. At most four letters."""

    family, _, given = name.partition(",")
    words = f"{first_name or given} {family}".split()

    letters = [word[0].upper() for word in words if word[0].isalpha()]
    return "".join(letters[:3] + letters[-1:] if len(letters) > 4 else letters)


Secret = bytes | Callable[[str], str]
"""What hides visit numbers: a key, or whoever has it and gives the keyed hash of a number as hex."""


def stay_of(visit: str, salt: Secret) -> str:
    """The pseudonymous stay key of a visit number: a keyed hash, so the number itself is never kept.

    The same number with the same salt gives the same stay; without the salt it cannot be guessed back by
    trying all numbers. HMAC-SHA-256 (RFC 2104), the first 80 bits.
    """
    plain = visit.strip().casefold()
    if callable(salt):
        return STAY_PREFIX + salt(plain)[:20]
    return STAY_PREFIX + hmac.new(salt, plain.encode("utf-8", "replace"), hashlib.sha256).hexdigest()[:20]


def dates(cell: str) -> tuple[datetime, ...]:
    """Every reading of a date cell: one, or two where day and month could be either way; () when blank.

    Reads ISO, spreadsheet serials, ``13/02/2026 7:10``, ``2/13/26``, ``13.02.2026``, ``13-Feb-2026``.
    Raises CellRefused on anything else.
    """
    value = text(cell)
    if not value:
        return ()
    if re.fullmatch(r"\d{5}([.,]\d+)?", value):
        minutes = round(float(value.replace(",", ".")) * 1440)
        return (_SERIAL_EPOCH + timedelta(minutes=minutes),)
    found = re.fullmatch(r"(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d{2})[,\s]*(.*)", value)
    if found:
        return _both_ways(found, value)
    try:
        return (_one_way(value),)
    except ValueError:
        raise CellRefused(_NO_DATE.format(value=shown(value))) from None


def _one_way(value: str) -> datetime:
    """A date that names its month or starts with its year. Raises ValueError."""
    if value.isascii() and value.isdigit():
        return datetime.strptime(value, _COMPACT_FORMS.get(len(value), "none"))
    for form in _DATE_FORMS:
        for hours in ("", " %H:%M", " %H:%M:%S", " %I:%M %p"):
            try:
                return datetime.strptime(value, form + hours)
            except ValueError:
                continue
    return datetime.fromisoformat(value).replace(tzinfo=None)


def _both_ways(found: re.Match[str], value: str) -> tuple[datetime, ...]:
    one, two, year = int(found[1]), int(found[2]), int(found[3])
    year += 2000 if year < 100 else 0
    clock = _clock(found[4].strip())
    ways: list[datetime] = []
    for day, month in ((one, two), (two, one)):
        try:
            way = datetime(year, month, day)
        except ValueError:
            continue
        if clock is not None and way + clock not in ways:
            ways.append(way + clock)
    if not ways:
        raise CellRefused(_NO_DATE.format(value=shown(value)))
    return tuple(ways)


def _clock(value: str) -> timedelta | None:
    """Hours and minutes after midnight; zero when absent, None when unreadable."""
    if not value:
        return timedelta()
    found = _CLOCK.fullmatch(value)
    if not found:
        return None
    hour, minute = int(found[1]), int(found[2])
    if found[4]:
        hour = hour % 12 + (12 if found[4].lower() == "p" else 0)
    return timedelta(hours=hour, minutes=minute) if hour < 24 and minute < 60 else None
