"""One bed's card over another place, every reason open."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.widgets import Static

from mobicard.terminal.commands import LANGUAGE
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.ward import BedView


class Why(Overlay[None]):
    """One bed's card over the Board, every reason open; Esc closes it."""

    BINDINGS = [Binding(f"escape,q,{LANGUAGE['Why']}", "dismiss", "Close")]  # noqa: RUF012
    ABOUT = "The derived card, every reason open, with its source. Enter opens or closes a line."

    def __init__(self, view: BedView) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        with Vertical(id="help"):
            yield Static(f"{self._view.bed}   Enter opens or closes a line, Esc goes back", markup=False)
            yield PlanCard(id="why")

    def on_mount(self) -> None:
        card = self.query_one(PlanCard)
        card.show(self._view.plan)
        card.open_all()
        card.focus()
