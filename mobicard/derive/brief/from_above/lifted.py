"""Moves with a machine, from the floor, and up in the chair again."""

from __future__ import annotations

from mobicard.derive.brief.from_above.cast import (
    BEHIND_LEGS,
    EDGE,
    HEAD,
    OUT,
    SEAT_Y,
    Cast,
    Layout,
    Spot,
    spots,
)
from mobicard.derive.brief.from_above.from_edge import edge
from mobicard.derive.brief.from_above.in_bed import bed, lying
from mobicard.derive.brief.from_above.scene import BODY_CM, Body, Box, Point, Posture, Thing
from mobicard.derive.brief.ways import Way

TO_THE_BED = {Way.LIFT: 70.0, Way.FLAT_LIFT: 78.0}
"""From the middle of who lies on the floor to the bed it goes onto: room for the sling and for people."""


def aid(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + OUT
    machine = Box(Thing.AID, x + 45, SEAT_Y, 60, 60, 180)
    if cast.to_a_seat:
        return _aid_to_a_seat(cast, machine)
    places = spots((x + 45 + 30 + EDGE, SEAT_Y), (x - 4, SEAT_Y - 52), (x - 4, SEAT_Y + 52))
    arrow = ((x, SEAT_Y), (x + 15, SEAT_Y))
    return Layout((bed(cast.sizes), machine), edge(cast), places, arrow, pole=1)


def _aid_to_a_seat(cast: Cast, machine: Box) -> Layout:
    """The seat off the aid's legs, with room for the turn; who guides is between bed and way: the aid swings
    its mast to the head end, and nobody stands there."""
    seat, x = cast.sizes.chair, cast.sizes.bed_width / 2 + OUT
    chair = Box(Thing.CHAIR, x + 40, SEAT_Y + 112, seat, seat, 270, True, cast.called)
    works = Spot((machine.x + 30 + EDGE, SEAT_Y), hands=((machine.x + 30, SEAT_Y),))
    guides = Spot((x - 11, SEAT_Y + 55), hands=((x - 4, SEAT_Y + 12),))
    places = (works, guides, *spots((chair.x + seat / 2 + EDGE, chair.y)))
    front = chair.front()
    body = edge(cast, (front[0], front[1] - BEHIND_LEGS))
    return Layout((bed(cast.sizes), machine, chair), body, places, _back_and_round(x, chair), pole=1)


def _back_and_round(x: float, chair: Box) -> tuple[Point, ...]:
    """Straight away from the bed, then round before the tips of the aid's legs, until the seat is behind."""
    out, bend = ((x - 6, SEAT_Y), (x + 6, SEAT_Y)), ((x + 11, SEAT_Y + 6), (x + 12, SEAT_Y + 40))
    return (*out, *bend, (x + 26, SEAT_Y + 72), (chair.x, chair.y - 18))


def lift(cast: Cast) -> Layout:
    half = cast.sizes.bed_width / 2
    machine = Box(Thing.LIFT, half + 20, 100, 66, 90, 180, under=True)
    works = Spot((half + 65 + EDGE, 100.0), hands=((half + 65, 100.0),))
    places = (works, *spots((-half - EDGE, 70.0), (-half - EDGE, 130.0), (half + EDGE, 40.0)))
    legs = Spot((half + EDGE, 172.0), hands=((half - 22, 165.0),))
    if not cast.to_a_seat:
        places = places if cast.turned else (*places[:2], legs, *places[3:])
        arrow_in_bed = ((0.0, 100.0), (-30.0, 100.0)) if cast.turned else ((0.0, 100.0), (0.0, 80.0))
        return Layout((bed(cast.sizes), machine), lying(cast), places, arrow_in_bed)
    chair = _seat_off(cast)
    places = (works, legs, *places[1:])
    arrow = ((0.0, 100.0), (half + 40, 110.0), (half + 65, 165.0))
    return Layout((bed(cast.sizes), machine, chair), lying(cast), places, arrow, pole=1)


def _seat_off(cast: Cast) -> Box:
    """The seat that a machine goes to, off the bed's foot."""
    seat = cast.sizes.chair
    return Box(Thing.CHAIR, cast.sizes.bed_width / 2 + 75, 200, seat, seat, 270, True, cast.called)


def from_floor(cast: Cast) -> Layout:
    """Beside the bed it goes onto; with the lift one at its handle, one at the head, one at the legs."""
    onto = bed(cast.sizes, -TO_THE_BED[cast.way] - cast.sizes.bed_width / 2)
    arrow = ((0.0, 90.0), (onto.x, 90.0))
    if cast.way is Way.FLAT_LIFT:
        flat = spots((-50, 65), (50, 65), (-50, 145), (50, 145))
        return Layout((onto,), lying(cast), (HEAD, *flat), arrow, pole=-1)
    feet = Spot((0.0, 100 + 78 + EDGE))
    machine = Box(Thing.LIFT, 84, 78.5, 141, 90, 180)
    handle = Spot((84 + 45 + EDGE, 78.5), hands=((84 + 45, 78.5),))
    rest: tuple[Spot, ...] = (feet, *spots((50, 30)))
    places = (HEAD, handle, *rest) if cast.head_only else (handle, HEAD, *rest)
    return Layout((onto, machine), lying(cast), places, arrow, pole=-1)


def kneel(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    front = Box(Thing.CHAIR, 0, 30, seat, seat, 90, True)
    behind = Box(Thing.CHAIR, 0, 150, seat, seat, 270, True)
    body = Body(0, 85, 270, Posture.KNEELING, cast.guarded, cast.carries)
    return Layout((front, behind), body, spots((-52, 88), (52, 88), (0, 150 + seat / 2 + EDGE)))


def in_chair(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    chair = Box(Thing.CHAIR, 0, 100, seat, seat, 270, True)
    body = Body(0, 95, 270, Posture.SITTING, cast.guarded, cast.carries, (0, 55))
    front: Point = (0, 12)
    behind: Point = (0, 100 + seat / 2 + EDGE)
    out = 54.0 if cast.way is Way.LIFT else 50.0
    sides: tuple[Point, ...] = ((-out, 95), (out, 95))
    points = (*sides, behind, front) if cast.way is Way.CHAIR_SHEET else (front, behind, *sides)
    machine = {
        Way.STANDING_AID: Box(Thing.AID, 0, 30, 50, 40, 90),
        Way.LIFT: Box(Thing.LIFT, 0, 55, 66, 136, 90),
    }
    extra = (machine[cast.way],) if cast.way in machine else ()
    if extra:
        points = ((0, -35 - BODY_CM), *((behind, *sides) if cast.way is Way.LIFT else (*sides, behind)))
    places = [Spot(at, hands=((0, 114),)) if at == behind and extra else Spot(at) for at in points]
    return Layout((chair, *extra), body, tuple(places), ((0, 80), (0, 105)))
