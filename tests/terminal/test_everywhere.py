"""What holds in every place: help, palette, themes, no colour, small windows, hostile names, the lock."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from datetime import timedelta

import pytest
from textual.app import App, ComposeResult
from textual.color import Color

from mobicard.facts.words import Level
from mobicard.ledger import NotAllowed
from mobicard.scheme import load
from mobicard.terminal.app import MobicardApp
from mobicard.terminal.at_station.leaving import fault_says
from mobicard.terminal.at_station.lock import Lock
from mobicard.terminal.board.screen import Board
from mobicard.terminal.commands import COMMANDS, LANGUAGE, Place
from mobicard.terminal.help import HelpScreen
from mobicard.terminal.looks import Depth, badge, depth_of, level_style, safe, xterm
from mobicard.terminal.places import PLACES, screen_of
from mobicard.terminal.theme import NAMES, PLAIN, themes
from mobicard.terminal.widgets.key_line import KeyLine
from tests.terminal.staff import signed_in


async def test_help_matches_the_place(opened):
    """? on the Board shows the Board's keys, in the Record the Record's; every command has its line."""
    async with opened(size=(120, 50)) as nurse:
        await nurse.press("question_mark")
        assert isinstance(nurse.app.screen, HelpScreen)
        for command in COMMANDS[Place.BOARD]:
            assert command.says in nurse.screen
        await nurse.press("escape", "enter", "f1")
        for command in COMMANDS[Place.RECORD]:
            assert command.says in nurse.screen


class Feet(App[None]):
    """The bottom line of every place, one under the other."""

    CSS = "KeyLine { height: 1; }"

    def compose(self) -> ComposeResult:
        yield from (KeyLine(place) for place in PLACES)


@pytest.mark.parametrize("width", [72, 80, 100, 200])
async def test_the_bottom_line_says_what_matters_here_and_more_where_there_is_room(width):
    """In every place whole words alone: what is done there first, then the way back, help, find, quit."""
    feet = Feet()
    async with feet.run_test(size=(width, 24)) as pilot:
        await pilot.pause()
        lines = [strip.text.rstrip() for strip in feet.screen._compositor.render_strips()]
    for place, line in zip(PLACES, lines, strict=False):
        ends = "? Help ^P Find ^Q Quit" if place is Place.BOARD else "Esc Back ? Help ^P Find ^Q Quit"
        own = [one for one in COMMANDS[place] if one.label != "Back"]
        own.sort(key=lambda one: not one.footer)
        said = [f"{one.short_key} {one.label} " for one in own]
        fits = next(many for many in range(len(said), -1, -1) if len("".join(said[:many]) + ends) <= width)
        assert line == "".join(said[:fits]) + ends
        assert fits >= min(len(own), 3 if width < 100 else 5)
    assert lines[list(PLACES).index(Place.BOARD)].startswith("Enter Open")


async def test_a_command_on_the_bottom_line_can_be_clicked(opened):
    """A click on its word does what its key does."""
    async with opened(size=(120, 24)) as nurse:
        at = nurse.screen.splitlines()[-1].index("Sort")
        await nurse.pilot.click(offset=(at, 23))
        await nurse.settle()
        assert nurse.app.screen.order == "level"


async def test_the_palette_finds_a_command_by_its_words(opened):
    """Ctrl+P, words of a command, Enter: it is done."""
    async with opened() as nurse:
        await nurse.press("ctrl+p")
        await nurse.type("sort by")
        await nurse.until(lambda: "Sort by bed, level" in nurse.screen)
        await nurse.press("enter")
        await nurse.settle()
        assert nurse.app.screen.order == "level"


@pytest.mark.parametrize("place", list(COMMANDS))
def test_no_key_means_two_things_in_one_place(place):
    """No key is declared twice in a place, nor again for everywhere."""
    keys = [key for c in COMMANDS[place] for key in c.keys.split(",")]
    if place is not Place.EVERYWHERE:
        keys += [key for c in COMMANDS[Place.EVERYWHERE] for key in c.keys.split(",")]
    assert len(keys) == len(set(keys))


@pytest.mark.parametrize("place", list(COMMANDS))
def test_a_key_of_the_common_language_has_no_second_meaning(place):
    """Why, whole record, judge, fall, print, handoff, back, quit: their keys mean nothing else anywhere."""
    meant = {key: word for word, keys in LANGUAGE.items() for key in keys.split(",")}
    for command in COMMANDS[place]:
        for key in command.keys.split(","):
            assert meant.get(key, command.label) == command.label, (place, key)


@pytest.mark.parametrize("place", list(COMMANDS))
def test_what_is_found_in_several_places_has_its_common_key_in_each(place):
    """Wherever a word of the common language stands, one of its keys does it."""
    for command in COMMANDS[place]:
        common = LANGUAGE.get(command.label)
        assert common is None or set(common.split(",")) & set(command.keys.split(",")), (place, command)


def test_a_control_or_function_key_has_one_meaning_everywhere():
    """Its footer word is the same in every place; what was seen again is “same” or “examined”."""
    meant = {}
    for one in (one for ours in COMMANDS.values() for one in ours):
        for key in one.keys.split(","):
            if key.startswith("ctrl+") or re.fullmatch(r"f\d+", key):
                meant.setdefault(key, set()).add(one.label.replace("Examined", "Same"))
    assert {key: words for key, words in meant.items() if len(words) > 1} == {}


@pytest.mark.parametrize("theme", [theme for theme in themes() if theme.name != PLAIN], ids=lambda t: t.name)
def test_screen_colours_keep_contrast_seven(theme):
    """Text, accents and refusals on their grounds: at least 7 to 1 (WCAG 2.2 SC 1.4.6)."""
    for ground in (theme.background, theme.surface, theme.panel):
        for ink in (theme.foreground, theme.primary, theme.accent, theme.error, theme.warning, theme.success):
            assert contrast(ink, ground) >= 7.0, (ink, ground)


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours. Source: WCAG 2.2, definition of contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in Color.parse(colour).normalized
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


async def test_f9_goes_through_the_themes(opened):
    """F9 shows the next theme, and after the last the first again."""
    async with opened(theme=NAMES[0]) as nurse:
        seen = []
        for _ in NAMES:
            seen.append(nurse.app.theme)
            await nurse.press("f9")
        assert seen == list(NAMES)
        assert nurse.app.theme == NAMES[0]


async def test_without_colour_the_word_glyph_and_rail_carry_all(opened, monkeypatch):
    """NO_COLOR: the plain theme, no colour in any cell, every level's glyph, word and rail."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(size=(120, 40)) as nurse:
        assert nurse.app.theme == PLAIN
        assert nurse.app.depth is Depth.PLAIN
        strips = nurse.app.screen._compositor.render_strips()
        styles = [segment.style for strip in strips for segment in strip if segment.style]
        assert {style.color.name for style in styles if style.color} <= {"default"}
        assert {style.bgcolor.name for style in styles if style.bgcolor} <= {"default"}
        looks = nurse.app.scheme.looks
        for level in {view.plan.shown_level for view in nurse.ward.board()}:
            assert f"{looks[level].glyph} {looks[level].word}" in nurse.screen
        await nurse.type("04")
        await nurse.press("enter")
        assert "[==== ---]" in nurse.screen


@pytest.mark.parametrize(
    ("system", "no_color", "depth"),
    [
        ("truecolor", False, Depth.FULL),
        ("256", False, Depth.TABLE),
        ("standard", False, Depth.PLAIN),
        (None, False, Depth.PLAIN),
        ("truecolor", True, Depth.PLAIN),
    ],
)
def test_sixteen_colours_cannot_show_seven_grounds(system, no_color, depth):
    """Sixteen colours or none: the level in the terminal's own colours."""
    assert depth_of(system, no_color) is depth


def test_badges_differ_without_colour():
    """Seven badges, seven different texts, also in ASCII; REMAIN stands in brackets."""
    looks = load().looks
    for ascii_only in (False, True):
        texts = [badge(looks[level], Depth.PLAIN, ascii_only=ascii_only)[0] for level in Level]
        assert len(set(texts)) == 7
        assert texts[-1].startswith("[")
        assert texts[-1].endswith("]")
    assert not level_style(looks[Level.SELF], Depth.PLAIN)


@pytest.mark.parametrize(
    ("number", "rgb"),
    [(16, "#000000"), (231, "#FFFFFF"), (117, "#87D7FF"), (180, "#D7AF87"), (247, "#9E9E9E")],
)
def test_the_256_colours(number, rgb):
    """The xterm cube and greys. Source: xterm, 256colres.h."""
    assert xterm(number) == rgb


async def test_too_small_a_window_says_so_and_comes_back(opened):
    """Below 72 x 20 one sentence, nothing hidden; enlarged, the place is as it was."""
    async with opened() as nurse:
        await nurse.press("0", "3", "enter", "u")
        form = nurse.app.screen
        await nurse.pilot.resize_terminal(60, 15)
        await nurse.settle()
        assert "60 x 15" in nurse.screen
        assert "Alertness" not in nurse.screen
        await nurse.pilot.resize_terminal(200, 60)
        await nurse.settle()
        assert "unresponsive" in nurse.screen
        assert form.answers.get("alertness") == "unresponsive"


async def test_long_and_right_to_left_names_stay_in_their_cells(opened, empty_ward):
    """A right-to-left label is shown without its direction-changing signs; a long bed name is kept whole."""
    async with opened(over=empty_ward) as nurse:
        empty_ward.stays.admit("HDU-EAST-WING-1", "\u05e8\u05ea")
        empty_ward.stays.admit("2", "A\u202eB\u200f")
        nurse.app.screen.read_ledger()
        await nurse.settle()
        assert "\u202e" not in nurse.screen
        assert "\u200f" not in nurse.screen
        assert "HDU-EAST-WING-1" in nurse.screen
        await nurse.press("down", "down")
        assert "\u05e8\u05ea" in nurse.screen


def test_plain_drops_what_could_turn_a_line_around():
    """Bidirectional controls, zero-width signs and escape characters never reach the screen."""
    assert safe("a\u202eb\u2066c\u200bd\x1b[31me") == "a b cd [31me"


async def test_a_sign_in_that_a_server_ended_is_asked_for_again(opened, ward, monkeypatch):
    """Whoever is there is told before an answer is typed, not at its save."""
    signed_in(ward, "nurse")
    told = []
    monkeypatch.setattr(ward.ledger.staff, "sign_of_life", lambda: told.append("here"))
    async with opened() as nurse:
        nurse.app._lock_when_idle()
        await nurse.until(lambda: told)
        assert not isinstance(nurse.app.screen, Lock)

        def ended() -> None:
            raise NotAllowed("run out")

        monkeypatch.setattr(ward.ledger.staff, "sign_of_life", ended)
        nurse.app._lock_when_idle()
        await nurse.until(lambda: isinstance(nurse.app.screen, Lock))


async def test_idle_minutes_hide_the_screen_and_keep_the_form(opened):
    """After the policy's idle minutes nothing of the patient shows; Enter brings the unsaved form back."""
    async with opened() as nurse:
        await nurse.press("0", "1", "enter", "u")
        form = nurse.app.screen
        nurse.app._last_sign_of_life -= nurse.ward.policy.access.idle_lock_min * 60
        nurse.app._lock_when_idle()
        await nurse.settle()
        assert isinstance(nurse.app.screen, Lock)
        assert "5N-01" not in nurse.screen
        assert "unresponsive" not in nurse.screen
        await nurse.press("escape", "enter")
        assert nurse.app.screen is form
        assert form.answers.get("alertness") == "unresponsive"


async def test_a_key_keeps_the_screen_open(opened):
    """Who presses keys is there: the idle time starts again."""
    async with opened() as nurse:
        nurse.app._last_sign_of_life -= nurse.ward.policy.access.idle_lock_min * 60
        await nurse.press("down")
        nurse.app._lock_when_idle()
        await nurse.settle()
        assert not isinstance(nurse.app.screen, Lock)


async def test_without_a_staff_list_the_next_nurse_says_who_she_is(opened):
    """Behind the lock Enter alone goes on as before; other initials take over, and go with what follows."""
    async with opened() as nurse:
        await nurse.press("f12")
        assert "goes on as JN" in nurse.screen
        await nurse.press("enter")
        assert nurse.ward.by == "JN"
        await nurse.press("f12", "k", "p", "enter")
        assert "KP takes over from JN" in nurse.screen
        assert nurse.ward.by == "JN"
        await nurse.press("enter")
        assert isinstance(nurse.app.screen, Board)
        assert nurse.ward.by == "KP"
        assert "KP" in nurse.screen.splitlines()[0]


async def test_a_staff_list_asks_for_initials_and_pin(opened, ward):
    """With people in the ledger the Board is hidden until one signs in; a wrong PIN is refused in words."""
    ward.demo = False
    ward._by = None
    ward.ledger.staff.add("JN", "keeper", "482913", by="JN", at=ward.clock.utc())
    async with opened() as nurse:
        assert isinstance(nurse.app.screen, Lock)
        assert "5N-01" not in nurse.screen
        await nurse.type("jn")
        await nurse.press("enter")
        await nurse.type("111111")
        await nurse.press("enter")
        assert isinstance(nurse.app.screen, Lock)
        assert "PIN" in nurse.screen
        await nurse.type("482913")
        await nurse.press("enter")
        assert "5N-01" in nurse.screen
        assert ward.person.initials == "JN"


async def test_initials_are_asked_once_before_the_first_entry(opened, ward):
    """Without a staff list the first entry asks whose it is."""
    ward._by = None
    async with opened() as nurse:
        await nurse.press("0", "1", "enter", "B", "u", "ctrl+s")
        assert "Your initials" in nurse.screen
        await nurse.type("ab")
        await nurse.press("enter", "enter")
        assert nurse.bed("5N-01").recorded_by == "AB"


async def test_quitting_with_unsaved_answers_asks(opened):
    """Ctrl+Q names the bed whose answers are unsaved; n stays."""
    async with opened() as nurse:
        await nurse.press("0", "1", "enter", "u", "ctrl+q")
        assert "Not saved: 5N-01" in nurse.screen
        await nurse.press("n")
        assert nurse.app.is_running
        assert nurse.app.screen.unsaved


def test_starting_the_terminal_loads_no_page_work():
    """Importing the app and the Board loads neither WeasyPrint nor Jinja2 nor the colour library."""
    code = (
        "import sys, mobicard.terminal.app, mobicard.terminal.board.screen;"
        "print([n for n in ('weasyprint', 'jinja2', 'coloraide', 'reportlab') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "NO_COLOR": "1"},
    )
    assert done.stdout.strip() == "[]"


def test_every_place_has_its_screen_and_its_commands():
    """A place that is named has a screen of that place, and a command of its own to leave or use it by."""
    named = set(Place) - {Place.EVERYWHERE}
    assert set(PLACES) == named
    for place in named:
        assert screen_of(place).PLACE is place
        assert COMMANDS[place]


async def test_the_clock_moves_on_and_the_banner_says_so(opened, ward):
    """The banner shows the ward's time."""
    async with opened() as nurse:
        assert "08:00" in nurse.screen.splitlines()[0]
        later = ward.now + timedelta(minutes=7)
        ward.clock = type(ward.clock).fixed(later)
        nurse.app.screen.banner.refresh()
        await nurse.settle()
        assert "08:07" in nurse.screen.splitlines()[0]


async def test_a_fault_of_our_own_ends_with_a_sentence(ward, monkeypatch):
    """An unexpected error inside a place: no traceback for the person, the details in a file of their own."""
    app = MobicardApp(ward)

    def broken(self):
        raise ZeroDivisionError("inside")

    monkeypatch.setattr(Board, "action_sort", broken)
    with pytest.raises(ZeroDivisionError):  # noqa: PT012 - the app raises when it closes
        async with app.run_test() as pilot:
            await pilot.press("s")
            await pilot.pause()
    says = (
        str(app._exit_renderables[0])
        if app._exit_renderables
        else fault_says(app, ZeroDivisionError("inside"))
    )
    assert "Traceback" not in says
    assert "unsaved answers are offered again" in says
    details = ward.drafts.folder / "last-fault.txt"
    assert "ZeroDivisionError: inside" in details.read_text()
    assert details.stat().st_mode & 0o777 == 0o600
