"""Finding a command by its words: the same declarations as keys and help."""

from __future__ import annotations

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from mobicard.terminal.commands import COMMANDS, Command, Place, commands_at
from mobicard.terminal.place import PlaceScreen

ALSO = {
    "lock": "password pin sign in log out lock user",
    "take_back": "undo mistake oops",
    "print": "reprint card door paper",
    "admit": "admit admission arrive new",
    "override": "override level",
    "orders": "bed rest lift an order isolation precautions",
    "move": "swap transfer change bed room exchange",
    "discharge": "discharge home died gone away",
    "correct": "correct mistake wrong history withdraw",
    "operation": "surgery theatre operation procedure anaesthetic",
    "readmit": "readmit back discharge undo",
    "census": "census import file",
}
"""What else people of the trade call a command, by its action, for whoever looks for it by word."""


class PlaceCommands(Provider):
    """The commands of the place that is open, and those that work everywhere."""

    def _here(self) -> list[Command]:
        if not isinstance(self.screen, PlaceScreen):
            return []
        return [command for command in commands_at(self.screen.PLACE) if command.palette]

    def _of_the_board(self) -> list[Command]:
        """What cannot be done here, but on the Board: found too, so that nobody thinks it is not there."""
        if not isinstance(self.screen, PlaceScreen) or self.screen.PLACE is Place.BOARD:
            return []
        here = {command.label for command in self._here()}
        return [one for one in COMMANDS[Place.BOARD] if one.palette and one.label not in here]

    async def _tell(self, command: Command) -> None:
        says = f"That is done on the Board: Esc goes there, then {command.shown_keys}."
        self.app.notify(says, markup=False)

    async def _do(self, command: Command) -> None:
        screen = self.screen
        owner = screen if hasattr(screen, f"action_{command.action}") else self.app
        await owner.run_action(command.action)

    async def discover(self) -> Hits:
        for command in self._here():
            yield DiscoveryHit(f"{command.says}  ({command.shown_keys})", partial(self._do, command))

    async def search(self, query: str) -> Hits:
        matcher, words = self.matcher(query), query.casefold().split()
        for command in self._here():
            text = f"{command.says}  ({command.shown_keys})"
            meant = _by_word(command, words)
            score = _MEANT + meant if meant else matcher.match(text)
            if score > 0:
                yield Hit(score, matcher.highlight(text), partial(self._do, command))
        for command in self._of_the_board():
            if _by_word(command, words):
                text = f"{command.says}  (on the Board: {command.shown_keys})"
                yield Hit(_ELSEWHERE, matcher.highlight(text), partial(self._tell, command))


_ELSEWHERE = 1.0
_MEANT = 100.0
"""Above what letters scattered over a sentence score: a word that names it comes first."""


def _by_word(command: Command, words: list[str]) -> float:
    """How well a command answers to words of the trade: by its name, what else it is called, its sentence."""
    scored = 0.0
    for texts, worth in ((command.label, 4.0), (ALSO.get(command.action, ""), 3.0), (command.says, 2.0)):
        named = texts.casefold().replace(",", " ").split()
        places = [next((at for at, one in enumerate(named) if one.startswith(word)), None) for word in words]
        if words and None not in places:
            scored = max(scored, worth - sum(at or 0 for at in places) / 100)
    return scored
