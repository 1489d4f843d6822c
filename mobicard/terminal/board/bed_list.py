"""A bed list against the unit: what it would admit, move, discharge; applied as a whole or not at all."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from mobicard.exchange.census.preview import Preview
from mobicard.exchange.census.rows import CensusRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose
from mobicard.terminal.looks import hang, safe
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import WardRefused
from mobicard.ward.census import census_apply, census_preview

LARGEST = 8_000_000
"""Bytes; a bed list is far smaller."""


def read_file(text: str) -> tuple[bytes, str]:
    """The file's bytes, or why there are none, in words."""
    path = Path(text).expanduser()
    try:
        if not path.is_file():
            return b"", f"there is no file {path}"
        if path.stat().st_size > LARGEST:
            return b"", f"{path} is too large for a bed list"
        return path.read_bytes(), ""
    except OSError as refused:
        return b"", f"{path} cannot be read ({refused.strerror})"


class Previewed(Message):
    """What the list would do, or why it cannot be read."""

    def __init__(self, preview: Preview | None, says: str = "") -> None:
        super().__init__()
        self.preview, self.says = preview, says


class CensusPreview(Overlay[int | None]):
    """Every line of the list and what it would do; dismissed with the number of stays touched, or None."""

    BINDINGS = [  # noqa: RUF012
        Binding("escape", "dismiss", "Back"),
        Binding("a", "apply", "Apply"),
        Binding("d", "absent", "Not in the list"),
    ]
    ABOUT = "What the bed list would do, line by line. Nothing is done before a: then all of it, or none."

    def __init__(self, place: PlaceScreen, data: bytes) -> None:
        super().__init__()
        self._place, self._data = place, data
        self._absent: Literal["keep", "discharge"] = "keep"
        self._preview: Preview | None = None

    def compose(self) -> ComposeResult:
        with Vertical(id="help"):
            yield Static("Reading the bed list ...", id="census-says", markup=False)
            yield OptionList(id="census", compact=True, markup=False)
            yield Static("", id="census-keys", markup=False)

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self._read()

    @work(thread=True, exclusive=True, group="census")
    def _read(self) -> None:
        try:
            seen = census_preview(self._place.ward, self._data, absent=self._absent)
        except (CensusRefused, WardRefused, LedgerError) as refused:
            self.post_message(Previewed(None, str(refused)))
        else:
            self.post_message(Previewed(seen))

    def on_previewed(self, message: Previewed) -> None:
        self._preview = message.preview
        seen = message.preview
        if seen is None:
            self.query_one("#census-says", Static).update(f"{message.says}\n\nNothing was changed.")
            self.query_one("#census-keys", Static).update("Esc  goes back")
            return
        self.query_one("#census-says", Static).update(seen.summary())
        self.query_one(OptionList).set_options(self._rows(seen))
        who = "stay as they are" if self._absent == "keep" else "count as discharged"
        apply = "" if not seen.may_be_applied else "A  applies all of it in one step    "
        self.query_one("#census-keys", Static).update(
            f"{apply}D  patients not in the list {who}    Esc  applies nothing"
        )

    def _rows(self, seen: Preview) -> list[Option]:
        width = max(min(int(self.app.size.width * 0.9), 100) - 8, 30)
        rows = [(f"line {one.line}: CANNOT READ: ", safe(one.why)) for one in seen.cannot_read]
        for name in ("admit", "move", "discharge", "weigh", "not_in_file", "unchanged"):
            word = name.replace("_", " ")
            rows += [(f"{word}: ", safe(f"{one.bed}  {one.says}")) for one in getattr(seen, name)]
        rows += [("note: ", safe(note)) for note in seen.notes]
        return [Option(hang([(head, "bold"), (says, "")], width)) for head, says in rows] or [
            Option(Content("The list is empty."))
        ]

    def action_absent(self) -> None:
        self._absent = "discharge" if self._absent == "keep" else "keep"
        self._read()

    def action_apply(self) -> None:
        seen = self._preview
        if seen is None:
            return
        if not seen.may_be_applied:
            self.query_one("#census-keys", Static).update(
                "Lines cannot be read, so nothing of it is applied: mend them first.    Esc  goes back"
            )
            return

        def sure(key: str | None) -> None:
            if key == "y":
                self._apply(seen)

        asks = f"Apply all of it? {seen.summary()}"
        self.app.push_screen(Choose(asks, [("y", "yes, in one step"), ("n", "no")]), sure)

    def _apply(self, seen: Preview) -> None:
        try:
            count = census_apply(self._place.ward, seen)
        except (WardRefused, LedgerError) as refused:
            self._place.refuse(refused.says)
            self._read()
        else:
            self.dismiss(count)
