"""A scene seen from above. Centimetres, x to the right, y down, the bed's head end at the top.

Directions are degrees: 0 right, 90 down the page, so that a figure's right hand is at its facing plus 90.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from math import atan2, cos, degrees, hypot, radians, sin

from mobicard.derive.as_json import AsJson

Point = tuple[float, float]
BODY_CM = 20.0
"""Half the room one standing person takes."""


class Thing(StrEnum):
    """What stands in a scene."""

    BED = "bed"
    CHAIR = "chair"
    STRETCHER = "stretcher"
    LIFT = "lift"
    AID = "standing aid"
    WALKER = "walker"
    POLE = "pole"
    BOARD = "board"


class Posture(StrEnum):
    """How the patient is at the start of the move."""

    LYING = "lying"
    SITTING = "sitting"
    STANDING = "standing"
    KNEELING = "kneeling"


@dataclass(frozen=True, slots=True)
class Box(AsJson):
    """A thing with four corners: its middle, its size across and along ``facing``."""

    thing: Thing
    x: float
    y: float
    across: float
    along: float
    facing: float
    brakes: bool = False
    called: str = ""
    under: bool = False
    """Whether it stands partly under another thing, like the legs of a lift under a bed."""
    bare: str = ""
    """The side of a chair whose arm is off."""

    def corners(self) -> tuple[Point, ...]:
        """The four corners: front right, back right, back left, front left."""
        signs = ((1, 1), (-1, 1), (-1, -1), (1, -1))
        return tuple(self._at(f * self.along / 2, r * self.across / 2) for f, r in signs)

    def front(self) -> Point:
        """The middle of the edge it faces."""
        return self._at(self.along / 2, 0)

    def away(self, point: Point) -> float:
        """How far a point is outside, cm; 0 within."""
        dx, dy = point[0] - self.x, point[1] - self.y
        turn = radians(self.facing)
        along = abs(dx * cos(turn) + dy * sin(turn)) - self.along / 2
        across = abs(-dx * sin(turn) + dy * cos(turn)) - self.across / 2
        return hypot(max(along, 0), max(across, 0))

    def _at(self, forward: float, right: float) -> Point:
        turn = radians(self.facing)
        return (
            round(self.x + forward * cos(turn) - right * sin(turn), 1),
            round(self.y + forward * sin(turn) + right * cos(turn), 1),
        )


@dataclass(frozen=True, slots=True)
class Stands(AsJson):
    """A helper where he or she stands; ``hand`` is what is held, ``other_hand`` where the second is apart;
    who holds nothing has the hand where he or she stands."""

    name: str
    x: float
    y: float
    facing: float
    leads: bool
    hand: Point
    other_hand: Point | None = None


@dataclass(frozen=True, slots=True)
class Body(AsJson):
    """The patient. ``facing`` of one who lies is the way the head points; ``guarded`` the side drawn hatched.

    ``feet`` is where the feet are on the floor; ``goes_to`` where they will be before sitting down; ``bent``
    the legs drawn up by one who lies.
    """

    x: float
    y: float
    facing: float
    posture: Posture
    guarded: str | None = None
    carries: str | None = None
    feet: Point | None = None
    goes_to: Point | None = None
    bent: tuple[str, ...] = ()

    def side_of(self, side: str) -> float:
        """The direction of the patient's left or right, degrees."""
        right = -90 if self.posture is Posture.LYING else 90  # on the back it is on the viewer's left
        return (self.facing + (right if side == "right" else -right)) % 360


@dataclass(frozen=True, slots=True)
class Track(AsJson):
    """A way over the floor: the patient's own, or a line's from the body to its pole or bag."""

    what: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Scene(AsJson):
    """All of it. ``side`` is the patient's side the move goes to; ``rail_up`` bed sides with a rail up."""

    side: str
    boxes: tuple[Box, ...]
    patient: Body
    helpers: tuple[Stands, ...]
    tracks: tuple[Track, ...] = ()
    rail_up: tuple[str, ...] = ()

    KEYS = ("side", "boxes", "patient", "helpers", "tracks", "rail_up", "turn_degrees", "turn_to")

    def box(self, thing: Thing) -> Box | None:
        """The first thing of a kind."""
        return next((box for box in self.boxes if box.thing is thing), None)

    @property
    def arrow(self) -> tuple[Point, ...]:
        """The patient's own way; nothing where the move has none."""
        return self._way("move")

    @property
    def before(self) -> tuple[Point, ...]:
        """The patient's way in a step before the move itself; nothing where there is none."""
        return self._way("first")

    def _way(self, what: str) -> tuple[Point, ...]:
        return next((track.points for track in self.tracks if track.what == what), ())

    def at_the_head(self, one: Stands) -> bool:
        """Whether somebody stands beyond the head end of the bed."""
        bed = self.box(Thing.BED)
        return bed is not None and one.y < bed.y - bed.along / 2

    @property
    def turn(self) -> float:
        """The turn of the patient before sitting down, degrees; to the left below 0."""
        chair = self.box(Thing.CHAIR)
        if chair is None or self.patient.goes_to is None:
            return 0.0
        return round((chair.facing - self.patient.facing + 180) % 360 - 180, 1)

    @property
    def turn_degrees(self) -> float:
        return abs(self.turn)

    @property
    def turn_to(self) -> str:
        """``left``, ``right`` or nothing."""
        return "" if self.turn == 0 else "left" if self.turn < 0 else "right"


def towards(start: Point, end: Point) -> float:
    """The direction from one point to another, degrees."""
    return round(degrees(atan2(end[1] - start[1], end[0] - start[0])) % 360, 1)


def apart(one: Point, other: Point) -> float:
    """Centimetres between two points."""
    return hypot(one[0] - other[0], one[1] - other[1])


def mirrored(scene: Scene) -> Scene:
    """The same move to the other side: everything across the bed's middle line, left for right."""
    other = {"left": "right", "right": "left"}
    body = scene.patient
    return Scene(
        side=other[scene.side],
        boxes=tuple(
            replace(box, x=-box.x, facing=_flip(box.facing), bare=other.get(box.bare, ""))
            for box in scene.boxes
        ),
        patient=replace(
            body,
            x=-body.x,
            facing=_flip(body.facing),
            guarded=other[body.guarded] if body.guarded else None,
            carries=other[body.carries] if body.carries else None,
            feet=_across(body.feet) if body.feet else None,
            goes_to=_across(body.goes_to) if body.goes_to else None,
            bent=tuple(other[side] for side in body.bent),
        ),
        helpers=tuple(
            replace(
                one,
                x=-one.x,
                facing=_flip(one.facing),
                hand=_across(one.hand),
                other_hand=_across(one.other_hand) if one.other_hand else None,
            )
            for one in scene.helpers
        ),
        tracks=tuple(replace(one, points=tuple(map(_across, one.points))) for one in scene.tracks),
        rail_up=tuple(other[side] for side in scene.rail_up),
    )


def _flip(facing: float) -> float:
    return round((180 - facing) % 360, 1)


def _across(point: Point) -> Point:
    return (-point[0], point[1])
