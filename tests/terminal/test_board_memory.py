"""A Board that is told of many saves keeps no cells as they were."""

from __future__ import annotations

import pytest
from textual.widgets import DataTable

from mobicard.terminal.app import MobicardApp
from mobicard.terminal.board.screen import Board
from mobicard.terminal.messages import BoardRead
from mobicard.ward import Ward
from tests.records import assessed


@pytest.mark.asyncio
async def test_cells_that_were_are_let_go(ward: Ward) -> None:
    """The table's own caches held every cell of every refresh, up to ten thousand."""
    view = ward.find("5N-01")
    assert view
    app = MobicardApp(ward)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause(0.5)
        board = app.screen
        assert isinstance(board, Board)
        table = board.query_one("#beds", DataTable)
        held = []
        for number in range(12):
            view = ward.bed(view.stay)
            stands = ("steady", "unable")[number % 2]
            ward.save(view.stay, assessed("5N-01", standing=stands), view.version)
            board.post_message(BoardRead(ward.board()))
            await pilot.pause(0.1)
            held.append(len(table._cell_render_cache))
        assert held[-1] <= held[1]
