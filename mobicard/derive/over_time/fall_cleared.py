"""Whether a fall's examination counts: what it found, what it leaves open, what contradicts it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from mobicard.derive.model import Conflict
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Found, LiftAs, Precaution, WeightBearing, YesNoUnknown


def cleared(fall: FallEvent, now: datetime) -> bool:
    """Whether someone examined the patient after this fall, by name; a time still to come clears nobody.

    An examination that contradicts what is recorded of the fall does not count either.
    """
    return fall.cleared_at is not None and fall.at <= fall.cleared_at <= now and not contradicted(fall)


def contradicted(fall: FallEvent) -> bool:
    """Whether the clearing cannot be right. It outranks every answer: nothing of it is built on."""
    return next(_against(fall), None) is not None


def _against(fall: FallEvent) -> Iterator[Conflict]:
    if fall.cleared_at is None:
        return
    if fall.cleared_at == fall.at:
        says = "Cleared in the very minute of the fall: nobody was examined by then. It does not count."
        yield Conflict(f"{says} Record the time it was.", ("fall_event.cleared_at", "fall_event.at"))
    if fall.neck_pain is YesNoUnknown.YES and fall.spine in (None, Found.CLEAR):
        says = "Cleared although the neck hurts: it does not count."
        how = "Ask again, or examine the spine again: suspected means lifted flat."
        yield Conflict(f"{says} {how}", ("fall_event.neck_pain", "fall_event.spine"))


def fall_conflicts(record: Record) -> tuple[Conflict, ...]:
    """What is recorded of the fall that cannot all hold; whatever asks for less does not count meanwhile."""
    fall = record.fall_event
    if fall is None:
        return ()
    return (*_against(fall), *_lift_against_findings(fall), *_orders_missing(fall, record))


def _lift_against_findings(fall: FallEvent) -> Iterator[Conflict]:
    found = [name for name in ("spine", "bones") if getattr(fall, name) is not Found.CLEAR]
    if fall.lift_as in (LiftAs.GUIDED, LiftAs.SLING) and found:
        what = " and ".join(_PART[name] for name in found)
        says = f"Not to be lifted flat is recorded, but {what} not found clear: lifted flat all the same."
        yield Conflict(says, ("fall_event.lift_as", *(f"fall_event.{name}" for name in found)))


_PART = {"spine": "neck and spine are", "bones": "hips and long bones are"}


def _orders_missing(fall: FallEvent, record: Record) -> Iterator[Conflict]:
    for name, field in (("spine", "precautions"), ("bones", "weight_bearing")):
        if getattr(fall, name) is Found.ORDERED and not _has_order(record, name):
            says = f"Orders after the fall are said to be recorded ({_PART[name]} hurt), but there is none."
            yield Conflict(says, (f"fall_event.{name}", field))


def injury_open(fall: FallEvent, record: Record) -> bool:
    """Whether a break or a spine injury was suspected and nobody has said it clear or recorded its orders."""
    return any(
        found in (Found.SUSPECTED, Found.CANNOT_SAY)
        or (found is Found.ORDERED and not _has_order(record, name))
        for name, found in (("spine", fall.spine), ("bones", fall.bones))
    )


_SPINE = {Precaution.SPINAL, Precaution.SPINAL_CERVICAL, Precaution.SPINAL_CLEARED}
_NO_LIMIT = (WeightBearing.FWB, WeightBearing.ABSENT_LIMB)


def _has_order(record: Record, name: str) -> bool:
    """Whether an order is recorded that a hurt spine, or a broken bone, would have."""
    if name == "spine":
        return not _SPINE.isdisjoint(record.precautions)
    limited = any(order.status not in _NO_LIMIT for order in record.weight_bearing.values())
    return limited or Precaution.BED_REST in record.precautions


def lifted_flat(fall: FallEvent, now: datetime) -> bool:
    """Whether only a flat lift or a scoop will do: nobody examined, or spine or bones not found clear.

    Half of the broken hips proven after falls in hospital were not suspected when first looked at: without a
    word on how, flat. Source: NICE QS86, statement 5; National Audit of Inpatient Falls (RCP).
    """
    clear = fall.spine is Found.CLEAR and fall.bones is Found.CLEAR
    return not (cleared(fall, now) and clear and fall.lift_as in (LiftAs.GUIDED, LiftAs.SLING))


def told(fall: FallEvent) -> str:
    """The fall in one sentence: when, who examined, what was found of each part, how it may go up."""
    fell = f"Fell {fall.at:%d %b %H:%M}"
    if fall.cleared_by is None or fall.cleared_at is None:
        return f"{fell}; nobody has examined the patient."
    parts = (("head", fall.head), ("neck and spine", fall.spine), ("hips and long bones", fall.bones))
    found = ", ".join(f"{part} {_FOUND[answer]}" for part, answer in parts)
    up = f"; {_UP[fall.lift_as]}" if fall.lift_as else ""
    return f"{fell}; examined {fall.cleared_at:%d %b %H:%M} by {fall.cleared_by}: {found}{up}."


_FOUND = {
    None: "not said",
    Found.CLEAR: "clear",
    Found.SUSPECTED: "suspected",
    Found.CANNOT_SAY: "cannot say",
    Found.ORDERED: "hurt, by its orders",
}
_UP = {
    LiftAs.GUIDED: "up by own effort, guided",
    LiftAs.SLING: "up with lift and sling",
    LiftAs.FLAT: "lifted flat",
}
