"""Vital signs: the fall of pressure on standing, and whether they are within the limits to start a move."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from mobicard.derive.model import Orthostatic
from mobicard.facts.record import Record
from mobicard.facts.vitals import Pressure, Vitals
from mobicard.rules.policy import Policy, Sign

SOURCE: Final = "Freeman et al. 2011, doi 10.1016/j.autneu.2011.02.004; dizziness: CDC STEADI"
START_SOURCE: Final = "early-mobilisation practice, Crit Care Res Pract 2020:7840743, T5-T7"


def orthostatic(record: Record, policy: Policy, now: datetime) -> Orthostatic | None:
    """The fall of pressure from lying to standing, mmHg, or None where nothing of it was recorded.

    Positive: a fall of 20 systolic or 10 diastolic or more at 1 or 3 minutes, or dizziness; the larger fall
    of the two readings counts. A fall seen stays one, however old, until a standing reading shows that
    pressure holds. ``positive`` is None where the readings cannot say: not positive and too old (policy),
    not measured standing, or without a time.
    """
    found = _measured(record, policy, now)
    if record.pressure_drop is None or (found is not None and found.positive is not None):
        return found
    earlier = record.pressure_drop
    return Orthostatic(earlier.sbp, earlier.dbp, True, earlier.says, SOURCE)


def taken_at(record: Record) -> datetime | None:
    """When the vital signs were taken; None without any."""
    return (record.vitals.at or record.assessed_at) if record.vitals else None


def _measured(record: Record, policy: Policy, now: datetime) -> Orthostatic | None:
    """What the record's own readings say."""
    vitals = record.vitals
    if vitals is None or not _says_anything(vitals):
        return None
    taken = taken_at(record)
    found = _compare(vitals, policy)
    if is_stale(taken, policy, now):
        hours = policy.vitals.stale_after_h
        if found.positive:
            return replace(found, says=f"{found.says} Older than {hours:g} hours: measure again.")
        return _unmeasured(f"Pressure lying and standing is older than {hours:g} hours: measure again.")
    if not found.positive and (taken is None or taken > now):
        return _unmeasured("The readings carry no time that has been: measure again.")
    return found


def is_stale(taken: datetime | None, policy: Policy, now: datetime) -> bool:
    """Whether readings are older than the policy lets them count; readings without a time never are."""
    return taken is not None and now - taken > timedelta(hours=policy.vitals.stale_after_h)


def _says_anything(vitals: Vitals) -> bool:
    pressures = (vitals.lying, vitals.sitting, vitals.standing_1min, vitals.standing_3min)
    return vitals.dizzy is not None or any(pressures)


def _compare(vitals: Vitals, policy: Policy) -> Orthostatic:
    base = vitals.lying or vitals.sitting
    upright = [
        (when, pressure)
        for when, pressure in (("1 min", vitals.standing_1min), ("3 min", vitals.standing_3min))
        if pressure is not None
    ]
    stood = bool(upright)
    if not upright and vitals.lying and vitals.sitting:
        upright = [("sitting", vitals.sitting)]
    if base is None or not upright:
        if vitals.dizzy:
            return Orthostatic(None, None, True, "Dizzy on standing; pressure not compared.", SOURCE)
        return _unmeasured("Pressure was not measured both lying and standing.")
    drop_sbp = max(base.sbp - pressure.sbp for _, pressure in upright)
    drop_dbp = max(base.dbp - pressure.dbp for _, pressure in upright)
    positive = _falls(drop_sbp, drop_dbp, policy) or vitals.dizzy is True
    if not positive and not (stood and vitals.lying):
        says = "Not measured both lying and standing: no answer yet."
        return Orthostatic(drop_sbp, drop_dbp, None, says, SOURCE)
    measured = " and ".join(when for when, _ in upright)
    if not _falls(drop_sbp, drop_dbp, policy):
        says = _held_says(vitals, measured)
    else:
        says = f"Pressure falls by {max(drop_sbp, 0)}/{max(drop_dbp, 0)} on standing ({measured})"
        says += (", dizzy." if vitals.dizzy else ".") + _high_lying_says(base, drop_sbp, policy)
    return Orthostatic(drop_sbp, drop_dbp, positive, says, SOURCE)


def _falls(drop_sbp: int, drop_dbp: int, policy: Policy) -> bool:
    return drop_sbp >= policy.vitals.drop_sbp or drop_dbp >= policy.vitals.drop_dbp


def _held_says(vitals: Vitals, measured: str) -> str:
    if vitals.dizzy:
        return f"Dizzy on standing, though pressure held at {measured}."
    later = "" if vitals.standing_3min else "; no reading at 3 min"
    return f"Pressure held on standing at {measured}{later}."


def _high_lying_says(base: Pressure, drop_sbp: int, policy: Policy) -> str:
    better = policy.vitals.lying_high_drop_sbp
    if base.sbp < policy.vitals.lying_high_sbp or drop_sbp >= better:
        return ""
    return f" Pressure lying is high: a fall of {better} may be the better sign."


def _unmeasured(says: str) -> Orthostatic:
    return Orthostatic(None, None, None, says, SOURCE)


class Outside(NamedTuple):
    """A vital sign outside the policy's limits to start a move, and the sentence with its value."""

    sign: Sign
    says: str


def start_limits(record: Record, policy: Policy, now: datetime) -> tuple[str, ...]:
    """One sentence for each vital sign outside the policy's limits to start a move; none where none is known.

    Saturation %, breaths and beats a minute, systolic and mean pressure in mmHg, in
    every posture measured. Mean pressure is (systolic + 2 x diastolic) / 3. Empty where the policy
    switches the check off; age ends none of them. Source: Crit Care Res Pract 2020:7840743, T5-T7.
    """
    if record.vitals is None or not policy.vitals.check_start_limits:
        return ()
    old = " Old: measure again." if is_stale(taken_at(record), policy, now) else ""
    return tuple(f"{one.says}{old}{_cleared_says(record)}" for one in _all_outside(record.vitals, policy))


def bars_getting_up(record: Record, policy: Policy) -> bool:
    """Whether a reading keeps the patient in bed: one the policy lets bar, and nobody has cleared it."""
    if record.vitals is None or not policy.vitals.check_start_limits or _is_cleared(record):
        return False
    return any(one.sign in policy.vitals.bars for one in _all_outside(record.vitals, policy))


def _is_cleared(record: Record) -> bool:
    cleared, taken = record.readings_cleared, taken_at(record)
    return cleared is not None and taken is not None and taken <= cleared.at


def _cleared_says(record: Record) -> str:
    cleared = record.readings_cleared
    return f" Cleared by {cleared.by}." if cleared and _is_cleared(record) else ""


def _all_outside(vitals: Vitals, policy: Policy) -> Iterator[Outside]:
    limits = policy.vitals
    yield from _saturation(vitals, policy)
    yield from _outside("resp_rate", "Breathing rate", vitals.resp_rate, limits.resp_rate)
    for posture, reading in _readings(vitals):
        yield from _outside("hr", "Pulse", reading.hr, limits.hr, posture)
        yield from _pressure("Systolic pressure", reading.sbp, limits.sbp, posture)
        yield from _pressure("Mean pressure", mean_pressure(reading), limits.map_mmhg, posture)


def _pressure(what: str, value: float, limits: tuple[int, int], posture: str) -> Iterator[Outside]:
    sign: Sign = "low_pressure" if value < limits[0] else "high_pressure"
    yield from _outside(sign, what, value, limits, posture)


def _saturation(vitals: Vitals, policy: Policy) -> Iterator[Outside]:
    """A recorded target of 88 to 92 % takes the place of the limit."""
    above = policy.vitals.spo2_target_from - 1 if vitals.target_88_92 else policy.vitals.spo2_above
    if vitals.spo2 is not None and vitals.spo2 <= above:
        yield Outside("spo2", f"Oxygen saturation {vitals.spo2} % is not above {above}: ask before moving.")


def _readings(vitals: Vitals) -> Iterator[tuple[str, Pressure]]:
    """Every reading there is: one out of limits is not made good by another."""
    for posture, reading in (
        ("lying", vitals.lying),
        ("sitting", vitals.sitting),
        ("after 1 minute standing", vitals.standing_1min),
        ("after 3 minutes standing", vitals.standing_3min),
    ):
        if reading is not None:
            yield posture, reading


def mean_pressure(pressure: Pressure) -> float:
    """Mean arterial pressure, mmHg: diastolic plus a third of the pulse pressure (from memory)."""
    return (pressure.sbp + 2 * pressure.dbp) / 3


def _outside(
    sign: Sign, what: str, value: float | None, limits: tuple[int, int], posture: str = ""
) -> Iterator[Outside]:
    low, high = limits
    if value is not None and not low <= value <= high:
        where = f" {posture}" if posture else ""
        yield Outside(sign, f"{what} {value:.0f}{where} is outside {low} to {high}: ask before moving.")
