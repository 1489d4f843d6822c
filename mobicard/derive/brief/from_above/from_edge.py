"""Moves of one who sits at the edge, stands or walks: up, to the seat, over the board, with a frame."""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin

from mobicard.derive.brief.from_above.cast import (
    BEHIND_LEGS,
    BOARD_CM,
    EDGE,
    OUT,
    SEAT_Y,
    TO_THE_HEAD_END,
    WALKER_CM,
    Cast,
    Layout,
    Spot,
    spots,
)
from mobicard.derive.brief.from_above.in_bed import bed
from mobicard.derive.brief.from_above.scene import BODY_CM, Body, Box, Point, Posture, Thing


def edge(cast: Cast, goes_to: Point | None = None) -> Body:
    half = cast.sizes.bed_width / 2
    feet = (half + OUT, SEAT_Y)
    return Body(half - 8, SEAT_Y, 0, Posture.SITTING, cast.guarded, cast.carries, feet, goes_to)


def stand(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + OUT
    places = spots((x - 4, SEAT_Y - 46), (x - 4, SEAT_Y + 46), (x + 42, SEAT_Y - 60))
    things = (bed(cast.sizes), *_walker(cast, (x, SEAT_Y), 0))
    return Layout(things, edge(cast), places, ((x, SEAT_Y), (x + 12, SEAT_Y)), pole=1)


def _walker(cast: Cast, feet: Point, facing: float) -> tuple[Box, ...]:
    """The frame an arm's length before the feet of who stands with it, open towards them."""
    if not cast.walker:
        return ()
    turn, before = radians(facing), WALKER_CM[1] / 2 + 10
    x, y = feet[0] + before * cos(turn), feet[1] + before * sin(turn)
    return (Box(Thing.WALKER, round(x, 1), round(y, 1), *WALKER_CM, facing),)


def pivot(cast: Cast) -> Layout:
    """The chair at 45 degrees where the patient takes small steps, alongside where one leg carries alone."""
    chair = _chair_beside(cast, cast.sizes.most_turn_on_one_leg if cast.carries else cast.sizes.chair_angle)
    front, turn = chair.front(), radians(chair.facing)
    to = (round(front[0] + BEHIND_LEGS * cos(turn), 1), round(front[1] + BEHIND_LEGS * sin(turn), 1))
    body = edge(cast, to)
    frame = _walker(cast, (body.feet or to), 0) if cast.carries else _walker(cast, to, chair.facing)
    things = (bed(cast.sizes), chair, *frame)
    return Layout(things, body, _pivot_places(cast, chair), _round_to(body, chair), pole=1)


def _round_to(body: Body, chair: Box) -> tuple[Point, ...]:
    """The hips' way from the edge over the feet into the seat, as a curve: off the bed, round, down."""
    start, over, end = (body.x + 8, body.y), body.feet or (body.x, body.y), (chair.x, chair.y)
    parts = [step / 8 for step in range(9)]
    curve = (
        tuple(
            (1 - t) ** 2 * one + 2 * t * (1 - t) * two + t**2 * three
            for one, two, three in zip(start, over, end, strict=True)
        )
        for t in parts
    )
    return tuple((round(x, 1), round(y, 1)) for x, y in curve)


def _pivot_places(cast: Cast, chair: Box) -> tuple[Spot, ...]:
    """Beside the seated one, and at the seat's free arm, beside who stands before it: never in the turn. The
    second one's hand goes behind the frame to the belt of who has stood up."""
    x = cast.sizes.bed_width / 2 + OUT
    beside: Point = (x - 4, SEAT_Y - (50 if cast.walker else 46))
    alone: Point = beside if cast.walker else (x + 42, SEAT_Y - 30)
    guard = _at_the_free_arm(chair, behind=18 if cast.carries and cast.walker else 10)
    belt: Point = (x - OUT + 2, SEAT_Y - 12)
    if len(cast.names) == 1:
        return spots(alone)
    held: tuple[Point, ...] = ((x - 3, SEAT_Y + 20),) if cast.carries else ()
    return (Spot(beside, hands=(belt,)), Spot(guard, hands=held), Spot((x - 4, SEAT_Y - 92)))


def _at_the_free_arm(chair: Box, behind: float) -> Point:
    """Away from the bed, so far behind the seat's front."""
    turn, out = radians(chair.facing), chair.across / 2 + BODY_CM + 1
    x, y = chair.front()
    return (
        round(x - behind * cos(turn) - out * sin(turn), 1),
        round(y - behind * sin(turn) + out * cos(turn), 1),
    )


def _chair_beside(cast: Cast, angle: float) -> Box:
    """Touching the bed below the patient's seat, facing so that the turn is the published one."""
    half, turn = cast.sizes.chair / 2, radians(angle)
    x = cast.sizes.bed_width / 2 + half * (cos(turn) + sin(turn))
    alongside = angle == cast.sizes.most_turn_on_one_leg
    below = SEAT_Y + (53 if alongside and cast.walker else 40)
    return Box(Thing.CHAIR, round(x, 1), below, 2 * half, 2 * half, 360 - angle, True, cast.called)


def board(cast: Cast) -> Layout:
    """The chair at an angle, so that its side without an arm is at the hip; the board bridges to its seat."""
    half = cast.sizes.bed_width / 2
    chair = replace(_chair_beside(cast, cast.sizes.chair_angle), bare="left")
    bridge = Box(Thing.BOARD, half + 12, SEAT_Y + 26, *BOARD_CM, 32)
    places = (
        Spot((half + 63, SEAT_Y - 4), hands=((half + 24, SEAT_Y + 24), (half + 25, SEAT_Y - 4))),
        Spot((half + EDGE - 3, SEAT_Y - 46), hands=((half - 6, SEAT_Y - 14),)),
        Spot((half + 108, SEAT_Y + 40)),
    )
    arrow = ((half - 4, SEAT_Y + 8), (chair.x - 4, chair.y - 4))
    return Layout((bed(cast.sizes), chair, bridge), edge(cast), places, arrow, pole=1)


def walk(cast: Cast) -> Layout:
    seat = cast.sizes.chair
    chair = Box(Thing.CHAIR, 0, 165, seat, seat, 270)
    body = Body(0, 100, 270, Posture.STANDING, cast.guarded, cast.carries, (0, 100))
    beside = [Spot(at, TO_THE_HEAD_END) for at in ((-44.0, 114.0), (44.0, 114.0))]
    places = (beside[0], *spots((0, 165 + seat / 2 + EDGE)), beside[1])
    frame = _walker(cast, (0, 78), 270)
    way = ((0.0, 20.0), (0.0, -30.0)) if frame else ((0.0, 75.0), (0.0, 20.0))
    return Layout((chair, *frame), body, places, way, bags=(seat / 2 - 4, 158))


def alone(cast: Cast) -> Layout:
    """At the edge, with the frame the patient gets up with; somebody within reach."""
    half = cast.sizes.bed_width / 2
    things = (bed(cast.sizes), *_walker(cast, (half + OUT, SEAT_Y), 0))
    return Layout(things, edge(cast), spots((half + OUT, SEAT_Y - 60)), pole=1)


def walks_alone(cast: Cast) -> Layout:
    """On the way, somebody within reach a little behind, with no chair brought along."""
    found = walk(cast)
    frame = tuple(box for box in found.boxes if box.thing is Thing.WALKER)
    return Layout(frame, found.patient, spots((-44, 114), (44, 114)), found.arrow)
