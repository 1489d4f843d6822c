"""The words for feet, turn and seat: which foot goes where, how the turn is made, where the chair stands."""

from __future__ import annotations

from mobicard.derive.brief.from_above.scene import Scene, Thing
from mobicard.derive.brief.looked_up import OTHER, carrying_leg, guarded_knee, hips_not_bent, lost_legs, numb
from mobicard.facts import Record
from mobicard.facts.words import Limb, WeightBearing


def of_the_feet(record: Record) -> dict[str, str]:
    """Which foot carries, what becomes of the other, how both go in the turn and in sitting down."""
    carries = carrying_leg(record)
    off = OTHER[carries] if carries else ""
    touches = f", {off} foot touches" if off and _order_of(record, off) is WeightBearing.NWB else ""
    return {
        "sits": _sits(record),
        "off": _keeps(record, off),
        "guarded": carries or guarded_knee(record) or "weaker",
        "feet_go": f"{carries} foot flat, back{_off_goes(record, off)}" if carries else "feet flat, back",
        "leg_off": "" if off in lost_legs(record) else off,
        "blocked": _blocked(record),
        "leg_weak": f"{carries} leg weak{touches}" if carries else "a leg weak",
    }


def _blocked(record: Record) -> str:
    """What keeps somebody who slips on the seat: the knee of the leg that carries where one alone does, and
    a hip that may not bend kept open."""
    carries = carrying_leg(record)
    lean = ", trunk leaning back" if hips_not_bent(record) else ""
    return f"{f'{carries} knee' if carries else 'knees'}, hips back{lean}"


def _off_goes(record: Record, off: str) -> str:
    """Where the foot goes that does not carry; nothing for a limb that is not there."""
    asked = numb(record, Limb(f"{off}_leg")) or _order_of(record, off) in _KEEPS
    return f"; {off} forward" if asked else ""


def _keeps(record: Record, off: str) -> str:
    """What whoever leads does for the foot that does not carry."""
    status = _order_of(record, off) if off else None
    return _KEEPS[status].format(off) if status in _KEEPS else ""


def _order_of(record: Record, side: str) -> WeightBearing | None:
    """What is ordered of that leg; nothing while it is numb: it rests on the floor whatever is said."""
    limb = Limb(f"{side}_leg")
    order = record.weight_bearing.get(limb)
    return order.status if order and not numb(record, limb) else None


_KEEPS = {
    WeightBearing.TTWB: ", watches {} foot",
    WeightBearing.NWB: ", watches {} foot stays off",
}
"""How much the foot bears once the patient stands is said to them."""


def _turns(record: Record) -> str:
    """How the feet go in a turn on one leg: the one that touches leads, so that its hip does not roll in."""
    carries = carrying_leg(record)
    if carries is None:
        return ""
    off = OTHER[carries]
    return f", {off} toes lead" if _order_of(record, off) is WeightBearing.TTWB else f", {carries} heel-toe"


def _sits(record: Record) -> str:
    """A hip that may not bend is kept open in sitting down as in rising."""
    carries = carrying_leg(record)
    limited = carries is not None and hips_not_bent(record) == f"{OTHER[carries]} hip"
    return f"{OTHER[carries]} forward, sit slowly" if carries and limited else "sit slowly"


def _back(scene: Scene) -> str:
    """The bed's side for the way back, and the turn on one leg, which is the same again."""
    again = f"; turn {scene.turn_to.upper()}" if scene.turn and scene.patient.carries else ""
    return f"{scene.side}{again}"


def of_the_chair(scene: Scene | None, record: Record) -> dict[str, str]:
    """Where the chair is, how the patient turns, where the bed is on the way back: read from the scene."""
    chair = scene.box(Thing.CHAIR) if scene else None
    if scene is None or chair is None:
        return dict.fromkeys(("chair_at", "turn", "chair_how", "back_at"), "")
    angle = round(abs((chair.facing - scene.patient.facing + 180) % 360 - 180))
    body = scene.patient
    return {
        "chair_at": scene.side,
        "chair_how": "alongside" if angle == 90 else f"{angle}°, touching",
        "turn": f"{scene.turn_to.upper()} {angle}°{_turns(record)}" if scene.turn else "",
        "back_at": _back(scene) if body.carries or body.guarded else "",
    }
