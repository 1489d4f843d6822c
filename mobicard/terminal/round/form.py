"""The Record as the round opens it: only what is asked for, in turn, or the one fact that changed."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase, digits

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import Static

from mobicard.facts.words import Task
from mobicard.terminal.looks import CAPS_LOCK, safe, shortened
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.record.form.keys import Step
from mobicard.terminal.record.form.questions import DECIDING, Question
from mobicard.terminal.record.screen import RecordForm
from mobicard.ward import BedView

KEYS = ascii_lowercase + digits
"""One key a fact, the deciding ones first, no matter the case; whatever is left is found by a word of it."""


def all_deciding(view: BedView) -> tuple[str, ...]:
    """Every fact that decides, and the help seen: what a whole new look at the patient answers."""
    tasks = set(view.record.help) or set(Task)
    return (*DECIDING, *(f"help.{task.value}" for task in Task if task in tasks))


class AskedForm(RecordForm):
    """The form with some questions asked for: an answer leads to the next of them, the last one to saving."""

    def __init__(self, view: BedView, asked: Sequence[str]) -> None:
        super().__init__(view, at=asked[0])
        self._asked = tuple(asked)
        self._offered = False

    def _open_ones(self) -> list[str]:
        return [path for path in self._asked if path not in self.answers.seen]

    def _mark_next(self) -> None:
        """To the next question asked for; past the last one the mark stays."""
        left = [path for path in self._open_ones() if path != self.current]
        if self.current not in self._asked:
            super()._mark_next()
            return
        later = [path for path in left if self._asked.index(path) > self._asked.index(self.current)]
        self.current = next(iter(later or left), self.current)
        self.typed = self.problem = ""

    def answer(self, path: str, step: Step) -> None:
        """As ever; once the last of them is answered, saving is offered by itself, one time."""
        super().answer(path, step)
        if step.on and not self.problem and not self._open_ones() and not self._offered:
            self._offered = True
            self.action_save()


class FactPicker(Overlay[str]):
    """Every fact by its key, or by a word of it after ``/``; dismissed with its path, or nothing on Esc."""

    BINDINGS = [Binding("escape", "dismiss('')", "Back")]  # noqa: RUF012
    ABOUT = "Press the key of the fact that changed, or / and a word of it."

    def __init__(self, bed: str, questions: Sequence[Question], asked: Sequence[str]) -> None:
        super().__init__()
        self._bed, self._asked = bed, frozenset(asked)
        self._questions = questions
        self._keyed = dict(zip(KEYS, questions, strict=False))
        self._word: str | None = None

    def compose(self) -> ComposeResult:
        with Vertical(classes="asking", id="facts"):
            yield Static("", id="facts-asks", markup=False)
            yield Static("", id="facts-table")
            yield Static("! is asked for, as it is missing or too old.  Esc goes back", markup=False)

    def on_mount(self) -> None:
        self._paint()

    def _paint(self, also: str = "") -> None:
        asks = "which fact changed? Its key, or / and a word of it."
        if self._word is not None:
            first = safe(self._left[0].asks) if self._left else "none"
            asks = f"facts with: {self._word}_   Enter takes {first}"
        self.query_one("#facts-asks", Static).update(f"{safe(self._bed)}: {asks}{also}")
        self.query_one("#facts-table", Static).update(self._table(min(self.app.size.width, 120) - 4))

    @property
    def _left(self) -> list[Question]:
        """The facts whose question has every typed letter in it, those that begin a word with them first."""
        word = (self._word or "").casefold()
        found = [one for one in self._questions if word in one.asks.casefold()]
        return sorted(found, key=lambda one: f" {word}" not in f" {one.asks.casefold()}")

    def _table(self, width: int) -> Content:
        """The facts in three columns, read downwards."""
        keys = {question.path: key for key, question in self._keyed.items()} if self._word is None else {}
        shown = self._questions if self._word is None else self._left
        rows = -(-len(shown) // 3)
        cells = [self._cell(keys.get(one.path, " "), one, width // 3) for one in shown]
        lines = [Content("").join(cells[row::rows]) for row in range(rows)]
        return Content("\n").join(lines)

    def _cell(self, key: str, question: Question, width: int) -> Content:
        asked = question.path in self._asked
        says = shortened(safe(question.asks), width - 4)
        click = f"@click=screen.dismiss('{question.path}')"
        mark = "!" if asked else " "
        text = Content.assemble((f" {key} ", f"bold reverse {click}"), (f"{mark}{says}", click))
        return text.pad_right(max(width - text.cell_length, 0))

    def on_key(self, event: events.Key) -> None:
        char = event.character if event.is_printable and event.character else ""
        if self._word is not None:
            self._typed_on(event, char)
        elif char == "/":
            self._word = ""
            self._paint()
        elif question := self._keyed.get(char.casefold()):
            event.stop()
            if char.isupper():
                self.app.notify(CAPS_LOCK, severity="warning", markup=False)
            self.dismiss(question.path)

    def _typed_on(self, event: events.Key, char: str) -> None:
        """A letter more or less of the word; Enter takes the first fact left, never a letter by itself."""
        event.stop() if event.key != "escape" else None
        if event.key == "enter" and self._left:
            self.dismiss(self._left[0].path)
        elif event.key == "backspace":
            self._word = self._word[:-1] if self._word else None
            self._paint()
        elif char:
            self._word = (self._word or "") + char
            self._paint(f"   {CAPS_LOCK}" if char.isupper() else "")
