"""Every line of a brief with its why and its source, also those without room, over the brief."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from mobicard.derive.brief import Brief, BriefLine
from mobicard.terminal.commands import LANGUAGE
from mobicard.terminal.looks import safe
from mobicard.terminal.overlay import Overlay


class WhyLines(Overlay[None]):
    """The lines in their order; Esc closes it."""

    BINDINGS = [Binding(f"escape,q,{LANGUAGE['Why']}", "dismiss", "Close")]  # noqa: RUF012
    ABOUT = "Each line of the brief with the rule behind it and its source; j and k scroll."

    def __init__(self, brief: Brief) -> None:
        super().__init__()
        self._brief = brief

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="help"):
            yield Static(Content("\n").join(_told(line) for line in self._brief.lines))


def _told(line: BriefLine) -> Content:
    facts = ", ".join(f"{name}: {value}" for name, value in line.because.items())
    beside = "" if line.shown else "  (no room on the page)"
    why = f"  {line.rule}; {line.source}" + (f"; {facts}" if facts else "")
    return Content.styled(f"{safe(line.says)}{beside}\n", "bold") + Content(safe(why))
