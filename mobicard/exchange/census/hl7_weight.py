"""The weight in a message's OBX segments: the newest measured one that nobody has taken back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from mobicard.exchange.census import cells

Part = Callable[[int, int, int], str]
"""A component of an OBX segment as text: field, component, which of the segments."""

MEASURED = ("29463-7", "3141-9", "8350-1", "8351-9")
"""LOINC: body weight; measured; measured with clothes; measured without clothes."""
SAID = {"3142-7": "stated", "8335-2": "estimated"}
"""LOINC codes of weights that nobody measured. A missing weight counts as the worst, so they are left out."""
_TAKEN_BACK = ("D", "W")
_NONE = ("X", "N", "O", "I")
"""OBX-11 by HL7 table 0085: deleted, wrong; not obtained, not asked, only ordered, still to come."""
_UNITS = {"kg": "kg", **dict.fromkeys(("lb", "lbs", "[lb_av]", "[lb_us]", "lb_av", "pound", "pounds"), "lb")}


@dataclass(frozen=True, slots=True)
class _Seen:
    code: str
    figure: str
    unit: str
    status: str
    at: str


def newest_weight(part: Part, count: int, notes: list[str]) -> float | None:
    """Kilograms of the newest valid measured weight among ``count`` OBX segments, or None.

    Newest by OBX-14, else the last in the message. What is left out is said in ``notes``.
    """
    seen = [one for which in range(count) if (one := _seen(part, which)) is not None]
    back = {(one.figure, one.at) for one in seen if one.status in _TAKEN_BACK}
    valid = [
        one for one in seen if one.status not in (*_TAKEN_BACK, *_NONE) and (one.figure, one.at) not in back
    ]
    if back:
        notes.append("OBX: a weight is deleted or wrong; left out")
    ordered = sorted(valid, key=lambda one: one.at)
    return next(_readable(reversed(ordered), notes), None)


def _readable(seen: Iterator[_Seen], notes: list[str]) -> Iterator[float]:
    for one in seen:
        if one.code in SAID:
            notes.append(f"OBX: the weight is only {SAID[one.code]}; left out, weigh")
            continue
        try:
            mass = cells.weight_kg(f"{one.figure} {one.unit}".strip(), None)
        except cells.CellRefused as refused:
            notes.append(f"OBX: {refused}; left out")
            continue
        if mass is not None:
            yield mass


def _seen(part: Part, which: int) -> _Seen | None:
    """A weight observation, by its code or its alternate code (OBX-3.1, OBX-3.4)."""
    codes = (part(3, 1, which), part(3, 4, which))
    code = next((code for code in codes if code in MEASURED or code in SAID), None)
    if code is None:
        return None
    unit = part(6, 1, which)
    return _Seen(
        code,
        figure=part(5, 1, which),
        unit=_UNITS.get(unit.casefold(), unit),
        status=part(11, 1, which),
        at=part(14, 1, which)[:12],
    )
