"""How high the bed is set: a band that all helpers share, or what the patient rises from with flat feet."""

from __future__ import annotations

from collections.abc import Sequence

from mobicard.derive.brief.values import BedHeight, Helper, figure, source_text


def shared_band(statures_cm: Sequence[float]) -> tuple[int, int] | None:
    """Mattress top in cm from the tallest one's hip to the shortest one's elbow; None where they share none.

    Fractions of stature: ANSUR II. They share a band while taller over shorter is at most .614/.515 = 1.19.
    """
    low = max(statures_cm) * figure("stature", "hip")
    high = min(statures_cm) * figure("stature", "elbow")
    return (round(low), round(high)) if low <= high else None


def waist(stature_cm: float) -> int:
    """The waist in cm. Source: ANSUR II; as the rule for the shortest, BCcampus 3.7."""
    return round(stature_cm * figure("stature", "waist"))


def handling(helpers: Sequence[Helper]) -> BedHeight:
    """The bed for hands: hip to elbow of all whose stature is known, else the shorter one's waist."""
    known = [one.stature_cm for one in helpers if one.stature_cm is not None]
    if not known:
        says = "Mattress between the tallest one's hip and the shortest one's elbow"
        return BedHeight(None, None, says, source_text("ansur"))
    band = shared_band(known)
    if band:
        says = f"Mattress {band[0]}-{band[1]} cm high: hip to elbow of all"
        return BedHeight(*band, says, source_text("ansur"))
    height = waist(min(known))
    says = f"Mattress {height} cm high: the shorter one's waist; better regroup"
    return BedHeight(height, height, says, source_text("bc_stretcher"))


def getting_up(height_cm: float | None) -> BedHeight:
    """The bed to rise from: feet flat wins, else 51 to 66 cm. ``height_cm`` is the patient's stature."""
    least, most = (int(figure("getting_up_cm", name)) for name in ("least", "most"))
    if height_cm is None:
        says = f"Mattress {least}-{most} cm high; feet flat wins"
        return BedHeight(least, most, says, source_text("cdc_height"))
    knee = min(round(height_cm * figure("stature", "knee_sitting")), most)
    high = max(knee, min(most, knee + 5))
    return BedHeight(knee, high, f"Mattress {knee} cm high; feet flat wins", source_text("cdc_height"))
