"""The questions as one list: shows the lines it is given and says which one is marked."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option


class FormList(OptionList, inherit_bindings=False):
    """Lines with an id are questions, those without are headings. Only lines that changed are drawn again."""

    BINDINGS = OptionList.BINDINGS

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id, compact=True, markup=False)
        self._shown: list[tuple[str | None, Content]] = []

    @property
    def marked(self) -> str | None:
        """The path of the marked question."""
        option = self.highlighted_option
        return option.id if option else None

    def show(self, lines: Sequence[tuple[str | None, Content]]) -> None:
        """Show these lines; the same questions in the same order are only updated."""
        if [name for name, _ in lines] == [name for name, _ in self._shown]:
            for place, (old, new) in enumerate(zip(self._shown, lines, strict=True)):
                if not old[1].is_same(new[1]):
                    self.replace_option_prompt_at_index(place, new[1])
        else:
            self.set_options([Option(text, id=name, disabled=name is None) for name, text in lines])
        self._shown = list(lines)
        self.call_after_refresh(self.scroll_to_highlight)

    def mark(self, path: str) -> None:
        """Put the mark on a question and bring all of it into view."""
        self.highlighted = self.get_option_index(path)
