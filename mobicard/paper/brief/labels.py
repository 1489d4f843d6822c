"""The words in a scene's picture, each where there is room for it."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from math import cos, radians, sin

from mobicard.derive.brief.from_above.scene import BODY_CM, Box, Point, Scene, Thing, apart

MARGIN = 26.0
LETTERS = 11.0
"""Height of the picture's letters in cm of the scene."""


NAMES = {
    Thing.CHAIR: "chair",
    Thing.STRETCHER: "stretcher",
    Thing.LIFT: "lift",
    Thing.AID: "aid",
    Thing.WALKER: "walker",
}


def at(x: float, y: float, turn: float, forward: float, right: float = 0.0) -> Point:
    """So far forward and to the right of a point that faces this way, cm and degrees."""
    rad = radians(turn)
    return (x + forward * cos(rad) - right * sin(rad), y + forward * sin(rad) + right * cos(rad))


def text(
    x: float, y: float, says: str, *, anchor: str = "middle", bold: bool = False, size: float = LETTERS
) -> str:
    """One text element, escaped; ``size`` in cm of the scene."""
    weight = (' font-weight="700"' if bold else "") + f' font-size="{size:g}"'
    return (
        f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}"{weight} fill="#000" stroke="none">'
        f"{escape(says)}</text>"
    )


def label(box: Box, scene: Scene) -> str:
    """What a thing is called, clear of the patient, and its brakes; nothing where it needs no name."""
    says = box.called or NAMES.get(box.thing)
    if says is None:
        return ""
    lowest = max(y for _, y in box.corners())
    if box.thing is Thing.STRETCHER:
        return text(box.x, lowest - 16, says, bold=True) + text(box.x, lowest - 5, "brakes on")
    if box.thing is not Thing.CHAIR:
        return _frame_label(box, scene)
    drawn = ((scene.patient.x, scene.patient.y), *scene.arrow[-1:])
    taken = any(box.away(point) == 0 for point in drawn)
    (x, y), anchor = _chair_place(box, scene, lowest + LETTERS) if taken else ((box.x, box.y + 3), "middle")
    under = text(x, y + 10, "brakes", size=8, anchor=anchor) if box.brakes else ""
    return text(x, y, says, bold=True, anchor=anchor) + under


def _chair_place(box: Box, scene: Scene, under: float) -> tuple[Point, str]:
    """Under a seat that is taken; at a side where somebody stands there."""
    beside = box.y + 8
    places = (((box.x, under), "middle"), ((box.x - 40, beside), "end"), ((box.x + 40, beside), "start"))
    free = (place for place in places if _clear_of_people(scene, place[0], LETTERS))
    return next(free, places[0])


def _clear_of_people(scene: Scene, point: Point, by: float) -> bool:
    """Whether everybody stands this far off, cm from body to point."""
    return all(apart((one.x, one.y), point) > BODY_CM + by for one in scene.helpers)


def _frame_label(box: Box, scene: Scene) -> str:
    """Over a machine that stands across the page, beside one along it; a walker's before it, or within."""
    says = NAMES[box.thing]
    if box.thing is Thing.WALKER:
        return _walker_label(box, scene)
    if box.facing % 180 == 0:
        return text(box.x, min(y for _, y in box.corners()) - 5, says, bold=True)
    return text(box.x + box.across / 2 + 5, box.y, says, bold=True, anchor="start")


def _walker_label(box: Box, scene: Scene) -> str:
    """Before one that is turned, in one that goes with the arrow; elsewhere the legs are in it."""
    walks = scene.patient.goes_to is None and box.facing == 270
    x, y, anchor = box.x, box.y + 3 if walks else min(y for _, y in box.corners()) - 4, "middle"
    if box.facing % 90:
        (x, y), anchor = at(*box.front(), box.facing, 8), "start" if box.x > 0 else "end"
    return text(x, y, NAMES[box.thing], bold=True, size=9, anchor=anchor)


def turn_label(scene: Scene) -> Iterator[str]:
    """The patient's turn in words: side and angle. The way into the seat is the move's own arrow."""
    body = scene.patient
    if scene.turn and body.feet is not None:
        (x, y), anchor = _turn_place(scene, body.feet)
        yield text(x, y, turn_says(scene), anchor=anchor, bold=True)


def turn_says(scene: Scene) -> str:
    """``turn LEFT 45°``, as it stands beside the feet."""
    return f"turn {scene.turn_to.upper()} {scene.turn_degrees:g}\N{DEGREE SIGN}"


def _turn_place(scene: Scene, feet: Point) -> tuple[Point, str]:
    """Where the turn's words stand, clear of everybody, and which end of them is there."""
    x, y = at(*feet, scene.patient.facing + scene.turn / 2, 36)
    out = 1 if x > scene.patient.x else -1
    aid, chair, frame = (scene.box(thing) for thing in (Thing.AID, Thing.CHAIR, Thing.WALKER))
    if aid and chair:
        x, y = chair.x + 12 * out, (aid.y + chair.y) / 2 + 14
    elif frame and frame.facing == scene.patient.facing:
        x, y = scene.patient.x + 14 * out, feet[1] - 84
    heights = (y + step for step in (0, -20, -40, -60, -80, -100))
    clear = (height for height in heights if _free_of_people(scene, x, height, out))
    return (x, next(clear, y)), "start" if out > 0 else "end"


def _free_of_people(scene: Scene, x: float, y: float, out: int) -> bool:
    points = [(x + out * along, y - 4) for along in (0, 25, 50)]
    walker = scene.box(Thing.WALKER)
    clear = all(_clear_of_people(scene, point, 6) for point in points)
    return clear and (walker is None or all(walker.away(point) > 18 for point in points))


def turn_ends(scene: Scene) -> Iterator[Point]:
    """Both ends of the turn's words, so that the picture has room for them."""
    if scene.turn and scene.patient.feet is not None:
        (x, y), anchor = _turn_place(scene, scene.patient.feet)
        wide = len(turn_says(scene)) * LETTERS * 0.62 - MARGIN
        yield x + max(wide, 0) * (1 if anchor == "start" else -1), y


def line_ends(scene: Scene) -> Iterator[Point]:
    """Where the word at the lines' pole ends, less the margin that is there anyway."""
    for track in scene.tracks:
        if track.what == "line":
            x, y = track.points[-1]
            yield x + (7 + len("lines") * LETTERS * 0.62 - MARGIN) * (-1 if x < scene.patient.x else 1), y


def line_label(scene: Scene) -> Iterator[str]:
    """The word beside each pole of lines."""
    for track in scene.tracks:
        if track.what == "line":
            x, y = track.points[-1]
            out = -1 if x < scene.patient.x else 1
            yield text(x + 7 * out, y + 4, "lines", anchor="end" if out < 0 else "start")
