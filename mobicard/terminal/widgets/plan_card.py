"""The derived card, alive: a plan's lines, each of which opens its reasons with their sources."""

from __future__ import annotations

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from mobicard.derive.model import Plan
from mobicard.terminal.card_lines import CardLine, card_lines, reason_parts
from mobicard.terminal.looks import hang
from mobicard.terminal.station import station_of


class PlanCard(OptionList, inherit_bindings=False):
    """Shows what it is given by ``show``; Enter or a click opens and closes a line's reasons."""

    BINDINGS = OptionList.BINDINGS

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, compact=True, markup=False)
        self._card_lines: list[CardLine] = []
        self._open: set[str] = set()

    def show(self, plan: Plan) -> None:
        """Show a plan; lines left open stay open, and the mark stays where it was."""
        station = station_of(self)
        lines = card_lines(plan, station.scheme, station.depth)
        if lines != self._card_lines:
            self._card_lines = lines
            self._refill()

    def open_all(self) -> None:
        """Open every line's reasons, or close them all again."""
        every = {line.id for line in self._card_lines if line.reasons}
        self._open = set() if self._open >= every else every
        self._refill()

    @property
    def text(self) -> str:
        """What the card says, as plain text."""
        return "\n".join(Content.assemble(*line.parts).plain for line in self._card_lines)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        chosen = event.option.id or ""
        if any(line.id == chosen and line.reasons for line in self._card_lines):
            self._open ^= {chosen}
            self._refill()

    def on_resize(self) -> None:
        self._refill()

    def _refill(self) -> None:
        marked = self.highlighted_option.id if self.highlighted_option else None
        kept = self.scroll_offset.y
        width = max((self.size.width or self.app.size.width) - 2, 20)
        options = []
        for line in self._card_lines:
            opens = not line.reasons
            tail = "" if opens else (" -" if line.id in self._open else " +")
            options.append(Option(hang((*line.parts, (tail, "bold")), width), id=line.id))
            if line.id in self._open:
                whys = [hang(reason_parts(reason), width) for reason in line.reasons]
                options += [Option(why, disabled=True) for why in whys]
        self.set_options(options)
        if marked is not None and any(line.id == marked for line in self._card_lines):
            self.highlighted = self.get_option_index(marked)
        self.scroll_to(y=kept, animate=False, force=True)
