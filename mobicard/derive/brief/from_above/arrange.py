"""Where everybody stands: one arrangement a way, drawn for a patient whose right side is the stronger.

The other side is its mirror. Positions are ours (common practice, no source) but for what ``published.toml``
names: bed width, chair angle, the turn on one leg, reach.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from math import cos, hypot, radians, sin

from mobicard.derive.brief.from_above import from_edge, in_bed, lifted
from mobicard.derive.brief.from_above.cast import HEAD, Cast, Layout, Spot
from mobicard.derive.brief.from_above.scene import (
    BODY_CM,
    Body,
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
from mobicard.derive.brief.ways import Way

HELD_CM = 45.0
"""How far from the middle of who holds it a hand is drawn."""


def arrange(cast: Cast) -> Scene:
    """The scene for these people. Every helper has a place."""
    layout = _with_head(_layout(cast), cast)
    places = _places(layout, cast)
    middle = layout.patient.goes_to or layout.patient.feet or (layout.patient.x, layout.patient.y)
    helpers = tuple(
        _stands(name, spot, layout.patient, middle, leads=number == 0)
        for number, (name, spot) in enumerate(zip(cast.names, places, strict=True))
    )
    ways = ((what, way) for what, way in (("move", layout.arrow), ("first", layout.first)) if way)
    tracks = (*(Track(what, way) for what, way in ways), *_lines(cast, layout, places))
    scene = Scene("right", layout.boxes, layout.patient, helpers, tracks, _rails(layout, places))
    return scene if cast.side == "right" else mirrored(scene)


def _rails(layout: Layout, places: Sequence[Spot]) -> tuple[str, ...]:
    """The sides with a rail up, but for those where somebody stands: nobody works over a rail."""
    sides = {"left": 1, "right": -1}
    stood_at = [spot.at[0] for spot in places]
    return tuple(side for side in layout.rail_up if not any(x * sides[side] > 0 for x in stood_at))


def _stands(name: str, spot: Spot, body: Body, middle: Point, *, leads: bool) -> Stands:
    """Somebody facing what is held, or the way the move goes; each hand as far as it reaches."""
    targets = spot.hands or (_nearest(body, spot.at, middle),)
    hands = [*spot.hands] or [_held(spot.at, target) for target in targets]
    between = (sum(x for x, _ in hands) / len(hands), sum(y for _, y in hands) / len(hands))
    faces = towards(spot.at, between) if spot.faces is None else spot.faces
    return Stands(name, *spot.at, faces, leads, hands[0], hands[1] if len(hands) > 1 else None)


def _held(place: Point, target: Point) -> Point:
    reach, turn = min(apart(place, target), HELD_CM), radians(towards(place, target))
    return (round(place[0] + reach * cos(turn), 1), round(place[1] + reach * sin(turn), 1))


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
    taken = [spot.at for spot in layout.places[: len(cast.names)]]
    free = _free(layout, 2 * BODY_CM + 4)
    head = next(spot for spot in free if all(apart(spot, one) >= 2 * BODY_CM for one in taken))
    held = (layout.patient.x, layout.patient.y)
    return replace(layout, places=(Spot(head, hands=(held,)), *layout.places))


def _places(layout: Layout, cast: Cast) -> list[Spot]:
    """The written places of those who move the patient, then free ones, near the lines, for who is left."""
    chosen = list(layout.places[: cast.movers])
    taken = [spot.at for spot in chosen]
    side = _pole_side(cast, layout)
    free = sorted(_free(layout), key=lambda spot: (spot[0] - layout.patient.x) * side <= BODY_CM)
    while len(taken) < len(cast.names):
        taken.append(next(spot for spot in free if all(apart(spot, one) >= 2 * BODY_CM for one in taken)))
    return [*chosen, *(Spot(spot) for spot in taken[len(chosen) :])]


def _free(layout: Layout, clear_cm: float = 95) -> Iterator[Point]:
    """Places clear of every thing and this far from the patient, near ones first; most layouts need none."""
    near = (layout.patient.x, layout.patient.y)
    grid = [(float(x), float(y)) for x in range(-250, 251, 10) for y in range(-120, 331, 10)]
    for spot in sorted(grid, key=lambda spot: (apart(spot, near), spot)):
        if apart(spot, near) >= clear_cm and all(box.away(spot) >= BODY_CM for box in layout.boxes):
            yield spot


# -- The lines -----------------------------------------------------------------------------------------


def _pole_side(cast: Cast, layout: Layout) -> int:
    """The side of the page the lines are on: where the patient goes, else their own; 0 without any."""
    if cast.lines_at is None:
        return 0
    own = 1 if cos(radians(layout.patient.side_of(cast.lines_at))) > 0 else -1
    return layout.pole or own


def _lines(cast: Cast, layout: Layout, places: Sequence[Spot]) -> Iterator[Track]:
    """The lines from their side of the body to a pole at the head, or to where their bags go along."""
    if cast.lines_at is None:
        return
    body, out = layout.patient, _pole_side(cast, layout)
    turn = radians(body.side_of(cast.lines_at))
    start = (round(body.x + 15 * cos(turn), 1), round(body.y + 15 * sin(turn), 1))
    if layout.bags is not None:
        yield Track("line", (start, (start[0], layout.bags[1] - 20), layout.bags))
        return
    top = min(box.y - box.along / 2 for box in layout.boxes) if layout.boxes else body.y - 90
    half, over = cast.sizes.bed_width / 2, any(box.thing is Thing.STRETCHER for box in layout.boxes)
    pole = (out * (half + (cast.sizes.stretcher_width if over else 0) + 12), top - 8)
    while any(apart(pole, spot.at) < BODY_CM + 6 for spot in places):
        pole = (pole[0] + out * 12, pole[1])
    bend = (out * half, top + 12) if over else (pole[0], start[1] * 0.4 + pole[1] * 0.6)
    yield Track("line", (start, bend, pole))


def nearest_to_lines(
    scene: Scene, spare: Collection[int] = (), not_these: Collection[int] = (), busy: Collection[int] = ()
) -> int | None:
    """Who sees the lines best, by number: on their side; one who does nothing else before those who move,
    the leader and who is busy last. None where there are no lines or nobody but those left out."""
    track = next((one for one in scene.tracks if one.what == "line"), None)
    if track is None:
        return None

    def far(number: int) -> tuple[bool, bool, bool, float]:
        one = scene.helpers[number]
        off = scene.patient.posture is Posture.LYING and not on_side(one, track, scene.patient)
        near = min(_off_way((one.x, one.y), *pair) for pair in pairwise(track.points))
        return off, one.leads or number in busy, number not in spare, near

    return min((n for n in range(len(scene.helpers)) if n not in not_these), key=far, default=None)


def on_side(one: Stands, track: Track, body: Body) -> bool:
    """Whether somebody stands on the side of the patient that the lines end on."""
    return (one.x - body.x) * (track.points[-1][0] - body.x) > 0 and abs(one.x - body.x) > BODY_CM


def _off_way(point: Point, start: Point, end: Point) -> float:
    """How far a point is from a straight way, cm."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    long = dx * dx + dy * dy or 1.0
    at = min(max(((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / long, 0), 1)
    return hypot(point[0] - start[0] - at * dx, point[1] - start[1] - at * dy)


# -- One arrangement a way -----------------------------------------------------------------------------


def _layout(cast: Cast) -> Layout:
    if cast.on_floor:
        return lifted.from_floor(cast) if cast.way in (Way.LIFT, Way.FLAT_LIFT) else lifted.kneel(cast)
    if cast.in_chair:
        return lifted.in_chair(cast)
    return _BY_WAY[cast.way](cast)


def _alone(cast: Cast) -> Layout:
    if cast.walks:
        return from_edge.walks_alone(cast)
    return in_bed.beside(cast) if cast.lies else from_edge.alone(cast)


_BY_WAY: dict[Way, Callable[[Cast], Layout]] = {
    Way.ROLL: in_bed.roll,
    Way.LOG_ROLL: in_bed.log_roll,
    Way.BOOST: in_bed.boost,
    Way.IN_LINE: in_bed.in_line,
    Way.SIT_UP: in_bed.sit_up,
    Way.LOG_SIT: in_bed.sit_up,
    Way.STAND: from_edge.stand,
    Way.PIVOT: from_edge.pivot,
    Way.BOARD: from_edge.board,
    Way.WALK: from_edge.walk,
    Way.SLIDE: in_bed.slide,
    Way.STANDING_AID: lifted.aid,
    Way.LIFT: lifted.lift,
    Way.FLAT_LIFT: lifted.from_floor,
    Way.KNEEL: lifted.kneel,
    Way.PUSH_BACK: lifted.in_chair,
    Way.CHAIR_SHEET: lifted.in_chair,
    Way.ALONE: _alone,
}
