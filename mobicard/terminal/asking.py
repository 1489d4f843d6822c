"""Small questions over a place: one key a choice, or one line of words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from mobicard.terminal.looks import CAPS_LOCK, press, safe
from mobicard.terminal.overlay import Overlay
from mobicard.ward import BedView


class Choose(Overlay[str]):
    """A question with one key per answer; dismissed with that key. Esc gives an empty answer."""

    BINDINGS = [Binding("escape", "dismiss('')", "Back")]  # noqa: RUF012

    def __init__(self, asks: str, choices: Sequence[tuple[str, str]], detail: Content | str = "") -> None:
        super().__init__()
        self._asks, self._choices, self._detail = asks, choices, detail

    def compose(self) -> ComposeResult:
        rows: list[tuple[str, str]] = [(f"{safe(self._asks)}\n", "bold")]
        text = Content.assemble(*rows)
        if self._detail:
            text = text + Content(str(self._detail)) + "\n"
        for key, says in self._choices:
            shown = "Enter" if key == "enter" else key
            text += Content.assemble(
                "\n  ", (f" {shown} ", press(key, "bold reverse")), (f"  {safe(says)}", press(key))
            )
        with VerticalScroll(classes="asking"):
            yield Static(text + "\n\n  Esc goes back")

    def on_key(self, event: events.Key) -> None:
        pressed = event.character if event.character and event.character.isprintable() else event.key
        if pressed.lower() in {key for key, _ in self._choices}:
            event.stop()
            if pressed.isupper():
                self.app.notify(CAPS_LOCK, severity="warning", markup=False)
            self.dismiss(pressed.lower())


class Write(Overlay[str | None]):
    """One line of words; dismissed with the text, or None on Esc. ``check`` gives a refusal or nothing.

    ``begun``: the value is the beginning of what is being typed; the next letter goes on after it.
    """

    AUTO_FOCUS = "Input"
    ABOUT = "Type, then Enter. Nothing you type is cut; what does not fit is said."
    BINDINGS = [Binding("escape", "dismiss", "Back")]  # noqa: RUF012

    def __init__(
        self,
        asks: str,
        value: str = "",
        *,
        limit: int = 160,
        check: Callable[[str], str] | None = None,
        begun: bool = False,
    ) -> None:
        super().__init__()
        self._begun = begun
        self._asks, self._value, self._limit, self._check = asks, value, limit, check

    def compose(self) -> ComposeResult:
        with VerticalScroll(classes="asking"):
            yield Static(safe(self._asks), markup=False)
            yield Input(self._value, select_on_focus=not self._begun)
            yield Static("Enter takes it, Esc goes back", id="refusal", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        text = safe(event.value)
        says = self._too_long(text) or (self._check(text) if self._check else "")
        if says:
            self.query_one("#refusal", Static).update(says)
        else:
            self.dismiss(text)

    def _too_long(self, text: str) -> str:
        """What does not fit is said; nothing typed is cut."""
        over = len(text) - self._limit
        return f"{over} too many: at most {self._limit} letters and figures" if over > 0 else ""


_WHOSE = "123456789bcdefghijklmnopqrstuvwxyz"


def ask_whose(
    screen: Screen[Any], views: Sequence[BedView], every: str, then: Callable[[str], None], detail: str = ""
) -> None:
    """Whose beds: ``then`` gets somebody's initials, or an empty text for every bed."""
    beds = sorted(Counter(view.assignment for view in views if view.assignment).items())
    keyed = {key: who for key, (who, _) in zip(_WHOSE, beds, strict=False)}
    choices = [("a", every), *((key, f"{who}, {dict(beds)[who]} beds") for key, who in keyed.items())]

    def chosen(key: str | None) -> None:
        if key:
            then(keyed.get(key, ""))

    screen.app.push_screen(Choose("Whose beds?", choices, detail), chosen)
