"""The scene from above in characters, for a terminal: ten lines that say where everybody stands."""

from __future__ import annotations

from mobicard.derive.brief.from_above.scene import Point, Posture, Scene, Thing
from mobicard.paper.brief.picture import bounds

WIDE, HIGH = 26, 11
"""Columns and lines; a character is about twice as high as wide."""

ARROWS = "→↘↓↙←↖↑↗"
PLAIN = ">\\v/<\\^/"
_FILL = {
    Thing.BED: "·",
    Thing.CHAIR: "c",
    Thing.STRETCHER: "s",
    Thing.LIFT: "l",
    Thing.AID: "a",
    Thing.WALKER: "w",
}
_KEY = {
    Thing.BED: "· bed",
    Thing.CHAIR: "c seat",
    Thing.STRETCHER: "s stretcher",
    Thing.LIFT: "l lift",
    Thing.AID: "a aid",
    Thing.WALKER: "w walker",
}


def sketch(scene: Scene, wide: int = WIDE, high: int = HIGH, *, plain: bool = False) -> list[str]:
    """Lines of at most ``wide`` characters; ``plain`` keeps to ASCII. A helper: the name, where it faces."""
    grid = [[" "] * wide for _ in range(high)]
    place = _Place(scene, wide, high)
    for row in range(high):
        for column in range(wide):
            grid[row][column] = place.fill(column, row, plain)
    arrows = PLAIN if plain else ARROWS
    bed = scene.box(Thing.BED)
    if bed is not None:
        _put(grid, place.at((bed.x - bed.across / 4, bed.y - bed.along / 2 + 12)), "head")
    body = scene.patient
    _put(grid, place.at((body.x, body.y)), "O" + arrows[_eighth(body.facing)])
    if body.posture is Posture.LYING:
        _put(grid, place.at((body.x, body.y + 50)), "H")
    for one in scene.helpers:
        _put(grid, place.at((one.x, one.y)), one.name[:3] + arrows[_eighth(one.facing)])
    return ["".join(line).rstrip() for line in grid]


def legend(scene: Scene) -> str:
    """What the characters stand for."""
    things = [_KEY[box.thing] for box in scene.boxes if box.thing in _KEY]
    return ", ".join(dict.fromkeys([*things, "O patient", "arrow: faces"]))


class _Place:
    """From centimetres to columns and lines, the whole scene within."""

    def __init__(self, scene: Scene, wide: int, high: int) -> None:
        self.scene, self.wide, self.high = scene, wide, high
        self.left, self.top, self.width, self.height = bounds(scene)
        self.cm = max(self.width / (wide - 4), self.height / high / 2)
        """Centimetres a column; a line is twice that."""

    def at(self, point: Point) -> tuple[int, int]:
        column = round((point[0] - self.left) / self.cm)
        row = int((point[1] - self.top) / self.cm / 2)
        return min(max(column, 0), self.wide - 1), min(max(row, 0), self.high - 1)

    def fill(self, column: int, row: int, plain: bool) -> str:
        """The thing whose ground this is; the uppermost wins."""
        point = (self.left + column * self.cm, self.top + (row + 0.5) * self.cm * 2)
        for box in reversed(self.scene.boxes):
            if box.away(point) == 0:
                letter = _FILL.get(box.thing, " ")
                return "." if plain and letter == "·" else letter
        return " "


def _put(grid: list[list[str]], at: tuple[int, int], text: str) -> None:
    column, row = at
    start = min(column, len(grid[0]) - len(text))
    for offset, letter in enumerate(text):
        grid[row][start + offset] = letter


def _eighth(facing: float) -> int:
    return round(facing / 45) % 8
