"""How high the bed is set: a band that all helpers share, or what the patient rises from with flat feet."""

from __future__ import annotations

from collections.abc import Sequence

from mobicard.derive.brief.values import BedHeight, Helper, figure, source_text

ABOVE_THE_KNEE = 5
"""How much higher the bed may be, and with a hip limit is, than the knee of one who sits, cm. No source."""


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
        says = f"Mattress {cm(*band)}, hip to elbow"
        return BedHeight(*band, says, source_text("ansur"))
    height = waist(min(known))
    says = f"Mattress {height} cm: the shorter one's waist; better regroup"
    return BedHeight(height, height, says, source_text("bc_stretcher"))


def getting_up(height_cm: float | None, no_bend: bool = False) -> BedHeight:
    """The bed to rise from: as high as feet stay flat, else 51 to 66 cm. ``height_cm``: patient's stature.

    ``no_bend``: a hip may not bend past a right angle. Then the seat above the knees wins, the
    feet flat or not (a raised seat with a hip limit: common practice, no source).
    """
    least, most = (int(figure("getting_up_cm", name)) for name in ("least", "most"))
    if height_cm is None:
        says = f"Mattress {least}-{most} cm, feet flat"
        says = f"Mattress/seat {most} cm, hips above knees" if no_bend else says
        return BedHeight(most if no_bend else least, most, says, source_text("cdc_height"))
    knee = min(round(height_cm * figure("stature", "knee_sitting")), most)
    high = max(knee, min(most, knee + ABOVE_THE_KNEE))
    if no_bend:
        says = f"Mattress/seat {high} cm, hips above knees"
        return BedHeight(high, high, says, source_text("common"))
    says = f"Mattress {cm(knee, high)}, feet flat"
    return BedHeight(knee, high, says, source_text("cdc_height"))


def cm(low: int, high: int) -> str:
    """A height, or the band it may be in, in words."""
    return f"{low} cm" if low == high else f"{low}-{high} cm"
