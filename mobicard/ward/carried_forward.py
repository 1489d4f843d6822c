"""Carrying a record forward: what may be confirmed unseen, what may not, and what keeps its own time."""

from __future__ import annotations

from datetime import datetime

from mobicard.facts import Record
from mobicard.ledger import StayState


def carry_forward(record: Record, at: datetime, by: str) -> Record:
    """The same facts assessed again by ``by`` at ``at``.

    Vital signs keep the time they were taken: confirming a patient does not measure the pressure again.
    """
    facts: dict[str, object] = {"assessed_at": at, "assessed_by": by}
    if record.vitals and record.vitals.at is None and record.assessed_at:
        facts["vitals"] = {**record.vitals.model_dump(exclude_none=True), "at": record.assessed_at}
    if record.fall_event and record.fall_event.up_at:
        facts["fall_event"] = None
    return record.changed(**facts)


def record_of(state: StayState) -> Record:
    """The state's record in the bed the stay is in now; an unassessed stay is a record of its bed alone."""
    if state.record is None:
        return Record(bed=state.bed, label=state.label)
    if state.record.bed != state.bed:
        return state.record.model_copy(update={"bed": state.bed})
    return state.record
