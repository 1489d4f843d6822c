"""Which move's brief: one letter, the same that the day plan's lanes show."""

from __future__ import annotations

from mobicard.facts.moves import ROWS
from mobicard.facts.words import Task
from mobicard.terminal.asking import Choose
from mobicard.terminal.commands import Place
from mobicard.terminal.looks import helpers_say
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView

LETTERS: dict[str, Task] = {row.letter.lower(): row.task for row in ROWS}
"""The move of each letter."""


def ask_brief(place: PlaceScreen, view: BedView | None) -> None:
    """Ask for the move, then open its brief."""
    if view is None:
        return

    def chosen(key: str | None) -> None:
        if key:
            place.station.go(Place.BRIEF, view, LETTERS[key])

    looks = place.station.scheme.looks
    choices = []
    for row in ROWS:
        move = view.plan.tasks[row.task]
        says = f"{row.says:<27} {looks[move.level].word:<7} {helpers_say(move.helpers, view.plan)}"
        choices.append((row.letter.lower(), says))
    place.app.push_screen(Choose(f"{view.bed}: the brief of which move?", choices), chosen)
