"""Found by words: a command by the trade's, a fact by a few letters, a question by the next that has them."""

from __future__ import annotations

import pytest
from textual.command import Hit

from mobicard.terminal.palette import PlaceCommands
from mobicard.terminal.round.form import AskedForm, FactPicker


@pytest.mark.parametrize(
    ("word", "finds"),
    [
        ("discharge", "has left"),
        ("correct", "undo a wrong entry"),
        ("undo", "Take back your last save"),
        ("lock", "Hide the screen"),
        ("surgery", "had an operation"),
        ("theatre", "had an operation"),
        ("isolation", "Orders of the marked bed"),
        ("swap", "to another bed"),
        ("reprint", "print desk"),
        ("password", "signs in again"),
        ("admit", "A new patient"),
    ],
)
async def test_the_first_hit_is_what_the_trade_means(opened, word, finds):
    """Ctrl+P and one word: its command stands first."""
    async with opened() as nurse:
        hits = [hit async for hit in PlaceCommands(nurse.app.screen).search(word) if isinstance(hit, Hit)]
        assert hits, word
        assert finds in str(max(hits, key=lambda hit: hit.score).text)


async def test_a_fact_is_found_by_letters_of_it_whatever_their_case(opened):
    """/ and a word narrow the list and Enter takes the first; Caps Lock is said and does not stop it."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("c")
        await nurse.press("slash", "W", "E")
        assert isinstance(nurse.app.screen, FactPicker)
        assert "Caps Lock seems to be on" in nurse.screen
        await nurse.press("i", "g", "h")
        assert "Alertness" not in nurse.screen
        await nurse.press("enter")
        assert isinstance(nurse.app.screen, AskedForm)
        assert nurse.app.screen.current in ("weight_kg", "weight")


async def test_a_facts_key_means_the_same_as_a_capital(opened):
    """Caps Lock opens the same question as without it."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("c")
        await nurse.press("A")
        assert isinstance(nurse.app.screen, AskedForm)
        assert nurse.app.screen.current == "alertness"


async def test_caps_lock_is_said_where_keys_are_small_letters(opened):
    """A capital of a command does nothing to the round, and says why."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("S")
        assert "Caps Lock seems to be on" in nurse.screen
        assert not nurse.app.screen.sure


@pytest.mark.parametrize("keys", [["enter"], ["r"], ["p"]])
async def test_what_is_done_on_the_board_is_found_elsewhere_too(opened, keys):
    """In the Record, the Round and at the print desk Ctrl+P says where a patient is discharged, and how."""
    async with opened() as nurse:
        await nurse.press(*keys)
        hits = [
            hit async for hit in PlaceCommands(nurse.app.screen).search("discharge") if isinstance(hit, Hit)
        ]
        best = max(hits, key=lambda hit: hit.score)
        assert "on the Board: x" in str(best.text)
        await best.command()
        await nurse.settle()
        assert "Esc goes there, then x" in nurse.screen


async def test_caps_lock_is_said_and_taken_in_a_question(opened):
    """A question takes a capital as its letter, and says so."""
    async with opened() as nurse:
        await nurse.press("x", "N")
        assert "Caps Lock seems to be on" in nurse.screen
        assert nurse.bed("5N-01")


async def test_caps_lock_is_said_after_a_fall(opened):
    """The answer counts, and the line under it says that Caps Lock is on."""
    async with opened() as nurse:
        await nurse.press("f", "A")
        assert nurse.app.screen.answers == {"alertness": "alert"}
        assert "Caps Lock seems to be on" in nurse.screen


@pytest.mark.parametrize("typed", ["25", "5n-25"])
async def test_a_new_bed_and_a_move_are_named_as_the_unit_writes_them(opened, typed):
    """25 is 5N-25 for somebody who comes as for somebody who moves."""
    async with opened() as nurse:
        await nurse.press("v", *typed, "enter")
        assert "goes to 5N-25?" in nurse.screen
        await nurse.press("n", "n", *typed, "enter")
        assert "Initials or an alias for 5N-25" in nurse.screen


async def test_who_comes_back_is_not_put_into_a_taken_bed(opened, ward):
    """The bed is refused before anything else, by who is in it."""
    async with opened() as nurse:
        await nurse.press("x", "y", "u", "1", *"02", "enter")
        assert "5N-02 EV is there: 5N-02 is taken" in nurse.screen


async def test_a_note_begins_with_any_letter(opened):
    """No key must be known: what is typed stands in the note from its first letter on."""
    async with opened() as nurse:
        await nurse.press("enter", "C", *["down"] * 4)
        assert nurse.app.screen.current == "communication.note"
        await nurse.press(*"wears", "space", *"glasses", "enter")
        assert nurse.app.screen.answers.get("communication.note") == "wears glasses"


async def test_nothing_typed_is_cut(opened):
    """Thirteen letters of initials are refused by their number, not shortened to twelve."""
    async with opened() as nurse:
        await nurse.press("a", *"abcdefghijklm", "enter")
        assert "1 too many" in nurse.screen
        assert "abcdefghijklm" in nurse.screen


async def test_find_goes_to_the_next_match(opened):
    """The same word again leads on from the mark, and from the last match round to the first."""
    async with opened() as nurse:
        await nurse.press("enter", "slash", *"weight", "enter")
        first = nurse.app.screen.current
        await nurse.press("slash", "enter")
        assert nurse.app.screen.current != first
        assert "weight" in nurse.app.screen.question.asks.casefold()
