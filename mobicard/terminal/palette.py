"""Finding a command by its words: the same declarations as keys and help."""

from __future__ import annotations

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from mobicard.terminal.commands import Command, commands_at
from mobicard.terminal.place import PlaceScreen


class PlaceCommands(Provider):
    """The commands of the place that is open, and those that work everywhere."""

    def _here(self) -> list[Command]:
        if not isinstance(self.screen, PlaceScreen):
            return []
        return [command for command in commands_at(self.screen.PLACE) if command.palette]

    async def _do(self, command: Command) -> None:
        screen = self.screen
        owner = screen if hasattr(screen, f"action_{command.action}") else self.app
        await owner.run_action(command.action)

    async def discover(self) -> Hits:
        for command in self._here():
            yield DiscoveryHit(f"{command.says}  ({command.shown_keys})", partial(self._do, command))

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for command in self._here():
            text = f"{command.says}  ({command.shown_keys})"
            if (score := matcher.match(text)) > 0:
                yield Hit(score, matcher.highlight(text), partial(self._do, command))
