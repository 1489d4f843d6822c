"""A stay as FHIR tells it: what stands, what was told of it before, and what was withdrawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import datetime

from pydantic import ValidationError

from mobicard.derive import plan_for
from mobicard.exchange.fhir.resources import FhirStay, Told
from mobicard.facts import Record
from mobicard.ledger import Entry, LedgerUnreachable
from mobicard.ledger.state import StayState, fold
from mobicard.ward.beds import Beds
from mobicard.ward.carried_forward import record_of
from mobicard.ward.corrections import withdrawn
from mobicard.ward.views import BedView


def as_it_stands(ward: Beds, view: BedView) -> FhirStay:
    """What is known of an occupied bed now; while the ledger is away, without when the stay began."""
    stay = FhirStay(view.stay, view.record, view.plan)
    with suppress(LedgerUnreachable):
        return whole_stay(ward, view.stay, with_past=False) or stay
    return stay


def changed_since(ward: Beds, since: datetime) -> Iterator[FhirStay]:
    """Every stay that something was said of since (ward time), or whose plan ended by itself since then."""
    touched = set(ward.ledger.touched(ward.clock.utc_of(since)))
    for view in ward.one_by_one():
        ended = view.plan.valid_until
        if view.plan.expired and ended is not None and ended > since:
            touched.add(view.stay)
    for stay in sorted(touched):
        if (told := whole_stay(ward, stay)) and ward.lies_here(told.record.bed):
            yield told


def whole_stay(ward: Beds, stay: str, *, with_past: bool = True) -> FhirStay | None:
    """One stay from its entries, with all that was told of it; None where nothing of it is left."""
    history = ward.ledger.history(stay)
    state = fold(history)
    if state is None or not (state.bed or state.record):
        return None
    told = tuple(_told(ward, history)) if with_past else ()
    record = record_of(state)
    standing = [one.at for one in told if one.withdrawn_at is None]
    return FhirStay(
        stay,
        record,
        plan_for(record, ward.policy, ward.now, ward.settings.inventory),
        admitted_at=state.admitted_at,
        moved_at=state.moved_at,
        left_at=_left_at(state, history),
        recorded_at=max(standing, default=state.recorded_at or state.admitted_at),
        told=told,
    )


def _left_at(state: StayState, history: Sequence[Entry]) -> datetime | None:
    if state.open:
        return None
    merged = [entry.at for entry in history if entry.kind == "merge"]
    return state.discharged_at or max(merged, default=None)


def _told(ward: Beds, history: Sequence[Entry]) -> Iterator[Told]:
    """Each record that an entry carries, a look that came late among them, and when it was withdrawn."""
    gone = withdrawn(history)
    for entry in history:
        for facts in (entry.body.get("late"), entry.body.get("record")):
            record = _read(facts)
            if record is not None:
                at = ward.clock.ward_time(entry.at)
                plan = plan_for(record, ward.policy, at, ward.settings.inventory)
                yield Told(record, plan, entry.at, gone.get(entry.version))


def _read(facts: object) -> Record | None:
    """A record of another version that cannot be read here was not told from here either."""
    try:
        return Record.model_validate(facts) if facts else None
    except ValidationError:
        return None
