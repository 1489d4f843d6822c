"""Pointing and paging: what can be clicked, the keys that go through every list, what ? and Ctrl+C say."""

from __future__ import annotations

import importlib
import pkgutil

import pytest
from textual.screen import ModalScreen
from textual.widgets import DataTable, OptionList

from mobicard import terminal
from mobicard.terminal.asking import Choose
from mobicard.terminal.board.put_right import Entries
from mobicard.terminal.help import ABOUT, HelpScreen
from mobicard.terminal.overlay import Overlay


async def click(nurse, text: str, *, last: bool = False) -> None:
    """Click on the first (or last) place where the screen shows a text."""
    lines = nurse.screen.splitlines()
    found = [(line.index(text), row) for row, line in enumerate(lines) if text in line]
    assert found, f"{text} is not shown:\n{nurse.screen}"
    await nurse.pilot.click(offset=found[-1 if last else 0])
    await nurse.settle()


async def test_a_question_and_its_answer_can_be_clicked(opened):
    """A click marks a question; a click on an answer's words gives it, and the next question follows."""
    async with opened() as nurse:
        await nurse.press("enter")
        await click(nurse, "Behavior when moved")
        assert nurse.app.screen.current == "behavior"
        await click(nurse, "unpredictable")
        assert nurse.app.screen.answers.get("behavior") == "unpredictable"
        assert nurse.app.screen.current == "sitting"


async def test_an_answer_in_a_small_question_can_be_clicked(opened):
    """No on the question whether the patient has left."""
    async with opened() as nurse:
        await nurse.press("x")
        await click(nurse, "yes, the stay has ended")
        assert nurse.ward.find("5N-01") is None


async def test_an_answer_after_a_fall_can_be_clicked(opened):
    """The words of an answer give it."""
    async with opened() as nurse:
        await nurse.press("f")
        await click(nurse, "awake, answers as usual")
        assert nurse.app.screen.answers == {"alertness": "alert"}


async def test_a_fact_that_changed_can_be_clicked(opened):
    """Its name in the list of facts opens its question."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("c")
        await click(nurse, "Stands, as tried")
        assert nurse.app.screen.current == "standing"


async def test_headings_sort(opened):
    """A click on a heading sorts by it, the same again by bed."""
    async with opened() as nurse:
        await click(nurse, "Level ")
        assert nurse.app.screen.order == "level"
        await click(nurse, "Assessment")
        assert nurse.app.screen.order == "assessment"
        await click(nurse, "Assessment")
        assert nurse.app.screen.order == "bed"


async def test_sections_of_the_record_can_be_clicked(opened):
    """A section's name in the line above the form goes there, where the screen has room for that line."""
    async with opened(size=(120, 40)) as nurse:
        await nurse.press("enter")
        await click(nurse, "Vital")
        assert nurse.app.screen.current == "vitals.lying"


@pytest.mark.parametrize("keys", [[], ["p", "e"], ["h"], ["c"]], ids=["board", "print", "handoff", "entries"])
async def test_every_list_goes_by_end_home_pages_and_letters(opened, keys):
    """End, Home, Page down, Page up, j and k move the mark."""
    async with opened() as nurse:
        await nurse.press(*keys)
        screen = nurse.app.screen
        table = screen.query(DataTable).first() if not keys else screen.query(OptionList).first()

        def at() -> int | None:
            return table.cursor_row if isinstance(table, DataTable) else table.highlighted

        many = table.row_count if isinstance(table, DataTable) else table.option_count
        await nurse.press("home")
        first = at()
        await nurse.press("end")
        assert at() > first or many == 1
        last = at()
        await nurse.press("k")
        assert at() < last or many == 1
        await nurse.press("home", "j")
        assert at() > first or many == 1
        await nurse.press("home", "pagedown")
        assert at() > first or many == 1
        below = at()
        await nurse.press("pageup")
        assert at() < below or many == 1


async def test_ctrl_c_says_how_to_leave(opened):
    """It stops nothing."""
    async with opened() as nurse:
        await nurse.press("ctrl+c")
        assert "Ctrl+Q leaves mobicard" in nurse.screen
        assert nurse.app.is_running


PLACES = {
    "board": [],
    "record": ["enter"],
    "round": ["r"],
    "fall": ["f"],
    "judgement": ["o"],
    "print": ["p"],
    "handoff": ["h"],
    "hands": ["t"],
    "brief": ["b", "c"],
}
OVERLAYS = {"entries": ["c"], "why": ["w"], "question": ["x"], "facts": ["r", "c"], "round's end": ["r", "e"]}


@pytest.mark.parametrize("name", PLACES)
async def test_help_is_empty_nowhere(opened, name):
    """? in every place says what the place is for, and its keys."""
    async with opened(size=(120, 50)) as nurse:
        for key in PLACES[name]:
            await nurse.press(key)
        place = nurse.app.screen.PLACE
        await nurse.press("question_mark")
        assert isinstance(nurse.app.screen, HelpScreen), name
        assert ABOUT[place][:30] in nurse.screen
        assert "Ctrl+Q" in nurse.screen


@pytest.mark.parametrize("name", OVERLAYS)
async def test_help_over_a_small_screen_is_its_own(opened, name):
    """? over a question, a list or a text says what that is for and which keys it has."""
    async with opened(size=(120, 50)) as nurse:
        for key in OVERLAYS[name]:
            await nurse.press(key)
        over = nurse.app.screen
        assert isinstance(over, Overlay), name
        await nurse.press("question_mark")
        assert isinstance(nurse.app.screen, HelpScreen)
        assert over.ABOUT[:30] in nurse.screen
        assert "Esc" in nurse.screen


def test_every_small_screen_has_help_of_its_own():
    """None is shown without ?, quit and lock; only a bare question has no more to say than that it is one."""
    for found in pkgutil.walk_packages(terminal.__path__, "mobicard.terminal."):
        for one in vars(importlib.import_module(found.name)).values():
            if isinstance(one, type) and one.__module__ == found.name and issubclass(one, ModalScreen):
                assert issubclass(one, Overlay), one
                assert one in (Overlay, Choose, HelpScreen) or one.ABOUT != Overlay.ABOUT, one
                assert all(binding.description for binding in one.BINDINGS), one


async def test_f1_helps_while_words_are_typed(opened):
    """There ? is a sign like any other; F1 still helps."""
    async with opened(size=(120, 50)) as nurse:
        await nurse.press("a", "f1")
        assert "Type, then Enter" in nurse.screen
        await nurse.press("escape", "question_mark")
        assert "?" in nurse.app.screen.query_one("Input").value


async def test_letters_move_no_mark_where_they_answer(opened):
    """j and k in the form are answers or none, never a step: the mark stays."""
    async with opened() as nurse:
        await nurse.press("enter", "j")
        assert nurse.app.screen.current == "alertness"
        assert "j is no answer here" in nurse.screen


async def test_capitals_of_a_list_are_its_small_letters(opened):
    """Caps Lock does not stop anybody in a small screen: it is said, and the key does what it does."""
    async with opened() as nurse:
        await nurse.press("c")
        assert isinstance(nurse.app.screen, Entries)
        await nurse.press("Q")
        assert not isinstance(nurse.app.screen, Entries)
        assert "Caps Lock seems to be on" in nurse.screen
