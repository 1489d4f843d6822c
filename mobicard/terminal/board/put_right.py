"""Putting right from the Board: a wrong entry withdrawn, an operation noted, an ended stay taken up again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from mobicard.ledger import LedgerError
from mobicard.ledger.state import StayState
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.board.which_bed import ask_bed, taken
from mobicard.terminal.looks import hang, named, safe
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView
from mobicard.ward.corrections import withdraw
from mobicard.ward.reader.told import Told, told_of


class Entries(Overlay[Told | None]):
    """What was told of a stay, newest first; dismissed with the entry to correct, or None."""

    BINDINGS = [Binding("escape,q,c", "dismiss", "Back")]  # noqa: RUF012
    ABOUT = (
        "What each entry changed, old -> new. Enter on a wrong one asks why and withdraws it; both are kept."
    )

    def __init__(self, patient: str, told: Sequence[Told]) -> None:
        super().__init__()
        self._patient, self._told = patient, list(reversed(told))

    def compose(self) -> ComposeResult:
        with Vertical(id="help"):
            yield Static(f"{self._patient}: what was recorded, newest first", markup=False)
            yield OptionList(*map(self._line, self._told), id="entries", compact=True, markup=False)
            yield Static("Enter: the marked entry was wrong.  Esc goes back.", id="refusal", markup=False)

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()

    def _line(self, one: Told) -> Option:
        width = max(min(int(self.app.size.width * 0.9), 100) - 8, 30)
        return Option(hang([(f"{one.number}. ", "bold"), (safe(one.says), "")], width))

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        one = self._told[event.option_index]
        if one.correctable:
            self.dismiss(one)
        else:
            self.query_one("#refusal", Static).update(_why_not(one))


def _why_not(one: Told) -> str:
    if one.withdrawn:
        return f"Entry {one.number} is withdrawn already."
    if one.did.startswith("corrected"):
        return f"Entry {one.number} is a correction; record the bed again if it was wrong."
    return f"Entry {one.number} says where the patient is; that is put right by moving the patient."


def ask_correction(place: PlaceScreen, view: BedView, then: Callable[[], object]) -> None:
    """Show what was told of a stay; withdraw the entry that was wrong, once its reason is written."""
    try:
        view, told = place.ward.bed(view.stay), told_of(place.ward, view.stay)
    except LedgerError as failed:
        place.refuse(failed.says)
        return
    patient = named(view.bed, view.label)

    def written(one: Told, why: str | None) -> None:
        if why and place.attempt(lambda: withdraw(place.ward, view, one.number, why)):
            place.say(f"Entry {one.number} of {patient} counts no longer. Record what is right.")
            then()

    def picked(one: Told | None) -> None:
        if one is not None:
            asks = f"{patient}: what was wrong with entry {one.number}, {safe(one.says)}? Both are kept."
            place.app.push_screen(Write(asks, check=_some_reason), lambda why: written(one, why))

    place.note_seen(view.stay)
    place.app.push_screen(Entries(patient, told), picked)


def _some_reason(text: str) -> str:
    return "" if text.strip() else "write in a few words what was wrong, like: other patient"


def ask_operation(place: PlaceScreen, view: BedView, then: Callable[[], object]) -> None:
    """Note an operation of a patient: nobody gets up until looked at again."""
    patient = named(view.bed, view.label)

    def written(what: str | None) -> None:
        if what is not None and place.attempt(lambda: place.ward.procedure(view.stay, what)):
            place.say(f"{patient}: operation noted. Nobody gets this patient up until looked at again.")
            then()

    asks = f"{patient} had an operation or procedure, just now: which? Enter alone leaves it open"
    place.app.push_screen(Write(asks, limit=60), written)


def ask_readmission(place: PlaceScreen, beds: Sequence[BedView], then: Callable[[BedView], object]) -> None:
    """Take up again one of the stays that ended last: the same history, looked at anew."""
    try:
        ended = place.ward.stays.ended()
    except LedgerError as failed:
        place.refuse(failed.says)
        return
    keyed = {str(number): state for number, state in enumerate(ended, 1)}
    if not keyed:
        place.say("Nobody has left; n takes in a new patient.")
        return

    def placed(state: StayState, bed: str) -> None:
        made: list[BedView] = []
        if place.attempt(lambda: made.append(place.ward.stays.readmit(state.stay, bed))):
            place.say(f"{named(made[0].bed, made[0].label)} is back; look again before moving.")
            then(made[0])

    def picked(key: str | None) -> None:
        if key:
            state = keyed[key]
            asks = f"To which bed does {named(state.bed, state.label)} come back?"
            free = partial(taken, beds)
            ask_bed(place, asks, beds, partial(placed, state), value=state.bed, check=free)

    choices = [(key, _left(place, state)) for key, state in keyed.items()]
    place.app.push_screen(Choose("Who has come back?", choices, "Everything recorded is kept."), picked)


def _left(place: PlaceScreen, state: StayState) -> str:
    assert state.discharged_at is not None
    left = place.ward.clock.ward_time(state.discharged_at)
    return f"{named(state.bed, state.label)}, left {left:%d %b %H:%M}"
