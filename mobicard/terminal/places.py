"""Where each place lives; loaded when first opened, so that the Board is up at once."""

from __future__ import annotations

from importlib import import_module

from mobicard.terminal.commands import Place
from mobicard.terminal.place import PlaceScreen

PLACES = {
    Place.BOARD: "mobicard.terminal.board.screen:Board",
    Place.RECORD: "mobicard.terminal.record.screen:RecordForm",
    Place.ROUND: "mobicard.terminal.round.screen:Round",
    Place.FALL: "mobicard.terminal.fall.screen:Fall",
    Place.OVERRIDE: "mobicard.terminal.judgement.screen:Override",
    Place.PRINT: "mobicard.terminal.print_desk.screen:PrintDesk",
    Place.HANDOFF: "mobicard.terminal.handoff.screen:HandoffReader",
    Place.BRIEF: "mobicard.terminal.brief.screen:BriefScreen",
    Place.HANDS: "mobicard.terminal.hands.screen:HandsScreen",
}


def screen_of(place: Place) -> type[PlaceScreen]:
    """The screen class of a place."""
    module, _, name = PLACES[place].partition(":")
    screen: type[PlaceScreen] = getattr(import_module(module), name)
    return screen
