"""Moves of one who lies: turned, up the bed, across, up to the edge. Places: common practice, no source, but
for the slide's (BCcampus 3.7: head, shoulders and hips at the stretcher's side, chest to hips opposite)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mobicard.derive.brief.from_above.cast import EDGE, HEAD, TO_THE_HEAD_END, Cast, Layout, Spot, spots
from mobicard.derive.brief.from_above.scene import Body, Box, Point, Posture, Thing
from mobicard.derive.brief.from_above.sizes import Sizes

SHOULDER_Y, HIP_Y, KNEE_Y, HEEL_Y = 60.0, 104.0, 140.0, 174.0
"""Down the body of one who lies, as it is drawn."""

FAR_SIDE = 13.0
"""From the middle of the body to its far side, where a roll is held."""


def bed(sizes: Sizes, x: float = 0) -> Box:
    return Box(Thing.BED, x, sizes.bed_length / 2, sizes.bed_width, sizes.bed_length, 270, True)


def lying(cast: Cast) -> Body:
    return Body(0, 100, 270, Posture.LYING, cast.guarded, cast.carries)


def roll(cast: Cast) -> Layout:
    first, *others = spots(*_sides(cast, (75, 125, 165)))
    places = (Spot(first.at, hands=_hands(SHOULDER_Y, HIP_Y - 6)), *others)
    return Layout((bed(cast.sizes),), lying(cast), places, ((0, 90), (-30, 90)), first=((8, 122), (30, 122)))


def log_roll(cast: Cast) -> Layout:
    """On the side rolled to, hands over the far shoulder, hip, knee and legs; one at the head, one behind."""
    x = -cast.sizes.bed_width / 2 - EDGE
    row = (
        Spot((x, 72), hands=_hands(SHOULDER_Y, HIP_Y - 6)),
        Spot((x, 116), hands=_hands(HIP_Y, KNEE_Y)),
        Spot((x, 164), hands=_hands(KNEE_Y + 6, HEEL_Y)),
    )
    behind = (_waits((-x, 95)), *spots((-x, 140)))
    places = row if cast.movers < 3 and not cast.head_only else (HEAD, *row, *behind)
    return Layout((bed(cast.sizes),), lying(cast), places, ((0, 90), (-30, 90)))


def _waits(place: Point) -> Spot:
    """Somebody who holds nothing while the others turn: a hand on the patient would push."""
    return Spot(place, 180.0, hands=(place,))


def _hands(*ys: float) -> tuple[Point, ...]:
    """On the far side of the body at these heights."""
    return tuple((FAR_SIDE, y) for y in ys)


def boost(cast: Cast) -> Layout:
    """The leader away from the lines, so that the other one has them in sight."""
    first = 1 if cast.lines_at == "right" else -1
    sides = _sides(cast, (80, 132, 170), first)
    held = tuple(Spot(at, TO_THE_HEAD_END, hands=_at_the_sheet(at[0])) for at in sides[:2])
    places = (*held, *_up_the_bed(sides[2:]))
    body = replace(lying(cast), bent=cast.bends)
    return Layout((bed(cast.sizes),), body, places, ((0, 110), (0, 60)))


def _at_the_sheet(x: float) -> tuple[Point, ...]:
    """The sheet's edge at shoulder and hip, on the side of who holds it."""
    near = 24.0 if x > 0 else -24.0
    return ((near, 64.0), (near, 98.0))


def in_line(cast: Cast) -> Layout:
    places = (HEAD, *_up_the_bed(_sides(cast, (60, 110, 155))))
    return Layout((bed(cast.sizes),), lying(cast), places, ((0, 110), (0, 60)))


def _up_the_bed(points: Sequence[Point]) -> tuple[Spot, ...]:
    """Beside the bed, facing the way the patient goes: its head end."""
    return tuple(Spot(point, TO_THE_HEAD_END) for point in points)


def slide(cast: Cast) -> Layout:
    """Those who pull stand at the stretcher's far side, who pushes at the bed's; three have nobody apart for
    the head: who pulls at the shoulders leads."""
    half, wide = cast.sizes.bed_width / 2, cast.sizes.stretcher_width
    pull, push = half + wide + EDGE, -half - EDGE
    middle, long = cast.sizes.bed_length / 2, cast.sizes.bed_length
    across = Box(Thing.STRETCHER, half + wide / 2, middle, wide, long, 270, True)
    slider = Box(Thing.BOARD, half - 9, 100, 80, 150, 270)
    rest: tuple[Point, ...] = ((push, 90), (push, 150), (pull, 165), (push, 40))
    places = spots((pull, 60), (pull, 125), *rest)
    if cast.movers - cast.head_only == 2:
        pulls = Spot((pull, 92), hands=((pull - 45, 76), (pull - 45, 108)))
        places = (pulls, Spot((push, 92), hands=((push + 45, 76), (push + 45, 108))))
    if cast.movers > 3 or cast.head_only:
        places = (HEAD, *places)
    arrow = ((0.0, 100.0), (half + wide / 2, 100.0))
    return Layout((bed(cast.sizes), across, slider), lying(cast), places, arrow, pole=1)


def sit_up(cast: Cast) -> Layout:
    x = cast.sizes.bed_width / 2 + EDGE
    held = KNEE_Y if cast.leg_held and cast.movers == 1 else (SHOULDER_Y + HIP_Y) / 2
    first = Spot((x, held), hands=((21.0, held - 12), (21.0, held + 12)))
    places = (first, *spots((x, 132.0), (-x, 90.0)))
    return Layout((bed(cast.sizes),), lying(cast), places, ((0, 90), (30, 90), (40, 110)), ("right",), pole=1)


def beside(cast: Cast) -> Layout:
    """One who moves alone in bed, somebody within reach."""
    x = cast.sizes.bed_width / 2 + EDGE
    return Layout((bed(cast.sizes),), lying(cast), spots((x, 75.0), (-x, 75.0)))


def _sides(cast: Cast, ys: Sequence[float], first: int = -1) -> tuple[Point, ...]:
    """One each side of the bed in turn, down the bed; ``first`` -1 begins on the left of the page."""
    x = cast.sizes.bed_width / 2 + EDGE
    return tuple((sign * x, y) for y in ys for sign in (first, -first))
