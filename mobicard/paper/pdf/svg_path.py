"""An SVG path as PDF drawing operators, so one shape serves the page and the PDF.

Source: SVG 1.1, 8.3 (path data) and F.6 (arcs, from endpoints to centre); each arc becomes Bezier curves.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import lru_cache

Point = tuple[float, float]
_TOKENS = re.compile(r"([MmLlHhVvCcSsQqTtAaZz])|(-?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


@lru_cache(maxsize=1024)
def operators(path: str) -> str:
    """``m``, ``l``, ``c`` and ``h`` operators for the path in its own units; y still runs down."""
    pen = _Pen()
    for command, numbers in _steps(path):
        pen.go(command, numbers)
    return " ".join(pen.written)


def _steps(path: str) -> Iterator[tuple[str, list[float]]]:
    command, numbers = "", list[float]()
    for letter, number in _TOKENS.findall(path):
        if letter:
            command = letter
            if letter in "Zz":
                yield "Z", []
            continue
        numbers.append(float(number))
        if command and len(numbers) == _TAKES[command.upper()]:
            yield command, numbers
            command = {"M": "L", "m": "l"}.get(command, command)
            numbers = []


class _Pen:
    def __init__(self) -> None:
        self.at: Point = (0.0, 0.0)
        self.start: Point = (0.0, 0.0)
        self.handle: tuple[str, Point] = ("", (0.0, 0.0))
        self.written: list[str] = []

    def go(self, command: str, numbers: list[float]) -> None:
        kind, relative = command.upper(), command.islower()
        x, y = self.at if relative else (0.0, 0.0)
        if kind == "Z":
            self.written.append("h")
            self.at = self.start
        elif kind in "ML":
            self._line((x + numbers[0], y + numbers[1]), "m" if kind == "M" else "l")
        elif kind == "H":
            self._line((x + numbers[0], self.at[1]), "l")
        elif kind == "V":
            self._line((self.at[0], y + numbers[0]), "l")
        elif kind == "A":
            self._arc(numbers[:5], (x + numbers[5], y + numbers[6]))
        else:
            points = [(x + a, y + b) for a, b in zip(numbers[::2], numbers[1::2], strict=True)]
            self._bend(kind, points)

    def _line(self, to: Point, operator: str) -> None:
        self.written.append(f"{_written(to)} {operator}")
        self.at, self.handle = to, ("", to)
        if operator == "m":
            self.start = to

    def _bend(self, kind: str, points: list[Point]) -> None:
        if kind in "ST":
            family = "C" if kind == "S" else "Q"
            points.insert(0, self._mirrored(family))
            kind = family
        if kind == "Q":
            self.handle = ("Q", points[0])
            quad, end = points
            points = [_between(self.at, quad), _between(end, quad), end]
        else:
            self.handle = ("C", points[1])
        self.written.append(" ".join(_written(point) for point in points) + " c")
        self.at = points[-1]

    def _mirrored(self, family: str) -> Point:
        kind, (x, y) = self.handle
        return (2 * self.at[0] - x, 2 * self.at[1] - y) if kind == family else self.at

    def _arc(self, shape: list[float], to: Point) -> None:
        for curve in arc_curves(self.at, shape, to):
            self.written.append(" ".join(_written(point) for point in curve) + " c")
        self.at, self.handle = to, ("", to)


def _written(point: Point) -> str:
    return f"{point[0]:.3f} {point[1]:.3f}"


def _between(end: Point, handle: Point) -> Point:
    """The cubic handle of a quadratic curve: two thirds of the way to its one handle."""
    return end[0] + (handle[0] - end[0]) * 2 / 3, end[1] + (handle[1] - end[1]) * 2 / 3


def arc_curves(start: Point, shape: list[float], end: Point) -> list[tuple[Point, Point, Point]]:
    """The arc (rx, ry, rotation, large, sweep) as Bezier curves of at most a quarter turn each."""
    rx, ry, large, sweep = abs(shape[0]), abs(shape[1]), bool(shape[3]), bool(shape[4])
    if start == end or not rx or not ry:
        return [(start, end, end)] if start != end else []
    turn = math.radians(shape[2])
    cos, sin = math.cos(turn), math.sin(turn)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    x1, y1 = cos * dx + sin * dy, -sin * dx + cos * dy
    grow = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    below = (rx * y1) ** 2 + (ry * x1) ** 2
    root = math.sqrt(max(0.0, (rx * ry) ** 2 - below) / below) * (-1 if large == sweep else 1)
    cx1, cy1 = root * rx * y1 / ry, -root * ry * x1 / rx
    cx = cos * cx1 - sin * cy1 + (start[0] + end[0]) / 2
    cy = sin * cx1 + cos * cy1 + (start[1] + end[1]) / 2
    first = math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx)
    swept = math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx) - first
    swept += 2 * math.pi if sweep and swept < 0 else -2 * math.pi if not sweep and swept > 0 else 0.0
    pieces = max(1, math.ceil(abs(swept) / (math.pi / 2) - 1e-9))
    step = swept / pieces
    reach = 4 / 3 * math.tan(step / 4)

    def point(angle: float, along: float) -> Point:
        ex = rx * (math.cos(angle) - along * math.sin(angle))
        ey = ry * (math.sin(angle) + along * math.cos(angle))
        return cx + cos * ex - sin * ey, cy + sin * ex + cos * ey

    angles = [first + step * piece for piece in range(pieces)]
    return [(point(a, reach), point(a + step, -reach), point(a + step, 0.0)) for a in angles]
