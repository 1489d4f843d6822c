"""The people of a brief as somebody types them: ``JN=165, AB=5ft7in``."""

from __future__ import annotations

from mobicard.derive.brief.values import Helper, HelpersRefused
from mobicard.facts.units import read_length

LEAST_CM, MOST_CM = 120, 230
"""A grown person's height; outside it is a slip of the pen."""


def read_helpers(text: str) -> tuple[Helper, ...]:
    """Helpers by initials, each with a stature or none; a bare figure is cm. Raises HelpersRefused."""
    found = tuple(_helper(part.strip()) for part in text.split(",") if part.strip())
    names = [one.name for one in found]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise HelpersRefused(f"{twice} is named twice; name each helper once")
    return found


def _helper(part: str) -> Helper:
    name, _, stature = (one.strip() for one in part.partition("="))
    if not name.isprintable() or not 1 <= len(name) <= 12:
        raise HelpersRefused(f"“{part}” names nobody; write initials, like JN=165")
    return Helper(name, stature_of(name, stature) if stature else None)


def stature_of(name: str, text: str) -> float:
    """Somebody's stature in cm from ``165``, ``165 cm`` or ``5ft5in``. Raises HelpersRefused."""
    try:
        cm = float(text) if text.replace(".", "", 1).isdecimal() else read_length(text)
    except ValueError as wrong:
        raise HelpersRefused(f"{name}: {wrong}") from None
    if not LEAST_CM <= cm <= MOST_CM:
        taken = f"{LEAST_CM} to {MOST_CM} cm are taken"
        raise HelpersRefused(f"{name}: {cm:g} cm is not a grown person's height; {taken}")
    return cm
