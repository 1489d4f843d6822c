"""Lines that open their reasons, for texts longer than one card."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.widgets import OptionList
from textual.widgets.option_list import Option

from mobicard.terminal.card.line import CardLine
from mobicard.terminal.card.lines import reason_parts
from mobicard.terminal.looks import INDENT, hang


class OpenLines(OptionList, inherit_bindings=False):
    """Card lines as options; Enter or a click opens and closes a line's reasons; what is open stays so."""

    BINDINGS = OptionList.BINDINGS

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, compact=True, markup=False)
        self._card_lines: Sequence[CardLine] = ()
        self._open: set[str] = set()

    @property
    def marked(self) -> str:
        """The id of the marked line, or an empty text."""
        return (self.highlighted_option.id if self.highlighted_option else None) or ""

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        chosen = event.option.id or ""
        if any(line.id == chosen and line.opens for line in self._card_lines):
            self._open ^= {chosen}
            self._refill(chosen)

    def on_resize(self) -> None:
        self._refill(self.marked)

    def _refill(self, marked: str) -> None:
        """Every line anew, the mark on this one if it is still there."""
        self.set_options(self._rows())
        if any(line.id == marked for line in self._card_lines):
            self.highlighted = self.get_option_index(marked)

    def _rows(self) -> Iterator[Option]:
        width = self._width
        for line in self._card_lines:
            opened = line.id in self._open
            tail = "" if not line.opens else (" -" if opened else " +")
            yield Option(hang((*line.parts, (tail, "bold")), width), id=line.id)
            if opened and line.more:
                yield Option(hang((("  ", ""), *line.more), width), disabled=True)
            for reason in line.reasons if opened else ():
                yield Option(hang(reason_parts(reason), width), disabled=True)

    @property
    def room(self) -> int:
        """Cells a line has before it wraps."""
        return self._width - INDENT

    @property
    def _width(self) -> int:
        return max((self.size.width or self.app.size.width) - 1, 20)


class ReasonList(OpenLines, inherit_bindings=False):
    """Shows the lines it is given, one of them always marked."""

    BINDINGS = OptionList.BINDINGS

    def show_lines(self, lines: Sequence[CardLine], *, top: bool = False) -> None:
        """Show these lines; with ``top`` from the first one, every reason closed."""
        self._card_lines = lines
        if top:
            self._open = set()
        self._refill("" if top else self.marked)
        if top:
            self.scroll_home(animate=False)

    def _refill(self, marked: str) -> None:
        super()._refill(marked)
        if self.highlighted is None and self._card_lines:
            self.highlighted = 0
