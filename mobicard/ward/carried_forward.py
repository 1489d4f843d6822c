"""Carrying a record forward: what may be confirmed unseen, what may not, and what keeps its own time."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.derive.over_time.validity import shift_before, shift_start
from mobicard.facts import Record
from mobicard.facts.moves import EVERY_LOOK
from mobicard.ledger import StayState
from mobicard.rules.policy import Policy
from mobicard.ward.views import BedView


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


def why_not_same(view: BedView, now: datetime, policy: Policy) -> str | None:  # noqa: PLR0911 - one a reason
    """The reason for refusing, in words, or None."""
    if view.recorded_at is None or view.record.assessed_at is None:
        return "nothing has been recorded for this stay yet: record it"
    if view.plan.after_fall is not None or "fall" in view.unseen_since:
        return "the patient has fallen since: assess again"
    if "move" in view.unseen_since:
        return "the patient has moved bed since: look again, the room and its equipment differ"
    if "procedure" in view.unseen_since:
        return "there was an operation or procedure since: assess again"
    answered = {f"help.{task.value}" for task in view.record.help}
    missing = [name for name in view.plan.not_assessed if name in EVERY_LOOK and name not in answered]
    if missing:
        names = ", ".join(name.replace("_", " ") for name in missing)
        return f"not assessed yet: {names}; record what is missing"
    oldest = shift_before(shift_start(now, policy.shift), policy.shift) - timedelta(
        minutes=policy.shift.lead_min
    )
    if view.record.assessed_at < oldest:
        return f"last looked at {view.record.assessed_at:%d %b %H:%M}, more than a shift ago: assess again"
    return None
