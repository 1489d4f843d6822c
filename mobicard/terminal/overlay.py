"""What every small screen over a place has: letters of either case, lists moved by letters, its own help."""

from __future__ import annotations

from textual import events
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.dom import DOMNode
from textual.screen import ModalScreen, ScreenResultType
from textual.widget import Widget
from textual.widgets import DataTable, OptionList

from mobicard.terminal.commands import LANGUAGE
from mobicard.terminal.looks import CAPS_LOCK
from mobicard.terminal.widgets.form_list import FormList


class Overlay(ModalScreen[ScreenResultType]):
    """A question, a list or a text over a place; ``ABOUT`` is what its help says of it."""

    BINDINGS = [  # noqa: RUF012 - a small screen has only the app's keys that it names itself
        Binding("question_mark,f1", "app.help", "Help"),
        Binding("ctrl+q", "app.leave", "Quit"),
        Binding(LANGUAGE["Lock"], "app.lock", "Lock"),
    ]
    ABOUT = "Press the key beside an answer, or click on it."

    def action_copy_text(self) -> None:
        """Ctrl+C copies what is selected; with nothing selected it says how to leave."""
        super().action_copy_text() if self.get_selected_text() else self.app.action_help_quit()

    async def _on_key(self, event: events.Key) -> None:
        """A capital is the small letter, and said: Caps Lock must not stop anybody, nor stay unseen."""
        if event._stop_propagation or event.character is None:
            return
        small = event.key.lower()
        if event.character.isupper() and small in self.active_bindings:
            event.stop()
            bound = self.active_bindings[small]
            self.app.notify(CAPS_LOCK, severity="warning", markup=False)
            await self.app.run_action(bound.binding.action, bound.node)
        elif event.key not in self.active_bindings and moved(self.focused, event.key):
            event.stop()


def moved(focused: Widget | DOMNode | None, key: str) -> bool:
    """Whether ``j`` or ``k`` moved the mark of a list or scrolled a text; the form's letters are answers."""
    if key not in ("j", "k") or isinstance(focused, FormList):
        return False
    if isinstance(focused, OptionList | DataTable):
        focused.action_cursor_down() if key == "j" else focused.action_cursor_up()
    elif isinstance(focused, VerticalScroll):
        focused.action_scroll_down() if key == "j" else focused.action_scroll_up()
    else:
        return False
    return True
