"""Pounds, inches and their metric twins: read at the edge, shown beside each other."""

from __future__ import annotations

import math
import re

KG_PER_LB = 0.45359237
"""International avoirdupois pound, exact. Source: NIST SP 811 (2008), appendix B.8."""

CM_PER_INCH = 2.54
"""International inch, exact. Source: NIST SP 811 (2008), appendix B.8."""

_NUMBER = r"(\d+(?:\.\d+|,\d{1,2})?)"  # “1,200 lb” would be read as 1.2: refused
_MASS = re.compile(rf"^\s*{_NUMBER}\s*(kg|kgs|kilos?|lb|lbs|pounds?)\.?\s*$", re.IGNORECASE)
_LENGTH = re.compile(rf"^\s*{_NUMBER}\s*(cm|m|in|inch|inches|\")\.?\s*$", re.IGNORECASE)
_FEET = re.compile(
    rf"^\s*(\d+)\s*(?:ft|feet|foot|')\s*(?:{_NUMBER}\s*(?:in|inch|inches|\"|'')?)?\s*$", re.IGNORECASE
)


def lb_from_kg(kg: float) -> float:
    """Pounds for a mass in kg."""
    return kg / KG_PER_LB


def kg_from_lb(lb: float) -> float:
    """Kilograms for a mass in lb."""
    return lb * KG_PER_LB


def read_mass(text: str) -> float:
    """Kilograms from a figure with its unit, such as ``181 lb`` or ``82 kg``.

    Raises ValueError with a nurse's sentence when the unit is missing or unknown.
    """
    found = _MASS.match(text)
    if not found:
        raise ValueError(f"“{text}” is not a weight with its unit; write it like 82 kg or 181 lb")
    figure = float(found[1].replace(",", "."))
    return kg_from_lb(figure) if found[2].lower().startswith(("lb", "pound")) else figure


def read_length(text: str) -> float:
    """Centimetres from a figure with its unit: ``175 cm``, ``1.75 m``, ``69 in``, ``5 ft 9 in``.

    Raises ValueError with a nurse's sentence when the unit is missing or unknown.
    """
    feet = _FEET.match(text)
    if feet:
        inches = float(feet[2].replace(",", ".")) if feet[2] else 0.0
        if inches >= 12:
            raise ValueError(f"“{text}” has {inches:g} inches; a foot has 12, write it like 5 ft 9 in")
        return (int(feet[1]) * 12 + inches) * CM_PER_INCH
    found = _LENGTH.match(text)
    if not found:
        raise ValueError(f"“{text}” is not a height with its unit; write it like 175 cm or 5 ft 9 in")
    figure, unit = float(found[1].replace(",", ".")), found[2].lower()
    return figure * {"cm": 1.0, "m": 100.0}.get(unit, CM_PER_INCH)


def floored(figure: float, digits: int = 0) -> float:
    """The figure rounded down to so many decimals; what is a whole step but for the last bit stays it."""
    step = 10**digits
    return float(math.floor(figure * step + 1e-6) / step)


KEPT_TO_LB = 0.012
"""Half of what a mass kept to 0.01 kg may have lost, and a little, lb."""


def both_masses(kg: float) -> str:
    """A mass as it is always shown, metric first, each figure rounded down: ``82.0 kg (180 lb)``.

    Down, and in this one way on every page and screen: a limit so shown never allows more than was ordered,
    and the same mass is never two figures. Masses are kept to 0.01 kg: what was typed as 181 lb stays so.
    """
    return f"{floored(kg, 1):.1f} kg ({floored(lb_from_kg(kg) + KEPT_TO_LB):.0f} lb)"
