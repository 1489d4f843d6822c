"""The end of a round: what it changed, what is left, which doors need a new card."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.widgets import Static

from mobicard.ledger import LedgerError
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.round.lines import end_text
from mobicard.terminal.round.state import RoundState
from mobicard.terminal.station import station_of


class RoundEnd(Overlay[str]):
    """Dismissed with ``board``, ``print``, or an empty text to go on with the round."""

    BINDINGS = [  # noqa: RUF012
        Binding("escape", "dismiss('')", "Round"),
        Binding("enter", "dismiss('board')", "Board"),
        Binding("p", "dismiss('print')", "Print desk"),
    ]
    ABOUT = "What the round changed, which beds are not done yet, and which doors need a new card."

    def __init__(self, state: RoundState) -> None:
        super().__init__()
        self._state = state

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="help"):
            yield Static("", id="round-end")
            yield Static(
                "\n Enter  to the board    p  to the print desk    Esc  back into the round", markup=False
            )

    def on_mount(self) -> None:
        width = min(int(self.app.size.width * 0.9), 100) - 8
        station = station_of(self)
        try:
            views = station.ward.board()
        except LedgerError as failed:
            self.query_one("#round-end", Static).update(failed.says)
            return
        text = end_text(views, self._state, station.scheme, station.depth, width)
        self.query_one("#round-end", Static).update(text)
        self.query_one(VerticalScroll).focus()
