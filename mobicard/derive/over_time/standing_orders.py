"""Standing orders and precautions: each since when and by whom, until somebody ends it by name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from mobicard.facts import Order, OrderEnded, Record
from mobicard.facts.words import Limb, Precaution, WeightBearing

SPINE = (Precaution.SPINAL, Precaution.SPINAL_CERVICAL)


def carried_orders(before: Record, after: Record) -> Record:
    """The new record with every precaution and limb order of the one before that nobody ended.

    Leaving one out ends nothing: an entry in ``ended`` does, a spine cleared (and that one, another order
    for the spine), another order for the limb.
    """
    began = {order.what: order.at for order in before.orders}
    fresh = (end for end in after.ended if end not in before.ended)
    told = tuple(end for end in fresh if end.at >= began.get(end.what, end.at))
    over = {end.what for end in told}
    if Precaution.SPINAL_CLEARED in after.precautions:
        over |= {item.value for item in SPINE}
    elif any(item in after.precautions and item not in before.precautions for item in SPINE):
        over.add(Precaution.SPINAL_CLEARED.value)
    left = [item for item in before.precautions if item not in after.precautions and item.value not in over]
    limbs = {
        limb: order
        for limb, order in before.weight_bearing.items()
        if limb not in after.weight_bearing and limb.value not in over
    }
    facts: dict[str, Any] = {"ended": told}
    if left:
        facts["precautions"] = (*after.precautions, *left)
    if limbs:
        facts["weight_bearing"] = {**limbs, **after.weight_bearing}
    kept = after.model_copy(update=facts)
    return kept.model_copy(update={"orders": tuple(_since(before, kept))})


def _since(before: Record, after: Record) -> Iterator[Order]:
    """Each order that stands now, from the time it was first said; an end said for it stays with it."""
    was = {order.what: order for order in before.orders}
    said = {order.what: order for order in after.orders}
    for what in standing(after):
        known, now = was.get(what), said.get(what)
        if what in {limb.value for limb in Limb} and _limb(before, what) != _limb(after, what):
            known = None
        first = known or now
        if first is None and after.assessed_at is not None:
            first = Order(what=what, at=after.assessed_at, by=after.assessed_by)
        if first is not None:
            until = (now.until if now else None) or first.until
            still = max(filter(None, (first.still_at, now.still_at if now else None)), default=None)
            yield first.model_copy(update={"until": until, "still_at": still})


def standing(record: Record) -> Iterator[str]:
    """The precautions, then the limbs that may not bear full weight, by their names in a record."""
    yield from (item.value for item in record.precautions)
    for limb, order in record.weight_bearing.items():
        if WeightBearing.PWB.rank <= order.status.rank and order.status is not WeightBearing.ABSENT_LIMB:
            yield limb.value


def _limb(record: Record, what: str) -> object:
    return record.weight_bearing.get(Limb(what))


def taken_off(before: Record, after: Record) -> tuple[Precaution, ...]:
    """The precautions that stood before and do not any more, but for what another of the spine replaces."""
    kept = carried_orders(before, after).precautions
    return tuple(item for item in before.precautions if item in kept and item not in after.precautions)


def ended_by(record: Record, off: Iterable[Precaution], at: datetime, by: str) -> Record:
    """The record with an entry for each of these that says it is over, in this name."""
    ends = (OrderEnded(what=item.value, at=at, by=by) for item in off)
    return record.model_copy(update={"ended": (*record.ended, *ends)})


def without(record: Record, what: str, at: datetime, by: str) -> Record:
    """The record with this order over, said by ``by``."""
    precautions = tuple(item for item in record.precautions if item.value != what)
    limbs = {limb: order for limb, order in record.weight_bearing.items() if limb.value != what}
    ended = (*record.ended, OrderEnded(what=what, at=at, by=by))
    facts: dict[str, Any] = {"ended": ended}
    if len(precautions) < len(record.precautions):
        facts["precautions"] = precautions
    if len(limbs) < len(record.weight_bearing):
        facts["weight_bearing"] = limbs
    return record.model_copy(update=facts)


def with_end(record: Record, what: str, until: datetime) -> Record:
    """The record with an end to this order: from then on somebody must look; it does not lift itself."""
    told = tuple(o.model_copy(update={"until": until}) if o.what == what else o for o in record.orders)
    return record.model_copy(update={"orders": told})


def still_so(record: Record, what: str, at: datetime) -> Record:
    """The record with this order confirmed: somebody was asked, and it stands."""
    told = tuple(o.model_copy(update={"still_at": at}) if o.what == what else o for o in record.orders)
    return record.model_copy(update={"orders": told})


def not_asked_since(record: Record, since: datetime) -> tuple[Order, ...]:
    """The orders of which nobody has said since then that they stand, the longest unasked first."""
    open_ones = (order for order in record.orders if order.asked_at < since)
    return tuple(sorted(open_ones, key=lambda order: order.asked_at))


def due_for_a_look(record: Record, now: datetime) -> Order | None:
    """The first order whose end has come with nobody saying *still so* since: it holds, and a look is due."""
    come = [order for order in record.orders if order.until is not None and order.until <= now]
    open_ones = [order for order in come if order.until and order.asked_at < order.until]
    return min(open_ones, key=lambda order: order.until or now, default=None)
