"""The seven shapes as they are seen: pieces that stay apart at their distance, outlines that differ."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from PIL import Image, ImageChops, ImageDraw

from mobicard import scheme
from mobicard.facts.words import Level

HOUSE = scheme.load()
DOTS = 2
"""Dots a unit of the 100 x 100 box."""

SMALLEST = 1.75 / 28.4 * 100
"""The smallest line seen from 3 m, 2 minutes of arc, in units of a shape as high as A5's word."""

Contour = list[tuple[float, float]]


def contours(path: str) -> list[Contour]:
    """The path's closed outlines as corners, in dots; curves in twelve steps."""
    pen, found = RecordingPen(), []
    parse_path(path, pen)
    for draw, places in pen.value:
        if draw == "moveTo":
            found.append([places[0]])
        elif draw == "lineTo":
            found[-1].append(places[0])
        elif draw == "curveTo":
            found[-1] += [bezier(found[-1][-1], *places, step / 12) for step in range(1, 13)]
    return [[(x * DOTS, y * DOTS) for x, y in outline] for outline in found]


def bezier(*given):  # type: ignore[no-untyped-def]
    *corners, at = given
    weights = ((1 - at) ** 3, 3 * (1 - at) ** 2 * at, 3 * (1 - at) * at**2, at**3)
    return tuple(sum(w * corner[axis] for w, corner in zip(weights, corners, strict=True)) for axis in (0, 1))


def picture(level: Level, thicker: float = 0.0) -> Image.Image:
    """The shape, filled even-odd, white on black; every edge moved outwards by half of ``thicker`` units."""
    side, outlines = 120 * DOTS, contours(HOUSE.looks[level].shape_path)
    drawn = Image.new("1", (side, side))
    for outline in outlines:
        one = Image.new("1", (side, side))
        ImageDraw.Draw(one).polygon([(x + 10 * DOTS, y + 10 * DOTS) for x, y in outline], fill=1)
        drawn = ImageChops.logical_xor(drawn, one)
    for outline in outlines if thicker else ():
        moved = [(x + 10 * DOTS, y + 10 * DOTS) for x, y in (*outline, *outline[:2])]
        ImageDraw.Draw(drawn).line(moved, fill=1, width=round(thicker * DOTS), joint="curve")
    return drawn


def pieces(drawn: Image.Image) -> tuple[int, int]:
    """How many pieces of shape and of ground there are, specks of less than 25 square units left out."""
    grey, counts = drawn.convert("L"), []
    for of, done in ((255, 100), (0, 50)):
        sizes = [0]
        while (at := grey.tobytes().find(of)) >= 0:
            ImageDraw.floodfill(grey, (at % grey.width, at // grey.width), done)
            sizes.append(grey.histogram()[done])
        counts.append(sum(after - before >= 25 * DOTS**2 for before, after in pairwise(sizes)))
    return counts[0], counts[1]


def alike(one: Image.Image, other: Image.Image) -> float:
    """Share of what either covers that both cover."""
    both, either = ImageChops.logical_and(one, other), ImageChops.logical_or(one, other)
    return both.histogram()[255] / either.histogram()[255]


def test_the_two_hands_on_levels_differ_in_outline_and_arrangement() -> None:
    """Strangers mixed them up: one stands alone in one piece, the other is several, on other ground."""
    link, team = picture(Level.LINK), picture(Level.TEAM)
    assert alike(link, team) < 0.5
    assert pieces(link)[0] == 1
    assert pieces(team)[0] > 3


def test_no_two_shapes_cover_the_same_ground() -> None:
    shown = {level: picture(level) for level in Level}
    assert [
        (one, other) for one, other in combinations(Level, 2) if alike(shown[one], shown[other]) > 0.75
    ] == []


@pytest.mark.parametrize("level", list(Level))
def test_gaps_are_wide_enough_to_be_seen_from_three_metres(level: Level) -> None:
    """Source: the house scheme's smallest line at 3 m. A gap that closes makes another shape."""
    assert pieces(picture(level, SMALLEST)) == pieces(picture(level))
