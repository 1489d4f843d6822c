"""The one limit that matters most for a bed: what a colleague passing the Board must not miss."""

from __future__ import annotations

from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.facts.units import floored
from mobicard.facts.words import Precaution, WeightBearing

_WORST_FIRST = (
    Precaution.SPINAL_CERVICAL,
    Precaution.SPINAL,
    Precaution.FEMORAL_SHEATH,
    Precaution.BED_REST,
    Precaution.STERNAL,
    Precaution.GROIN_LEFT,
    Precaution.GROIN_RIGHT,
    Precaution.HIP_POSTERIOR_LEFT,
    Precaution.HIP_POSTERIOR_RIGHT,
    Precaution.HIP_ANTERIOR_LEFT,
    Precaution.HIP_ANTERIOR_RIGHT,
    Precaution.SPINAL_CLEARED,
    Precaution.ABDOMINAL,
    Precaution.HEAD_FLAT,
    Precaution.HEAD_UP_30,
    Precaution.NO_GAIT_BELT,
)


def limit_that_matters(record: Record, plan: Plan) -> str:
    """A few words, or an empty text where no limit is recorded. A figure stands first: no column cuts it."""
    if plan.after_fall is not None:
        return "after a fall"
    spine = [p for p in _WORST_FIRST[:4] if p in record.precautions]
    if spine:
        return spine[0].value.replace("_", " ")
    limbs = sorted(plan.weight_bearing, key=lambda limit: -limit.status.rank)
    for limit in limbs:
        if limit.status in (
            WeightBearing.NWB,
            WeightBearing.TTWB,
            WeightBearing.PWB,
            WeightBearing.ABSENT_LIMB,
        ):
            figure = f"{floored(limit.limit_kg):.0f} kg " if limit.limit_kg else ""
            term = "absent" if limit.status is WeightBearing.ABSENT_LIMB else limit.status.value
            side, _, limb = limit.limb.value.partition("_")
            return f"{figure}{side[0].upper()} {limb} {term}"
    rest = [p for p in _WORST_FIRST[4:] if p in record.precautions]
    return rest[0].value.replace("_", " ") if rest else ""
