"""The last save of this person taken back, from any place, once it was said what goes and what stands."""

from __future__ import annotations

from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import TakenBack
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import SaveRefused, WardRefused
from mobicard.ward.undo import LastSave, last_save, take_back


def offer(place: PlaceScreen) -> None:
    """Ask whether the last save is to be taken back; say why where it cannot be."""
    place.with_initials(lambda: _ask(place))


def _ask(place: PlaceScreen) -> None:
    try:
        save = last_save(place.ward)
    except (WardRefused, LedgerError) as refused:
        place.refuse(f"Not taken back: {refused.says.rstrip('.')}.")
        return

    def chosen(key: str | None) -> None:
        if key == "y":
            _take_back(place, save)

    asks = f"Take back {safe(save.says)}?"
    choices = [("y", "yes: what stood before it stands again"), ("n", "no, it stays")]
    place.app.push_screen(Choose(asks, choices, "Nothing is lost: both stay in the ledger."), chosen)


def _take_back(place: PlaceScreen, save: LastSave) -> None:
    try:
        view = take_back(place.ward, save)
    except SaveRefused as faster:
        place.refuse(f"Not taken back: {faster.by} saved {save.view.bed} meanwhile.")
    except (WardRefused, LedgerError) as refused:
        place.refuse(f"Not taken back: {refused.says.rstrip('.')}.")
    else:
        for screen in place.app.screen_stack:
            screen.post_message(TakenBack(view))
        place.say(f"Taken back: {safe(save.says)}.")
