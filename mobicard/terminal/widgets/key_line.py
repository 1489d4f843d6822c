"""The bottom line: what can be done here, as many commands as there is room for; each can be clicked."""

from __future__ import annotations

from collections.abc import Iterable

from textual.content import Content
from textual.widget import Widget

from mobicard.terminal.commands import COMMANDS, Command, Place

ALWAYS = ("help", "command_palette", "leave")
"""What no screen is too narrow to name, after the way back: how to learn more, find a command, leave."""


class KeyLine(Widget):
    """One line of one place's commands; the quieter ones where a wide screen has room."""

    def __init__(self, place: Place) -> None:
        super().__init__()
        self._place = place

    def render(self) -> Content:
        everywhere = {command.action: command for command in COMMANDS[Place.EVERYWHERE]}
        own = sorted(COMMANDS[self._place], key=lambda command: not command.footer)
        back = [one for one in own if one.label == "Back" and self._place is not Place.BOARD]
        own = [one for one in own if one not in back]
        ends = [_shown(one, "screen") for one in back]
        ends += [_shown(everywhere[action], "app") for action in ALWAYS]
        room = self.size.width + 1 - sum(end.cell_length + 1 for end in ends)
        return Content(" ").join([*_fitting(own, room), *ends])


def _fitting(commands: Iterable[Command], room: int) -> list[Content]:
    """The first commands that fit into so many cells, a blank after each."""
    shown: list[Content] = []
    for command in commands:
        one = _shown(command, "screen")
        room -= one.cell_length + 1
        if room < 0:
            break
        shown.append(one)
    return shown


def _shown(command: Command, owner: str) -> Content:
    key = f"[bold $accent]{command.short_key}[/]"
    return Content.from_markup(f"[@click={owner}.{command.action}()]{key} {command.label}[/]")
