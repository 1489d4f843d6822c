"""Lines that open their reasons, for texts longer than one card."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import OptionList
from textual.widgets.option_list import Option

from mobicard.terminal.card_lines import CardLine, reason_parts
from mobicard.terminal.looks import hang


class ReasonList(OptionList, inherit_bindings=False):
    """Shows the lines it is given; Enter opens and closes a line's reasons."""

    BINDINGS = OptionList.BINDINGS

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, compact=True, markup=False)
        self._card_lines: Sequence[CardLine] = ()
        self._open: set[str] = set()

    def show_lines(self, lines: Sequence[CardLine], *, top: bool = False) -> None:
        """Show these lines; with ``top`` from the first one, every reason closed."""
        self._card_lines = lines
        if top:
            self._open = set()
        self._refill(None if top else self._marked)
        if top:
            self.scroll_home(animate=False)

    @property
    def _marked(self) -> str | None:
        return self.highlighted_option.id if self.highlighted_option else None

    @property
    def marked(self) -> str:
        """The id of the marked line, or an empty text."""
        return self._marked or ""

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        chosen = event.option.id or ""
        if any(line.id == chosen and line.reasons for line in self._card_lines):
            self._open ^= {chosen}
            self._refill(chosen)

    def on_resize(self) -> None:
        self._refill(self._marked)

    def _refill(self, marked: str | None) -> None:
        width = max((self.size.width or self.app.size.width) - 2, 20)
        options = []
        for line in self._card_lines:
            tail = "" if not line.reasons else (" -" if line.id in self._open else " +")
            options.append(Option(hang((*line.parts, (tail, "bold")), width), id=line.id))
            if line.id in self._open:
                whys = [hang(reason_parts(reason), width) for reason in line.reasons]
                options += [Option(why, disabled=True) for why in whys]
        self.set_options(options)
        if marked is not None and any(line.id == marked for line in self._card_lines):
            self.highlighted = self.get_option_index(marked)
        elif options:
            self.highlighted = 0
