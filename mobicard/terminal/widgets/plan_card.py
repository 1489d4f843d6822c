"""The derived card, alive: a plan's lines, each of which opens its reasons with their sources."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import OptionList

from mobicard.derive.model import Plan
from mobicard.terminal.card.lines import card_lines
from mobicard.terminal.station import station_of
from mobicard.terminal.widgets.reason_list import OpenLines


class PlanCard(OpenLines, inherit_bindings=False):
    """Shows what it is given by ``show``."""

    BINDINGS = OptionList.BINDINGS
    _plan: Plan | None = None

    def show(self, plan: Plan) -> None:
        """Show a plan; the mark stays where it was."""
        self._plan = plan
        station = station_of(self)
        lines = card_lines(plan, station.scheme, station.depth, self.room)
        if lines != self._card_lines:
            self._card_lines = lines
            self._refill(self.marked)

    def on_resize(self) -> None:
        if self._plan is not None:
            self.show(self._plan)
        super().on_resize()

    def open_all(self) -> None:
        """Open every line's reasons, or close them all again."""
        every = {line.id for line in self._card_lines if line.opens}
        self._open = set() if self._open >= every else every
        self._refill(self.marked)

    @property
    def text(self) -> str:
        """What the card says, as plain text."""
        return "\n".join(Content.assemble(*line.parts).plain for line in self._card_lines)

    def _refill(self, marked: str) -> None:
        kept = self.scroll_offset.y
        super()._refill(marked)
        self.scroll_to(y=kept, animate=False, force=True)
