"""What an arrangement is made from: who there is, and a layout before anybody is placed."""

from __future__ import annotations

from dataclasses import dataclass

from mobicard.derive.brief.from_above.scene import BODY_CM, Body, Box, Point
from mobicard.derive.brief.from_above.sizes import Sizes
from mobicard.derive.brief.ways import Way

EDGE = BODY_CM + 3
"""From a side of the bed to the middle of who stands there."""

OUT = 32.0
"""From the bed's edge to the feet of who sits on it."""

WALKER_CM = (50.0, 40.0)
"""A frame's width and depth: a common one, no source."""

BOARD_CM = (20.0, 62.0)
"""A transfer board's width and length: a common one, no source."""

SEAT_Y = 110.0
BEHIND_LEGS = 10.0
"""From the middle of who stands to the backs of the legs."""

TO_THE_HEAD_END = 270.0
"""The way a boost goes, up the page; who stands beside the bed faces it."""


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
    walks: bool = False
    lies: bool = False
    """Whether the patient lies at the end of the move as at its start."""
    bends: tuple[str, ...] = ()
    """The legs the patient is asked to bend."""
    leg_held: bool = False
    """Whether one alone at a sit up supports the legs, for a hip's sake."""
    head_only: bool = False
    """Whether the first of them holds the head and nothing else."""
    watchers: int = 0
    """How many of the last ones only watch the lines."""

    @property
    def movers(self) -> int:
        """How many move the patient."""
        return len(self.names) - self.watchers

    @property
    def lines_at(self) -> str | None:
        """The lines' side of a patient whose move goes to the right: the scene is mirrored afterwards."""
        if self.line_side is None or self.side == "right":
            return self.line_side
        return {"left": "right", "right": "left"}[self.line_side]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place to stand. ``faces`` None: what is held. ``hands`` empty: the nearest of the patient."""

    at: Point
    faces: float | None = None
    hands: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """One arrangement before anybody is placed: things, the patient, the places in the order of the roles.

    ``pole``: 1 or -1, the side of the page the lines go with; 0 their own side of the patient.
    """

    boxes: tuple[Box, ...]
    patient: Body
    places: tuple[Spot, ...]
    arrow: tuple[Point, ...] = ()
    rail_up: tuple[str, ...] = ()
    pole: int = 0
    first: tuple[Point, ...] = ()
    """The way of a step before the move itself."""
    bags: Point | None = None
    """Where the lines end when they go along with the patient."""


def spots(*points: Point) -> tuple[Spot, ...]:
    """Places whose people face what they hold."""
    return tuple(Spot(point) for point in points)


HEAD = Spot((0.0, -21.0), hands=((-11.0, 27.0), (11.0, 27.0)))
"""At the head of who lies, facing down the bed, a hand each side."""
