"""What a brief needs to know of sides and lines; each look-up in one place."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from mobicard.derive.weight_bearing import bears_no_load, stronger_side, unloaded_legs
from mobicard.facts import Record
from mobicard.facts.record import Line
from mobicard.facts.words import Limb, Side, WeightBearing

LEGS = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
OTHER = {"left": "right", "right": "left"}


class LineKind(StrEnum):
    """Lines that want something of their own when the patient is moved."""

    AIRWAY = "airway"
    CHEST_DRAIN = "chest drain"
    HEAD_DRAIN = "head drain"
    LUMBAR_DRAIN = "lumbar drain"
    URINE = "urinary catheter"
    FEEDING = "feeding tube"
    FISTULA = "fistula"
    DRIP = "drip"
    OTHER = "other"


_NAMED = (
    (LineKind.AIRWAY, ("ventilat", "trach", "endotrach", "airway")),
    (LineKind.CHEST_DRAIN, ("chest", "thora", "pleura")),
    (LineKind.HEAD_DRAIN, ("ventricular", "evd")),
    (LineKind.LUMBAR_DRAIN, ("lumbar",)),
    (LineKind.URINE, ("urin", "foley", "bladder", "suprapubic")),
    (LineKind.FEEDING, ("feed", "gastr", "peg", "nasog")),
    (LineKind.FISTULA, ("fistula", "graft", "shunt")),
    (LineKind.DRIP, ("drip", "iv", "infusion", "picc", "peripheral", "central")),
)


def weak_side(record: Record) -> str | None:
    """``left`` or ``right``: the side to guard; None where the record sets neither apart."""
    strong = stronger_side(record)
    return OTHER[strong] if strong else None


def line_kind(line: Line) -> LineKind:
    """What kind a line is, by the words it was recorded with."""
    said = line.kind.casefold()
    words = set(said.split())
    for kind, marks in _NAMED:
        if any(mark in said if len(mark) > 3 else mark in words for mark in marks):
            return kind
    return LineKind.OTHER


def lines_by_kind(record: Record) -> dict[LineKind, Line]:
    """The first recorded line of each kind, in the order of their harm."""
    found = {line_kind(line): line for line in reversed(record.lines)}
    return {kind: found[kind] for kind in LineKind if kind in found}


def carrying_leg(record: Record) -> str | None:
    """The one leg that carries where the other bears nothing or only touches; None where both do, or none."""
    bearing = [leg.side for leg in LEGS if not bears_no_load(record, leg) and not _only_touches(record, leg)]
    return bearing[0] if len(bearing) == 1 else None


def guarded_knee(record: Record) -> str | None:
    """The knee that may fold under the body: that of the leg that carries more, else of the weaker side."""
    limited = [leg.side for leg in unloaded_legs(record)]
    return OTHER[limited[0]] if len(limited) == 1 else weak_side(record)


def _only_touches(record: Record, leg: Limb) -> bool:
    order = record.weight_bearing.get(leg)
    return order is not None and order.status is WeightBearing.TTWB


def line_side(record: Record) -> str | None:
    """The side most lines are on; None where none has a side."""
    sides = list(_sides(record))
    return max(sides, key=sides.count) if sides else None


def _sides(record: Record) -> Iterator[str]:
    for line in record.lines:
        if line.side in (Side.LEFT, Side.RIGHT):
            yield line.side.value
