"""When *same as before* may not be used: it is a look at the patient, not a way round one."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.rules.policy import Policy
from mobicard.ward.shifts import shift_before, shift_start
from mobicard.ward.views import BedView

_DECIDING = ("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms")


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
    missing = [
        name
        for name in view.plan.not_assessed
        if name in _DECIDING or (name.startswith("help.") and name not in answered)
    ]
    if missing:
        names = ", ".join(name.replace("_", " ") for name in missing)
        return f"not assessed yet: {names}; record what is missing"
    oldest = shift_before(shift_start(now, policy.shift), policy.shift) - timedelta(
        minutes=policy.shift.lead_min
    )
    if view.record.assessed_at < oldest:
        return f"last looked at {view.record.assessed_at:%d %b %H:%M}, more than a shift ago: assess again"
    return None
