"""Help that matches the place: its keys, then the keys that work everywhere, then what the place is for."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from mobicard.terminal.commands import COMMANDS, Command, Place, shown_key
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.place import PlaceScreen

ABOUT = {
    Place.BOARD: "Every bed at one look. Type a bed's number to go to it, Enter opens it. "
    "The word and its sign are the level of the move from bed to chair; a star after the bed says that "
    "something changed this shift.",
    Place.RECORD: "Press the letter beside an answer; the next question follows by itself. A capital letter "
    "goes to its section. What you leave blank is not assessed, and never counts as fine. Answers as last "
    "recorded are marked “last”; deciding ones carry a question mark until you have seen them again. Every "
    "answer is kept on disk at once, also before it is saved.",
    Place.ROUND: "Your beds one after the other. Same as before only after a look at the patient.",
    Place.FALL: "One question at a time. Do not move the patient until the screen says so.",
    Place.OVERRIDE: "Your own judgement of the level, with your name and reason; it shows on every page.",
    Place.PRINT: "Doors whose card no longer matches what holds.",
    Place.HANDOFF: "What changed first, then who is due, then who needs two helpers or a lift.",
    Place.BRIEF: "How one move is done now, with these people: read it aloud before you start, then say "
    "with one key how it went. What took more help than planned makes the bed due for a look.",
    Place.HANDS: "Who helps whom, when, with which lift. A line is a person or a bed, a letter a move. "
    "Tab goes to the moves of the marked line; tick each as it is done, or say why not.",
}


class HelpScreen(Overlay[None]):
    """The keys of one place; any of Esc, Enter, ? or F1 closes it."""

    BINDINGS = [Binding("escape,enter,f1,question_mark,q", "dismiss", "Close")]  # noqa: RUF012

    def __init__(self, over: Screen[object]) -> None:
        super().__init__()
        self._place = over.PLACE if isinstance(over, PlaceScreen) else Place.EVERYWHERE
        self._over = over

    def compose(self) -> ComposeResult:
        with VerticalScroll(id="help"):
            yield Static(self._text())

    def _text(self) -> Content:
        width = min(self.app.size.width * 9 // 10, 100) - 8
        lines: list[Content] = []
        if isinstance(self._over, Overlay):
            lines += [Content(self._over.ABOUT), *map(_own_key, self._over.BINDINGS), Content()]
        about = ABOUT.get(self._place)
        if about:
            lines += [Content.styled(self._place.value, "bold"), Content(about), Content()]
        if self._place is not Place.EVERYWHERE:
            lines += [_row(command, width) for command in COMMANDS[self._place]]
            lines += [Content(), Content.styled("Everywhere", "bold")]
        lines += [_row(command, width) for command in COMMANDS[Place.EVERYWHERE]]
        return Content("\n").join([*lines, Content(), Content("Esc closes this.")])


def _own_key(binding: BindingType) -> Content:
    """A key of a small screen, with its word."""
    assert isinstance(binding, Binding)
    keys = " or ".join(shown_key(key) for key in binding.key.split(","))
    return Content.styled(f"  {keys:<16}  ", "bold $accent") + binding.description


def _row(command: Command, width: int) -> Content:
    """A command's keys, and its sentence beside them however often it wraps."""
    keys = f"  {command.shown_keys:<16}  "
    says = Content("\n" + " " * len(keys)).join(Content(command.says).wrap(max(width - len(keys), 20)))
    return Content.styled(keys, "bold $accent") + says
