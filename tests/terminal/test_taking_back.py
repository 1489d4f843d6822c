"""F7 takes the last save back, from any place, once it was said what goes."""

from __future__ import annotations

import pytest

from mobicard.terminal.board.screen import Board
from mobicard.terminal.round.screen import Round


async def test_from_the_round_the_bed_is_asked_again(opened):
    """S, Enter by a slip: F7, Y; the bed is not done and stands in front of the nurse."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("s")
        await nurse.press("enter")
        assert "1 of 6 done" in nurse.screen
        await nurse.press("f7")
        assert "Take back same as before of 5N-01 RA at 08:00?" in nurse.screen
        await nurse.press("y")
        assert isinstance(nurse.app.screen, Round)
        assert "0 of 6 done" in nurse.screen
        assert "5N-01 RA" in nurse.screen
        assert nurse.ward.ledger.history(nurse.bed("5N-01").stay)[-1].kind == "correct"


async def test_from_the_board_after_a_judgement(opened):
    """The row shows the level that stood before; N leaves all as it is."""
    async with opened() as nurse:
        await nurse.press("o", "h", "enter")
        assert nurse.bed("5N-01").plan.override is not None
        await nurse.press("f7", "n")
        assert nurse.bed("5N-01").plan.override is not None
        await nurse.press("f7", "y")
        assert isinstance(nurse.app.screen, Board)
        assert nurse.bed("5N-01").plan.override is None
        assert "SELF" in next(line for line in nurse.screen.splitlines() if line.startswith("5N-01"))


async def test_why_not_is_said(opened):
    async with opened() as nurse:
        await nurse.press("f7")
        assert "you saved nothing in the last 10 minutes" in " ".join(nurse.screen.split())


@pytest.mark.parametrize("place", ["h", "p", "f", "enter", "o"])
async def test_from_every_other_place(opened, place):
    """Handoff, Print desk, After a fall, an open record, a judgement: the same key, and the place stays."""
    async with opened() as nurse:
        await nurse.press("o", "h", "enter")
        await nurse.press(place)
        here = nurse.app.screen
        assert not isinstance(here, Board)
        await nurse.press("f7")
        assert "Take back the record of 5N-01" in nurse.screen
        await nurse.press("y")
        assert nurse.app.screen is here
        assert nurse.bed("5N-01").plan.override is None
