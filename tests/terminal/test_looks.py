"""The more help, the more it stands out, in every theme; one alarm, for what must not be overlooked."""

from __future__ import annotations

import re
from datetime import datetime

import pytest

from mobicard.facts.text import hour_says
from mobicard.facts.words import Level
from mobicard.scheme import load
from mobicard.scheme.thresholds import _colour, distance
from mobicard.terminal.looks import Depth, alarm_style, level_style
from mobicard.terminal.theme import PLAIN, themes
from tests.terminal.test_everywhere import contrast

DEPTHS = [Depth.FULL, Depth.TABLE, Depth.DARK, Depth.DARK_TABLE]
GROUNDS = {theme.name: theme.background for theme in themes() if theme.name != PLAIN}


def colours(style: str) -> tuple[str, str]:
    """Ink and ground of a style."""
    ink, ground = re.findall(r"#[0-9A-Fa-f]{6}", style)
    return ink, ground


def ground_of(name: str) -> str:
    ground = GROUNDS[name]
    assert ground is not None
    return ground


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("name", GROUNDS)
def test_more_help_stands_out_more(name, depth):
    """The contrast of a level's block with the screen behind it grows with every rank."""
    if (depth in (Depth.DARK, Depth.DARK_TABLE)) is (name == "mobicard-light"):
        pytest.skip("a depth of the other ground")
    looks = load().looks
    stands_out = [contrast(colours(level_style(looks[level], depth))[1], ground_of(name)) for level in Level]
    assert stands_out == sorted(stands_out)
    assert len(set(stands_out)) == len(Level)
    assert stands_out[-1] >= 10


@pytest.mark.parametrize("depth", DEPTHS)
@pytest.mark.parametrize("level", list(Level))
def test_every_level_is_read_on_its_block(level, depth):
    """Ink on ground at least 7 to 1 (WCAG 2.2 SC 1.4.6), not rounded."""
    assert contrast(*colours(level_style(load().looks[level], depth))) >= 7.0


@pytest.mark.parametrize("depth", [Depth.DARK, Depth.DARK_TABLE])
@pytest.mark.parametrize("level", list(Level))
def test_a_level_on_dark_is_in_the_hue_of_its_door(level, depth):
    """Its block or its letters: whichever has the colour stands nearer the door's hue than 45 degrees.

    Among the doors' own colours none of another hue is nearer; blue with blue is told by block or letters.
    """
    looks = load().looks
    own = hue(looks[level].colour)
    shown = max(colours(level_style(looks[level], depth)), key=chroma)
    if chroma(looks[level].colour) < 8:
        assert chroma(shown) < 8, "a grey stays grey"
    else:
        assert turn(hue(shown), own) <= 45


@pytest.mark.parametrize("depth", [Depth.DARK, Depth.DARK_TABLE])
def test_no_block_on_dark_looks_like_another_levels_door(depth):
    """The ground of a block is no nearer than 10 in CIEDE2000 to the door of another level."""
    looks = load().looks
    for level in (Level.TEAM, Level.POWER, Level.HOIST, Level.REMAIN):
        _, ground = colours(level_style(looks[level], depth))
        for other in Level:
            apart = distance(_colour(ground), _colour(looks[other].colour))
            assert other is level or apart >= 10, (level, other, apart)


def lch(colour: str) -> list[float]:
    return list(_colour(colour).convert("lch-d65").coords(nans=False))


def hue(colour: str) -> float:
    """CIE hue angle, degrees."""
    return lch(colour)[2]


def chroma(colour: str) -> float:
    return lch(colour)[1]


def turn(one: float, other: float) -> float:
    """How far two hues are apart, degrees."""
    return abs((one - other + 180) % 360 - 180)


def test_without_colours_more_help_has_more_weight():
    """Plain, bold, underlined; never reversed, which is the mark's and the alarm's."""
    weights = {"": 0, "bold": 1, "bold underline": 2}
    given = [weights[level_style(load().looks[level], Depth.PLAIN)] for level in Level]
    assert given == sorted(given)
    assert given[0] < given[2] < given[-1]
    assert "reverse" in alarm_style(Depth.PLAIN)


@pytest.mark.parametrize("depth", DEPTHS)
def test_the_alarm_is_no_level_and_can_be_read(depth):
    """One style, its ink at 7 to 1, and no level has its ground."""
    ink, ground = colours(alarm_style(depth))
    assert contrast(ink, ground) >= 7.0
    assert ground not in [colours(level_style(look, depth))[1] for look in load().looks.values()]


async def test_do_not_move_overdue_and_old_card_share_the_alarm_and_nothing_else_has_it(opened):
    """What carries the alarm's ground on the Board is exactly those words."""
    async with opened(size=(120, 40), theme="mobicard-dark") as nurse:
        assert nurse.app.depth is Depth.DARK
        _, ground = colours(alarm_style(nurse.app.depth))
        strips = nurse.app.screen._compositor.render_strips()
        alarmed = {
            segment.text.strip()
            for strip in strips
            for segment in strip
            if segment.style and segment.style.bgcolor and segment.style.bgcolor.name == ground.lower()
        } - {""}
        assert any(text.startswith("OLD CARD") for text in alarmed)
        assert "fell" in alarmed
        says = re.compile(r"OLD CARD|fell|OVERDUE|HEAD|not assessed|\d+ (overdue|old cards)")
        assert [one for one in alarmed if not says.match(one)] == []


async def test_an_hour_of_another_day_has_its_day(opened, ward):
    """What has been overdue since yesterday says so on the Board; an hour of today stays bare."""
    async with opened(size=(80, 40)) as nurse:
        assert re.search(r"until 19:30|due 19:30", nurse.screen)
        ward.clock = type(ward.clock).fixed(ward.now.replace(day=3, hour=8))
        nurse.app.screen.read_ledger()
        await nurse.settle()
        assert "OVERDUE Mon" in nurse.screen
        assert "overdue since Mon 19:30" in nurse.screen


def test_hours_by_how_far_their_day_is():
    """The same day bare, within six days the weekday, else the date: a weekday alone would mean two days."""
    now = datetime(2026, 3, 2, 22, 0)
    hours = [now.replace(hour=23), datetime(2026, 3, 3, 7, 30), datetime(2026, 2, 20, 7, 30)]
    assert [hour_says(at, now) for at in hours] == ["23:00", "Tue 07:30", "20 Feb 07:30"]


async def test_f9_draws_the_levels_for_the_new_ground(opened):
    """From dark to light and back, the blocks on the Board and in the open Record follow."""
    async with opened(size=(120, 40), theme="mobicard-light") as nurse:
        assert nurse.app.depth is Depth.FULL
        await nurse.press("enter")
        before = nurse.app.screen._card._card_lines[0].parts[0]
        await nurse.press("f9")
        assert nurse.app.depth is Depth.DARK
        after = nurse.app.screen._card._card_lines[0].parts[0]
        assert before[0] == after[0]
        assert before[1] != after[1]
