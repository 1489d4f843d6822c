"""What a new record carries on from the one before it: hazards that nobody has ended."""

from __future__ import annotations

from typing import Any

from mobicard.derive.over_time.fall_carried import carried_fall
from mobicard.derive.over_time.head_timetable import carried_watch
from mobicard.derive.over_time.standing_orders import carried_orders
from mobicard.derive.vitals import bars_getting_up, orthostatic, taken_at
from mobicard.facts import PressureDrop, Record, Vitals
from mobicard.rules.policy import Policy


def carried_on(before: Record, after: Record, policy: Policy) -> Record:
    """The new record with every hazard of the one before it that it does not end. Times are ward times.

    A reading that bars getting up ends with a new one; a fall, once the patient is up and was looked at
    again; a fall of pressure, by a reading taken standing that holds; an operation, by a look after it; head
    observations and orders, by a name. Silence ends nothing.
    """
    after = carried_orders(before, carried_fall(before, after))
    after = _unasked(before, after)
    operation = after.operation or before.operation
    facts: dict[str, Any] = {
        "vitals": _barring(before, after, policy),
        "head_watch": carried_watch(before, after),
        "pressure_drop": _drop(before, after, policy),
        "readings_cleared": after.readings_cleared or before.readings_cleared,
        "operation": operation if operation and not looked_at_since(after, operation.at) else None,
    }
    if all(getattr(after, name) == value for name, value in facts.items()):
        return after
    dumped = {k: v.model_dump(exclude_none=True) if hasattr(v, "model_dump") else v for k, v in facts.items()}
    return after.changed(**dumped)


STAYS = ("lines", "weak_side", "neglect", "sore_sites", "skin_risk", "pregnancy_weeks")
"""What is as it was until somebody asks again."""


def _unasked(before: Record, after: Record) -> Record:
    """The new record with the last answer to what nobody asked this time; a failed leg until it is tested."""
    facts = {name: getattr(before, name) for name in STAYS if before.asked(name) and not after.asked(name)}
    failed = {leg: test for leg, test in before.legs.items() if test.fails and leg not in after.legs}
    if failed:
        facts["legs"] = {**failed, **after.legs}
    return after.model_copy(update=facts) if facts else after


def _barring(before: Record, after: Record, policy: Policy) -> Vitals | None:
    """The new vital signs with each one of before that bars getting up and was not measured again."""
    old, new, taken = before.vitals, after.vitals, taken_at(before)
    if old is None or taken is None or not bars_getting_up(before, policy):
        return new
    if new is None:
        return old.model_copy(update={"at": taken})
    kept = {name: getattr(old, name) for name in ("spo2", "resp_rate") if getattr(new, name) is None}
    alone = before.model_copy(update={"vitals": Vitals(at=taken, **kept)})
    return new.model_copy(update=kept) if bars_getting_up(alone, policy) else new


def looked_at_since(record: Record, at: Any) -> bool:
    """Whether the record is an assessment made after this time."""
    return record.assessed_at is not None and record.assessed_at > at


def _drop(before: Record, after: Record, policy: Policy) -> PressureDrop | None:
    """The fall of pressure still standing after the new record, with the time it was first seen."""
    measured = after.changed(pressure_drop=None)
    newest = taken_at(after)
    answer = orthostatic(measured, policy, newest) if newest else None
    if answer is not None and answer.positive is False:
        return None
    if before.pressure_drop:
        return before.pressure_drop
    seen = taken_at(before)
    earlier = orthostatic(before, policy, seen) if seen else None
    if seen is None or earlier is None or not earlier.positive:
        return after.pressure_drop
    if answer is not None and answer.positive:
        return after.pressure_drop
    return PressureDrop(
        at=seen,
        sbp=max(earlier.drop_sbp, 0) if earlier.drop_sbp is not None else None,
        dbp=max(earlier.drop_dbp, 0) if earlier.drop_dbp is not None else None,
    )
