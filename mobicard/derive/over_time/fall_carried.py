"""A fall from one record to the next: silence, a later fall or an older message ends nothing of it."""

from __future__ import annotations

from typing import Any

from mobicard.derive.over_time.after_fall import fall_is_over
from mobicard.derive.over_time.fall_cleared import contradicted
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Found, YesNoUnknown


def carried_fall(before: Record, after: Record) -> Record:
    """The new record with what still holds of the fall in the one before it. Times are ward times."""
    was, now = before.fall_event, after.fall_event
    if was is None or (fall_is_over(was, after) and (now is None or now.at != was.at)):
        return after
    kept = _whole(was) if now is None or now.at < was.at else _whole(now) | _kept(was, now)
    return after if now is not None and kept == _whole(now) else after.changed(fall_event=kept)


def _whole(fall: FallEvent) -> dict[str, Any]:
    return fall.model_dump(exclude_none=True)


def _kept(was: FallEvent, now: FallEvent) -> dict[str, Any]:
    """What the newer statement does not settle of the earlier one."""
    if was.at == now.at:
        return _findings(was, now)
    kept = _suspected(was, now) if now.cleared_by else {}
    if was.cleared_at is None or contradicted(was):
        kept |= _head(was, now)
    return kept


def _findings(was: FallEvent, now: FallEvent) -> dict[str, Any]:
    """What was found after this fall, where the newer statement is silent: only a word on it settles it."""
    silent = [part for part in ("head", "spine", "bones") if getattr(was, part) and not getattr(now, part)]
    who = () if now.cleared_by or not silent else ("cleared_by", "cleared_at")
    return {name: getattr(was, name) for name in (*silent, *who)}


def _suspected(was: FallEvent, now: FallEvent) -> dict[str, Any]:
    """What was suspected after an earlier fall, where the examination after this one says nothing of it."""
    parts = ("spine", "bones")
    asked = {part: getattr(was, part) for part in parts if getattr(now, part) is None}
    return {part: found for part, found in asked.items() if found not in (None, Found.CLEAR)}


def _head(was: FallEvent, now: FallEvent) -> dict[str, Any]:
    """Fallen again before anybody cleared the first fall: the head spared this time spares nothing."""
    kept: dict[str, Any] = {}
    if was.head_strike is not YesNoUnknown.NO and now.head_strike is YesNoUnknown.NO:
        kept["head_strike"] = was.head_strike or YesNoUnknown.UNKNOWN
    if was.witnessed is not True and now.witnessed:
        kept["witnessed"] = False
    return kept
