"""Where everybody stands: one arrangement a way, drawn for a patient whose right side is the stronger.

The other side is its mirror. Positions are ours (common practice, no source) but for what ``published.toml``
names: bed width, chair angle, the turn on one leg, reach.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import cos, radians, sin

from mobicard.derive.brief.from_above.scene import (
    BODY_CM,
    Body,
    Box,
    Point,
    Posture,
    Scene,
    Stands,
    Thing,
    Track,
    apart,
    mirrored,
    towards,
)
from mobicard.derive.brief.from_above.sizes import Sizes
from mobicard.derive.brief.ways import Way

EDGE = BODY_CM + 3
"""From a side of the bed to the middle of who stands there."""

OUT = 32.0
"""From the bed's edge to the feet of who sits on it."""

WALKER_CM = (50.0, 40.0)
"""A frame's width and depth: a common one, no source."""

SEAT_Y = 110.0
HEAD: Point = (0.0, -25.0)
BEHIND_LEGS = 10.0
"""From the middle of who stands to the backs of the legs."""


@dataclass(frozen=True, slots=True)
class Cast:
    """What the arrangement needs to know: the names in their order, sides, the leg that carries."""

    way: Way
    names: tuple[str, ...]
    sizes: Sizes
    side: str
    guarded: str | None
    carries: str | None
    line_side: str | None
    in_chair: bool
    to_a_seat: bool
    on_floor: bool
    called: str = ""
    """What the seat is called where it is no chair."""
    walker: bool = False
    """Whether the patient goes with a frame."""
    turned: bool = False
    head_only: bool = False
    """Whether the first of them holds the head and nothing else."""
    watchers: int = 0
    """How many of the last ones only watch the lines."""


@dataclass(frozen=True, slots=True)
class Layout:
    """One arrangement before anybody is placed: things, the patient, the places in the order of the roles."""

    boxes: tuple[Box, ...]
    patient: Body
    places: tuple[Point, ...]
    arrow: tuple[Point, ...] = ()
    rail_up: tuple[str, ...] = ()


def arrange(cast: Cast) -> Scene:
    """The scene for these people. Every helper has a place."""
    layout = _with_head(_layout(cast), cast)
    places = _places(layout, len(cast.names), cast.watchers)
    middle = layout.patient.goes_to or layout.patient.feet or (layout.patient.x, layout.patient.y)
    helpers = tuple(
        _stands(name, place, layout, middle, leads=number == 0)
        for number, (name, place) in enumerate(zip(cast.names, places, strict=True))
    )
    tracks = (*((Track("move", layout.arrow),) if layout.arrow else ()), *_lines(cast, layout, places))
    scene = Scene("right", layout.boxes, layout.patient, helpers, tracks, layout.rail_up)
    return scene if cast.side == "right" else mirrored(scene)


def _stands(name: str, place: Point, layout: Layout, middle: Point, *, leads: bool) -> Stands:
    """Somebody facing what is held: the nearest of the patient's body, or a machine's own handle."""
    target = _nearest(layout.patient, place, middle)
    reach = min(apart(place, target), 45.0)
    turn = radians(towards(place, target))
    hand = (round(place[0] + reach * cos(turn), 1), round(place[1] + reach * sin(turn), 1))
    return Stands(name, *place, towards(place, target), leads, hand)


def _nearest(body: Body, place: Point, middle: Point) -> Point:
    if body.posture is not Posture.LYING:
        return middle
    return (body.x, min(max(place[1], body.y - 80), body.y + 60))


# -- Who stands where ----------------------------------------------------------------------------------


def _with_head(layout: Layout, cast: Cast) -> Layout:
    """A place at the head for whoever holds it and nothing else, before the others."""
    if not cast.head_only or HEAD in layout.places[:1]:
        return layout
    if layout.patient.posture is Posture.LYING:
        return replace(layout, places=(HEAD, *layout.places))
    taken = layout.places[: len(cast.names)]
    spots = _free(layout, 2 * BODY_CM + 4)
    head = next(spot for spot in spots if all(apart(spot, one) >= 2 * BODY_CM for one in taken))
    return replace(layout, places=(head, *layout.places))


def _places(layout: Layout, count: int, watchers: int = 0) -> list[Point]:
    """The written places of those who move the patient, then free ones for whoever is left."""
    chosen = list(layout.places[: count - watchers])
    spots = _free(layout)
    while len(chosen) < count:
        spot = next(spot for spot in spots if all(apart(spot, one) >= 2 * BODY_CM for one in chosen))
        chosen.append(spot)
    return chosen


def _free(layout: Layout, clear_cm: float = 95) -> Iterator[Point]:
    """Places clear of every thing and this far from the patient, near ones first; most layouts need none."""
    near = (layout.patient.x, layout.patient.y)
    grid = [(float(x), float(y)) for x in range(-250, 251, 10) for y in range(-120, 331, 10)]
    for spot in sorted(grid, key=lambda spot: (apart(spot, near), spot)):
        if apart(spot, near) >= clear_cm and all(box.away(spot) >= BODY_CM for box in layout.boxes):
            yield spot


# -- The lines -----------------------------------------------------------------------------------------


def _lines(cast: Cast, layout: Layout, places: Sequence[Point]) -> Iterator[Track]:
    """The lines from their side of the body to a pole at the head, on the side the patient goes to."""
    if cast.line_side is None:
        return
    body = layout.patient
    side = cast.line_side if cast.side == "right" else {"left": "right", "right": "left"}[cast.line_side]
    turn = radians(body.side_of(side))
    start = (round(body.x + 15 * cos(turn), 1), round(body.y + 15 * sin(turn), 1))
    out = 1 if layout.arrow and layout.arrow[-1][0] > body.x else -1 if layout.arrow else 1
    top = min(box.y - box.along / 2 for box in layout.boxes) if layout.boxes else body.y - 90
    pole = (out * (cast.sizes.bed_width / 2 + 12), top - 8)
    while any(apart(pole, one) < BODY_CM + 6 for one in places):
        pole = (pole[0] + out * 12, pole[1])
    yield Track("line", (start, (pole[0], start[1] * 0.4 + pole[1] * 0.6), pole))


# -- One arrangement a way -----------------------------------------------------------------------------


def _layout(cast: Cast) -> Layout:
    if cast.on_floor:
        return _floor_flat(cast) if cast.way in (Way.LIFT, Way.FLAT_LIFT) else _kneel(cast)
    if cast.in_chair:
        return _in_chair(cast)
    return _BY_WAY[cast.way](cast)


def _bed(sizes: Sizes, *, brakes: bool = True) -> Box:
    return Box(Thing.BED, 0, sizes.bed_length / 2, sizes.bed_width, sizes.bed_length, 270, brakes)


def _lying(cast: Cast) -> Body:
    return Body(0, 100, 270, Posture.LYING, cast.guarded, cast.carries)


def _sides(cast: Cast, ys: Sequence[float], first: int = -1) -> tuple[Point, ...]:
    """One each side of the bed in turn, down the bed; ``first`` -1 begins on the left of the page."""
    x = cast.sizes.bed_width / 2 + EDGE
    return tuple((sign * x, y) for y in ys for sign in (first, -first))


def _roll(cast: Cast) -> Layout:
    return Layout(
        (_bed(cast.sizes),),
        _lying(cast),
        _sides(cast, (75, 125, 165)),
        ((0, 90), (-30, 90)),
        ("left",),
    )


def _log_roll(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + EDGE
    row: tuple[Point, ...] = ((-x, 50), (-x, 95), (-x, 140))
    places = row if len(cast.names) < 3 else (HEAD, *row, (x, 95), (x, 140))
    return Layout((_bed(cast.sizes),), _lying(cast), places, ((0, 90), (-30, 90)))


def _boost(cast: Cast) -> Layout:
    return Layout((_bed(cast.sizes),), _lying(cast), _sides(cast, (75, 125, 170)), ((0, 110), (0, 60)))


def _in_line(cast: Cast) -> Layout:
    places = (HEAD, *_sides(cast, (60, 110, 155)))
    return Layout((_bed(cast.sizes),), _lying(cast), places, ((0, 110), (0, 60)))


def _slide(cast: Cast) -> Layout:
    half, wide = cast.sizes.bed_width / 2, cast.sizes.stretcher_width
    far = half + wide + EDGE
    across = Box(
        Thing.STRETCHER, half + wide / 2, cast.sizes.bed_length / 2, wide, cast.sizes.bed_length, 270, True
    )
    sides: tuple[Point, ...] = ((far, 60), (-half - EDGE, 80), (far, 110), (-half - EDGE, 130), (far, 155))
    places = sides if len(cast.names) < 3 else (HEAD, *sides)
    arrow = ((0.0, 100.0), (half + wide / 2, 100.0))
    return Layout((_bed(cast.sizes), across), _lying(cast), places, arrow)


def _sit_up(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + EDGE
    places = ((x, 55.0), (x, 125.0), (-x, 90.0))
    return Layout((_bed(cast.sizes),), _lying(cast), places, ((0, 90), (30, 90), (40, 110)), ("left",))


def _edge(cast: Cast, goes_to: Point | None = None) -> Body:
    half = cast.sizes.bed_width / 2
    feet = (half + OUT, SEAT_Y)
    return Body(half - 8, SEAT_Y, 0, Posture.SITTING, cast.guarded, cast.carries, feet, goes_to)


def _stand(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + OUT
    places = ((x - 4, SEAT_Y - 46), (x - 4, SEAT_Y + 46), (x + 42, SEAT_Y - 60))
    things = (_bed(cast.sizes), *_walker(cast, (x, SEAT_Y), 0))
    return Layout(things, _edge(cast), places, ((x, SEAT_Y), (x + 12, SEAT_Y)))


def _walker(cast: Cast, feet: Point, facing: float) -> tuple[Box, ...]:
    """The frame an arm's length before the feet of who stands with it, open towards them."""
    if not cast.walker:
        return ()
    turn, before = radians(facing), WALKER_CM[1] / 2 + 10
    x, y = feet[0] + before * cos(turn), feet[1] + before * sin(turn)
    return (Box(Thing.WALKER, round(x, 1), round(y, 1), *WALKER_CM, facing),)


def _pivot(cast: Cast) -> Layout:
    """The chair at 45 degrees where the patient takes small steps, alongside where one leg carries alone."""
    chair = _chair_beside(cast)
    front, turn = chair.front(), radians(chair.facing)
    to = (round(front[0] + BEHIND_LEGS * cos(turn), 1), round(front[1] + BEHIND_LEGS * sin(turn), 1))
    body = _edge(cast, to)
    feet = body.feet or to
    things = (_bed(cast.sizes), chair, *_walker(cast, to, chair.facing))
    return Layout(things, body, _pivot_places(cast), (feet, to), ("left",))


def _pivot_places(cast: Cast) -> tuple[Point, ...]:
    """Beside the seated one and beside the seat; with a frame clear of where it goes."""
    x = cast.sizes.bed_width / 2 + OUT
    alone: Point = (x + 42, SEAT_Y - 30)
    beside: Point = (x - 4, SEAT_Y - 46)
    guard: Point = (x + 43, SEAT_Y + 30) if cast.carries else (x + 69, SEAT_Y + 30)
    if cast.walker:
        alone = (x + 43, SEAT_Y - 28) if cast.carries else beside
        beside = alone
        guard = guard if cast.carries else (x + 60, SEAT_Y + 52)
    return (beside, guard, (x - 4, SEAT_Y - 92)) if len(cast.names) > 1 else (alone,)


def _chair_beside(cast: Cast) -> Box:
    """Touching the bed below the patient's seat, facing so that the turn is the published one."""
    angle = cast.sizes.most_turn_on_one_leg if cast.carries else cast.sizes.chair_angle
    half, turn = cast.sizes.chair / 2, radians(angle)
    x = cast.sizes.bed_width / 2 + half * (cos(turn) + sin(turn))
    return Box(Thing.CHAIR, round(x, 1), SEAT_Y + 40, 2 * half, 2 * half, 360 - angle, True, cast.called)


def _board(cast: Cast) -> Layout:
    half = cast.sizes.bed_width / 2
    seat = cast.sizes.chair
    chair = Box(Thing.CHAIR, half + seat / 2, SEAT_Y + 45, seat, seat, 270, True, cast.called)
    places = ((half + OUT + 43, SEAT_Y + 10), (half + EDGE + 5, SEAT_Y - 46), (half + seat + EDGE + 2, 200))
    return Layout((_bed(cast.sizes), chair), _edge(cast), places, ((half, SEAT_Y), (chair.x, chair.y)))


def _aid(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + OUT
    aid = Box(Thing.AID, x + 45, SEAT_Y, 60, 60, 180)
    places = ((x + 45 + 30 + EDGE, SEAT_Y), (x - 4, SEAT_Y - 52), (x - 4, SEAT_Y + 52))
    if cast.to_a_seat:
        chair = _seat_off(cast)
        way = ((x, SEAT_Y), (x + 25, SEAT_Y + 20), (chair.x, chair.y - 40))
        return Layout((_bed(cast.sizes), aid, chair), _edge(cast), places, way)
    return Layout((_bed(cast.sizes), aid), _edge(cast), places, ((x, SEAT_Y), (x + 15, SEAT_Y)))


def _lift(cast: Cast) -> Layout:
    half = cast.sizes.bed_width / 2
    lift = Box(Thing.LIFT, half + 20, 100, 66, 90, 180, under=True)
    places = ((half + 65 + EDGE, 100.0), (-half - EDGE, 80.0), (-half - EDGE, 130.0), (half + EDGE, 40.0))
    if not cast.to_a_seat:
        arrow_in_bed = ((0.0, 100.0), (-30.0, 100.0)) if cast.turned else ((0.0, 100.0), (0.0, 80.0))
        return Layout((_bed(cast.sizes), lift), _lying(cast), places, arrow_in_bed)
    chair = _seat_off(cast)
    arrow = ((0.0, 100.0), (half + 40, 110.0), (half + 65, 165.0))
    return Layout((_bed(cast.sizes), lift, chair), _lying(cast), places, arrow)


def _seat_off(cast: Cast) -> Box:
    """The seat that a machine goes to, off the bed's foot."""
    seat = cast.sizes.chair
    return Box(Thing.CHAIR, cast.sizes.bed_width / 2 + 75, 200, seat, seat, 270, True, cast.called)


def _floor_flat(cast: Cast) -> Layout:
    body = _lying(cast)
    lift = (Box(Thing.LIFT, 78, 100, 66, 90, 180),) if cast.way is Way.LIFT else ()
    sides: tuple[Point, ...] = ((-50, 60), (50, 35), (-50, 120), (50, 165), (-50, 165))
    if lift:
        return Layout(lift, body, ((78 + 45 + EDGE, 100), (-50, 55), (-50, 140), (50, 30)))
    return Layout(lift, body, (HEAD, *sides))


def _kneel(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    front = Box(Thing.CHAIR, 0, 30, seat, seat, 90, True)
    behind = Box(Thing.CHAIR, 0, 150, seat, seat, 270, True)
    body = Body(0, 85, 270, Posture.KNEELING, cast.guarded, cast.carries)
    places = ((-52, 88), (52, 88), (0, 150 + seat / 2 + EDGE))
    return Layout((front, behind), body, places)


def _walk(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    chair = Box(Thing.CHAIR, 0, 165, seat, seat, 270)
    body = Body(0, 100, 270, Posture.STANDING, cast.guarded, cast.carries, (0, 100))
    places: tuple[Point, ...] = ((-44, 114), (0, 165 + seat / 2 + EDGE), (44, 114))
    frame = _walker(cast, (0, 78), 270)
    return Layout((chair, *frame), body, places, ((0, 20), (0, -30)) if frame else ((0, 75), (0, 20)))


def _in_chair(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    chair = Box(Thing.CHAIR, 0, 100, seat, seat, 270, True)
    body = Body(0, 95, 270, Posture.SITTING, cast.guarded, cast.carries, (0, 55))
    front: Point = (0, 12)
    behind: Point = (0, 100 + seat / 2 + EDGE)
    sides: tuple[Point, ...] = ((-50, 95), (50, 95))
    places = (*sides, behind, front) if cast.way is Way.CHAIR_SHEET else (front, behind, *sides)
    machine = {
        Way.STANDING_AID: Box(Thing.AID, 0, 30, 50, 40, 90),
        Way.LIFT: Box(Thing.LIFT, 0, 20, 66, 60, 90),
    }
    extra = (machine[cast.way],) if cast.way in machine else ()
    if extra:
        places = ((0, -35 - BODY_CM), *sides, behind)
    return Layout((chair, *extra), body, places, ((0, 80), (0, 105)))


def _alone(cast: Cast) -> Layout:
    half = cast.sizes.bed_width / 2
    return Layout((_bed(cast.sizes),), _edge(cast), ((half + OUT, SEAT_Y - 60),))


_BY_WAY: dict[Way, Callable[[Cast], Layout]] = {
    Way.ROLL: _roll,
    Way.LOG_ROLL: _log_roll,
    Way.BOOST: _boost,
    Way.IN_LINE: _in_line,
    Way.SIT_UP: _sit_up,
    Way.LOG_SIT: _sit_up,
    Way.STAND: _stand,
    Way.PIVOT: _pivot,
    Way.BOARD: _board,
    Way.WALK: _walk,
    Way.SLIDE: _slide,
    Way.STANDING_AID: _aid,
    Way.LIFT: _lift,
    Way.FLAT_LIFT: _floor_flat,
    Way.KNEEL: _kneel,
    Way.PUSH_BACK: _in_chair,
    Way.CHAIR_SHEET: _in_chair,
    Way.ALONE: _alone,
}
