"""What a person may type: text trimmed, bounded and free of control characters; times; figures."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime, time, timedelta
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, StringConstraints

STEERING = r"[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]"
"""Signs that show nothing and steer what shows them: controls, line and direction marks; a pattern."""

_CONTROL = re.compile(STEERING)
_NOT_SHOWN = re.compile(r"(?![\n\t])" + STEERING)


def without_controls(text: str) -> str:
    """The text with control and direction-override characters turned into spaces."""
    return re.sub(r"\s+", " ", _CONTROL.sub(" ", text)).strip()


def harmless(text: str) -> str:
    """The text as a screen or a log may have it: line ends stay, what steers a screen is a mark."""
    return _NOT_SHOWN.sub("\ufffd", text)


def in_unit(bed: str, unit: str) -> bool:
    """Whether a bed is the unit's: its name begins with the unit's, and that name ends there."""
    named, whole = unit.strip().casefold(), bed.strip().casefold()
    return bool(re.match(re.escape(named) + r"(?![^\W_])", whole))


def unit_of(bed: str) -> str:
    """The unit a bed's name begins with, like 5N of 5N-12A; nothing where it names none."""
    found = re.match(r"(.*?[^\W_])[\W_]+[^\W_]", bed.strip())
    return found[1] if found else ""


def hour_says(at: datetime, now: datetime) -> str:
    """An hour as it is read at ``now``: bare today, with its weekday within six days, else with its date."""
    away = abs((at.date() - now.date()).days)
    return f"{at:%H:%M}" if not away else f"{at:%a %H:%M}" if away < 7 else f"{at:%d %b %H:%M}"


_CLOCK = re.compile(r"(?:(yesterday)\s+)?(\d{1,2})[:.]?(\d{2})", re.IGNORECASE)
_MINUTES = re.compile(r"([-+])\s*(\d{1,5})")


def typed_time(text: str, now: datetime, *, coming: bool = False) -> datetime:
    """Ward time as people write it: ``0530``, ``5:30``, ``-20`` (minutes ago), ``yesterday 19:30``, ISO 8601.

    A bare hour is the last time the clock showed it, with ``coming`` the next. Raises ValueError in words.
    """
    said = text.strip()
    if minutes := _MINUTES.fullmatch(said):
        return now.replace(second=0, microsecond=0) + timedelta(minutes=int(minutes[1] + minutes[2]))
    clock = _CLOCK.fullmatch(said)
    try:
        if clock is None:
            return _no_zone(datetime.fromisoformat(said))
        at = datetime.combine(now.date(), time(int(clock[2]), int(clock[3])))
    except ValueError:
        raise ValueError(_no_time(said, coming)) from None
    if clock[1]:
        return at - timedelta(days=1)
    return at + timedelta(days=int(coming and at <= now) - int(not coming and at > now))


def _no_time(said: str, coming: bool) -> str:
    like = (
        "14:00, 1400, +30 (minutes from now)" if coming else "05:30, 0530, -20 (minutes ago), yesterday 19:30"
    )
    return f"“{said}” is no time here; write it by the ward's own clock, like {like} or 2026-03-02T05:30"


def plain_says(value: Any) -> str:
    """Any JSON value of a record in words."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{key.replace('_', ' ')} {plain_says(inner)}" for key, inner in value.items())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "; ".join(plain_says(inner) for inner in value) or "nothing"
    if isinstance(value, str) and _ISO.match(value):
        return f"{datetime.fromisoformat(value):%d %b %H:%M}"
    return str(value).replace("_", " ")


_ISO = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?\Z")


def _some(text: str) -> str:
    clean = without_controls(text)
    if not clean:
        raise ValueError("is empty; write it, or leave the fact out")
    return clean


def _whole(text: str) -> str:
    if any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError("holds half a sign, which is no text; write it anew")
    return text


def _wall_clock(value: object) -> object:
    if isinstance(value, bool | int | float):
        raise ValueError(f"“{value}” is not a time; write it like 2026-03-02T07:10")
    return value


def _no_zone(value: datetime) -> datetime:
    if value.tzinfo is not None:
        raise ValueError("has a time zone; write the ward's own clock, like 2026-03-02T07:10")
    if not 1900 <= value.year <= 2200:
        raise ValueError(f"the year {value.year} cannot be; write the date like 2026-03-02T07:10")
    return value


def not_yes_no(value: object) -> object:
    """The value, refusing yes or no where a figure belongs (it would be read as 1 or 0)."""
    if isinstance(value, bool):
        raise ValueError(f"“{str(value).lower()}” is not a figure; write a number, or leave it out")
    return value


Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60), AfterValidator(_some)
]
Note = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=160), AfterValidator(without_controls)
]

OwnWord = Annotated[str, AfterValidator(_whole)]
"""Text that names something of an instrument's own file, as it stands there."""

WallTime = Annotated[datetime, BeforeValidator(_wall_clock), AfterValidator(_no_zone)]
"""A time on the ward's wall clock, without a zone."""

Figure = Annotated[float, BeforeValidator(not_yes_no)]
Count = Annotated[int, BeforeValidator(not_yes_no)]
