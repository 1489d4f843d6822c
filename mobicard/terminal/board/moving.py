"""A patient goes to another bed: both patients named by their initials, and asked before it is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from mobicard.terminal.asking import Choose
from mobicard.terminal.board.which_bed import ask_bed
from mobicard.terminal.looks import named, safe
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView


def ask_move(place: PlaceScreen, view: BedView, beds: Sequence[BedView], then: Callable[[], object]) -> None:
    """Ask for the bed; a free one is moved to, a taken one offers that the two patients change beds."""
    patient = named(view.bed, view.label)

    def meant(bed: str) -> None:
        other = next((one for one in beds if one.bed.casefold() == bed.casefold()), None)
        if other is not None:
            _swap(place, view, other, then)
        else:
            _to_free(place, view, bed, then)

    def check(text: str) -> str:
        return f"{patient} is in {view.bed} already" if text.casefold() == view.bed.casefold() else ""

    ask_bed(place, f"To which bed does {patient} go?", beds, meant, check=check)


def _to_free(place: PlaceScreen, view: BedView, bed: str, then: Callable[[], object]) -> None:
    def moved(key: str | None) -> None:
        if key == "y" and place.attempt(lambda: place.ward.stays.move(view, bed)):
            then()

    choices = [("y", "yes; look again there, and change both doors"), ("n", "no")]
    place.app.push_screen(Choose(f"{named(view.bed, view.label)} goes to {safe(bed)}?", choices), moved)


def _swap(place: PlaceScreen, view: BedView, other: BedView, then: Callable[[], object]) -> None:
    def swapped(key: str | None) -> None:
        if key == "y" and place.attempt(lambda: place.ward.stays.swap(view, other)):
            then()

    one, two = named(view.bed, view.label), named(other.bed, other.label)
    choices = [("y", f"yes, {one} and {two} change places"), ("n", "no")]
    place.app.push_screen(Choose(f"{two} is there. Do the two patients change beds?", choices), swapped)
