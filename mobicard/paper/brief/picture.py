"""The scene from above as one inline SVG in centimetres, drawn from its values alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from math import cos, radians

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
)
from mobicard.paper.brief.labels import (
    LETTERS,
    MARGIN,
    NAMES,
    at,
    label,
    line_ends,
    line_label,
    text,
    turn_ends,
    turn_label,
)

BOOM_CM = 28.0
"""How far a lift's boom reaches beyond its legs; drawn so, no source."""


def picture_svg(scene: Scene, key: str) -> str:
    """One inline SVG. ``key`` makes its ids unique in the page; every text in it is escaped."""
    left, top, width, height = bounds(scene)
    parts = "".join(
        (
            _hatch(key),
            *(_box(box) for box in sorted(scene.boxes, key=lambda box: box.under)),
            *_bed_ends(scene),
            *_rails(scene),
            *(_line(track) for track in scene.tracks if track.what == "line"),
            _body(scene.patient, key),
            _arrow(scene.arrow) if scene.arrow else "",
            *_before(scene.before),
            *_seated_at_last(scene),
            *(_helper(one) for one in scene.helpers),
            *(label(box, scene) for box in scene.boxes),
            *line_label(scene),
            *turn_label(scene),
        )
    )
    return (
        f'<svg class="scene" viewBox="{left:g} {top:g} {width:g} {height:g}" role="img" '
        f'aria-labelledby="{key}-t" xmlns="http://www.w3.org/2000/svg">'
        f'<title id="{key}-t">{escape(in_words(scene))}</title>'
        f'<g fill="none" stroke="#000" stroke-width="2" stroke-linejoin="round" '
        f'font-family="Atkinson Hyperlegible, DejaVu Sans, sans-serif" font-size="{LETTERS:g}">{parts}'
        "</g></svg>"
    )


def bounds(scene: Scene) -> tuple[float, float, float, float]:
    """Left, top, width and height of all that is drawn, cm, with a margin."""
    points = [corner for box in scene.boxes for corner in box.corners()]
    points += [(one.x, one.y) for one in scene.helpers]
    points += [point for track in scene.tracks for point in track.points]
    points += [(scene.patient.x, scene.patient.y - 90), (scene.patient.x, scene.patient.y + 30)]
    points += (*turn_ends(scene), *line_ends(scene))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    left, top = min(xs) - MARGIN, min(ys) - MARGIN
    return left, top, max(xs) + MARGIN - left, max(ys) + MARGIN - top


def in_words(scene: Scene) -> str:
    """The picture for a reader that does not see it."""
    things = (
        ", ".join(box.called or NAMES.get(box.thing, box.thing.value) for box in scene.boxes) or "the floor"
    )
    people = "; ".join(f"{one.name} {_where(one, scene)}" for one in scene.helpers)
    turn = f" Turn {scene.turn_to} {scene.turn_degrees:g} degrees." if scene.turn_to else ""
    return f"Seen from above: {things}.{_goes(scene)}{turn} {people}."


def _goes(scene: Scene) -> str:
    """Which way the move goes, read from its arrow: across, by the side of the patient that is there."""
    if scene.arrow and scene.patient.posture is Posture.LYING:
        (x0, y0), (x1, y1) = scene.arrow[0], scene.arrow[-1]
        side = "left" if (x1 > x0) == (cos(radians(scene.patient.side_of("left"))) > 0) else "right"
        if abs(x1 - x0) > abs(y1 - y0):
            first = " First a slide to the other side." if scene.before else ""
            return f"{first} The move goes to the patient's {side}."
    return f" The seat is at the patient's {scene.side}." if scene.turn_to else ""


def _where(one: Stands, scene: Scene) -> str:
    across = one.x - scene.patient.x
    if scene.at_the_head(one):
        return "at the head"
    return "on the left of the picture" if across < 0 else "on the right of the picture"


def _hatch(key: str) -> str:
    return (
        f'<defs><pattern id="{key}-h" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect width="5" height="5" fill="#fff" stroke="none"/>'
        '<path d="M0 0V5" stroke="#000" stroke-width="4"/></pattern></defs>'
    )


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points)


# -- Things --------------------------------------------------------------------------------------------


def _box(box: Box) -> str:
    if box.thing is Thing.CHAIR:
        return _chair(box)
    if box.thing in (Thing.LIFT, Thing.AID, Thing.WALKER):
        return _frame(box)
    fill = "#f0f0f0" if box.thing is Thing.BED else "#fff"
    dashed = ' stroke-dasharray="5 4" fill-opacity="0"' if box.under else ""
    if box.thing is Thing.BOARD:
        return f'<path d="{_path(box.corners())}Z" fill="#bbb" fill-opacity=".5" stroke-width="1"/>'
    return f'<path d="{_path(box.corners())}Z" fill="{fill}"{dashed}/>'


def _chair(box: Box) -> str:
    """Seat, back as the thickest bar, an arm each side but where it is off."""
    front_right, back_right, back_left, front_left = box.corners()
    arms = {"right": (back_right, front_right), "left": (back_left, front_left)}
    return (
        f'<path d="{_path(box.corners())}Z" fill="#fff" stroke-width="1"/>'
        f'<path d="{_path((back_right, back_left))}" stroke-width="7"/>'
        + "".join(
            f'<path d="{_path(arm)}" stroke-width="4"/>' for side, arm in arms.items() if side != box.bare
        )
    )


def _frame(box: Box) -> str:
    """A base open towards the patient: two legs and what joins them; with a mast where it lifts."""
    front_right, back_right, back_left, front_left = box.corners()
    open_to_the_front = (front_right, back_right, back_left, front_left)
    open_behind = (back_right, front_right, front_left, back_left)  # a walker's user stands within
    legs = _path(open_behind if box.thing is Thing.WALKER else open_to_the_front)
    dashed = ' stroke-dasharray="5 4"' if box.under else ""
    wide = 3 if box.thing is Thing.WALKER else 5
    base = f'<path d="{legs}" stroke-width="{wide}"{dashed}/>'
    return base + "".join(_upon(box)) if box.thing is not Thing.WALKER else base


def _upon(box: Box) -> Iterator[str]:
    """The mast over the base, its boom to the front, the bar that sling or pad hangs from."""
    reach = box.along / 2 + (BOOM_CM if box.thing is Thing.LIFT else 0)
    mast, tip = (at(box.x, box.y, box.facing, forward) for forward in (-box.along / 2, reach))
    ends = [at(*tip, box.facing, 0, right) for right in (-16, 16)]
    yield f'<path d="{_path((mast, tip))}" stroke-width="3"/><path d="{_path(ends)}" stroke-width="5"/>'
    yield f'<circle cx="{mast[0]:g}" cy="{mast[1]:g}" r="7" fill="#000"/>'


def _bed_ends(scene: Scene) -> Iterator[str]:
    """Which end is the head: the pillow, and a word at both ends."""
    bed = scene.box(Thing.BED)
    if bed is None:
        return
    left, top, half = bed.x - bed.across / 2, bed.y - bed.along / 2, bed.across / 2
    at_head = any(scene.at_the_head(one) for one in scene.helpers)
    poles = [track.points[-1][0] for track in scene.tracks if track.what == "line"]
    if not at_head:  # whose head is held in line lies on no thick pillow
        wide, high = bed.across - 16, 8 if _up_the_bed(scene) else 34
        yield f'<rect x="{left + 8:g}" y="{top + 6:g}" width="{wide:g}" height="{high}" rx="4" fill="#fff"/>'
    aside = left + bed.across if any(pole < bed.x for pole in poles) else left
    x = aside if at_head else left + half
    yield text(x, top - 6, "head end", bold=True, anchor="middle")
    foot = top + bed.along
    yield text(left + half, foot + LETTERS + 1, "foot end")
    if bed.brakes:
        yield text(left + half, foot - 5, "brakes on")


def _up_the_bed(scene: Scene) -> bool:
    """Whether the patient is moved to the head end, where the pillow then stands on its edge."""
    if scene.patient.posture is not Posture.LYING or not scene.arrow:
        return False
    (x0, y0), (x1, y1) = scene.arrow[0], scene.arrow[-1]
    return x0 == x1 and y1 < y0


def _rails(scene: Scene) -> Iterator[str]:
    bed = scene.box(Thing.BED)
    if bed is None:
        return
    body = Body(bed.x, bed.y, 270, Posture.LYING)
    for side in scene.rail_up:
        x = bed.x + cos(radians(body.side_of(side))) * bed.across / 2
        yield f'<path d="M{x:g} 20V60" stroke-width="5"/>'


# -- People --------------------------------------------------------------------------------------------


def _helper(one: Stands) -> str:
    """A black disc with the name, a point on the side it faces, a line to what each hand holds; the leader
    ringed."""
    r = BODY_CM - 5
    nose = [at(one.x, one.y, one.facing, f, s) for f, s in ((r + 9, 0), (r - 1, 7), (r - 1, -7))]
    size = 13 if len(one.name) < 3 else 26 / len(one.name)
    ring = f'<circle cx="{one.x:g}" cy="{one.y:g}" r="{r + 3:g}"/>' if one.leads else ""
    hands = [hand for hand in (one.hand, one.other_hand) if hand and hand != (one.x, one.y)]
    held = "".join(
        f'<path d="{_path(((one.x, one.y), hand))}" stroke-width="1.6"/>'
        f'<circle cx="{hand[0]:g}" cy="{hand[1]:g}" r="3.5" fill="#000" stroke="#fff" stroke-width="1"/>'
        for hand in hands
    )
    return (
        f'{held}{ring}<path d="{_path(nose)}Z" fill="#000" stroke="#fff" stroke-width="1"/>'
        f'<circle cx="{one.x:g}" cy="{one.y:g}" r="{r:g}" fill="#000"/>'
        f'<text x="{one.x:g}" y="{one.y + size * 0.36:g}" text-anchor="middle" font-weight="700" '
        f'font-size="{size:g}" fill="#fff" stroke="none">{escape(one.name)}</text>'
    )


def _body(body: Body, key: str) -> str:
    """The patient: trunk, head with a point where it faces, legs; the guarded side hatched."""
    if body.posture is Posture.LYING:
        return "".join(_lying(body, key))
    return "".join(_upright(body, key))


def _lying(body: Body, key: str) -> Iterator[str]:
    """On the back, the head toward ``facing``."""
    for side in ("left", "right"):
        toward = radians(body.side_of(side))
        fill = f"url(#{key}-h)" if side == body.guarded else "#fff"
        x = body.x + 11 * cos(toward)
        yield f'<rect x="{x - 11:g}" y="{body.y - 50:g}" width="22" height="55" rx="9" fill="{fill}"/>'
        yield _drawn_up(x, body.y, cos(toward), fill) if side in body.bent else _leg(x, body.y, fill)
    head = at(body.x, body.y, body.facing, 64)
    yield f'<circle cx="{head[0]:g}" cy="{head[1]:g}" r="13" fill="#fff"/>'


def _leg(x: float, hip: float, fill: str) -> str:
    return f'<rect x="{x - 7:g}" y="{hip + 2:g}" width="14" height="76" rx="6" fill="{fill}"/>'


def _drawn_up(x: float, hip: float, out: float, fill: str) -> str:
    """A leg drawn up, fallen a little outward so that the bend shows from above: thigh, shin, foot."""
    knee, heel = (x + 11 * out, hip + 30), (x, hip + 52)
    thigh, shin = _path(((x, hip + 6), knee)), _path((knee, heel))
    drawn = "".join(
        f'<path d="{line}" stroke-width="15" stroke-linecap="round"/>'
        f'<path d="{line}" stroke="{fill}" stroke-width="11" stroke-linecap="round"/>'
        for line in (shin, thigh)
    )
    return f'{drawn}<ellipse cx="{heel[0]:g}" cy="{heel[1] + 6:g}" rx="6" ry="9" fill="#fff"/>'


def _upright(body: Body, key: str) -> Iterator[str]:
    """Sitting, standing or kneeling: shoulders, legs to the feet, the head facing."""
    reach = 34 if body.posture is Posture.SITTING else 14
    for side in ("left", "right"):
        right = 10 if side == "right" else -10
        guarded = side == body.guarded
        hip = at(body.x, body.y, body.facing, 2, right)
        ahead = 0 if body.carries is None else -5 if side == body.carries else 7
        foot = at(body.x, body.y, body.facing, reach + 8 + ahead, right)
        hatch = ' stroke-dasharray="4 4"' if guarded else ' stroke-linecap="round"'
        yield f'<path d="{_path((hip, foot))}" stroke-width="11" stroke-linecap="round"/>'
        yield f'<path d="{_path((hip, foot))}" stroke="#fff" stroke-width="7"{hatch}/>'
    shoulders = at(body.x, body.y, body.facing, 0)
    yield (
        f'<ellipse cx="{shoulders[0]:g}" cy="{shoulders[1]:g}" rx="11" ry="22" fill="#fff" '
        f'transform="rotate({body.facing:g} {shoulders[0]:g} {shoulders[1]:g})"/>'
    )
    if body.guarded:
        place = at(body.x, body.y, body.facing, 0, 13 if body.guarded == "right" else -13)
        yield f'<circle cx="{place[0]:g}" cy="{place[1]:g}" r="8" fill="url(#{key}-h)"/>'
    nose = [at(body.x, body.y, body.facing, f, s) for f, s in ((18, 0), (10, 5), (10, -5))]
    yield f'<circle cx="{body.x:g}" cy="{body.y:g}" r="11" fill="#fff"/>'
    yield f'<path d="{_path(nose)}Z" fill="#000"/>'


def seat_at_last(scene: Scene) -> Box | None:
    """The seat the move ends in, where the patient is not yet in it."""
    chair, body = scene.box(Thing.CHAIR), scene.patient
    if chair is None or not scene.arrow or chair.away((body.x, body.y)) == 0:
        return None
    return chair if chair.away(scene.arrow[-1]) == 0 else None


def _seated_at_last(scene: Scene) -> Iterator[str]:
    """The head of who will sit there, dashed, facing as the seat faces: hips and body turn opposite ways."""
    chair = seat_at_last(scene)
    if chair is None:
        return
    x, y = at(chair.x, chair.y, chair.facing, -14)
    nose = [at(x, y, chair.facing, f, s) for f, s in ((14, 0), (7, 4), (7, -4))]
    yield f'<circle cx="{x:g}" cy="{y:g}" r="8" stroke-width="1.5" stroke-dasharray="3 2"/>'
    yield f'<path d="{_path(nose)}Z" stroke-width="1"/>'


# -- Ways over the floor -------------------------------------------------------------------------------


def _line(track: Track) -> str:
    last = track.points[-1]
    return (
        f'<path d="{_path(track.points)}" stroke-dasharray="2 4"/>'
        f'<circle cx="{last[0]:g}" cy="{last[1]:g}" r="4" fill="#fff"/>'
    )


def _before(points: tuple[Point, ...]) -> Iterator[str]:
    """The step before the move, by its name."""
    if points:
        yield _arrow(points)
        x, y = points[-1]
        yield text(x + (3 if x > 0 else -3), y + 16, "first", size=9)


def _arrow(points: tuple[Point, ...]) -> str:
    (x0, y0), (x1, y1) = points[-2:]
    long = max(((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5, 0.1)
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    tip = (x1 + 8 * ux, y1 + 8 * uy)
    head = (tip, (x1 - 6 * uy, y1 + 6 * ux), (x1 + 6 * uy, y1 - 6 * ux))
    return f'<path d="{_path(points)}" stroke-width="4"/><path d="{_path(head)}Z" fill="#000"/>'
