"""What the Board can do to a stay besides opening it: take in, assign, move, end; each asked in one line."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from mobicard.facts import RecordRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.commands import Place
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.ward import BedView, WardRefused

if TYPE_CHECKING:
    from mobicard.terminal.board.screen import Board
    from mobicard.terminal.place import PlaceScreen


def attempt(place: PlaceScreen, act: Callable[[], object]) -> bool:
    """Do something to the ledger; a refusal is said in words. True when it was done."""
    try:
        act()
    except RecordRefused as refused:
        place.refuse("; ".join(str(problem) for problem in refused.problems))
    except (WardRefused, LedgerError) as refused:
        place.refuse(refused.says)
    else:
        return True
    return False


def admit(board: Board) -> None:
    """Take a patient in: the bed, then initials or an alias, then the form."""
    made: list[BedView] = []

    def labelled(bed: str, label: str | None) -> None:
        if label is not None and attempt(
            board, lambda: made.append(board.ward.stays.admit(bed, label or None))
        ):
            board.read_board()
            board.station.go(Place.RECORD, made[0])

    def bedded(bed: str | None) -> None:
        if bed:
            asks = f"Initials or an alias for {bed}, at most 12 letters; Enter alone leaves it out"
            board.app.push_screen(Write(asks, limit=12), lambda label: labelled(bed, label))

    board.app.push_screen(Write("Which bed, as the unit writes it, like 4W-12A", limit=16), bedded)


def assign(board: Board) -> None:
    """Give the marked bed to somebody's round."""
    view = board.marked
    if view is None:
        return

    def given(to: str | None) -> None:
        if to is not None and attempt(board, lambda: board.ward.assign([view.stay], to.upper() or None)):
            board.read_board()

    asks = f"Initials of who looks after {view.bed}; empty for nobody"
    board.app.push_screen(Write(asks, view.assignment or board.ward.by, limit=12), given)


def move(board: Board) -> None:
    """Move the marked patient to a free bed, or swap with the patient who is there."""
    view = board.marked
    if view is None:
        return

    def named(bed: str | None) -> None:
        if not bed:
            return
        other = next((one for one in board.beds if one.bed.casefold() == bed.casefold()), None)
        if other is None:
            if attempt(board, lambda: board.ward.stays.move(view, bed)):
                board.read_board()
        elif other.stay != view.stay:
            asks = f"{other.bed} is taken. Do the two patients change beds?"
            choices = [("y", f"yes, {view.bed} and {other.bed} change places"), ("n", "no")]
            board.app.push_screen(Choose(asks, choices), lambda key: swapped(key, other))

    def swapped(key: str | None, other: BedView) -> None:
        if key == "y" and attempt(board, lambda: board.ward.stays.swap(view, other)):
            board.read_board()

    board.app.push_screen(Write(f"To which bed does the patient of {view.bed} go?", limit=16), named)


def discharge(board: Board) -> None:
    """End the marked stay, once confirmed."""
    view = board.marked
    if view is None:
        return

    def sure(key: str | None) -> None:
        if key == "y" and attempt(board, lambda: board.ward.stays.discharge(view)):
            board.say(f"The stay in {view.bed} has ended; the card on its door must come down.")
            board.read_board()

    asks = f"The patient of {view.bed} has left the unit?"
    choices = [("y", "yes, the stay has ended"), ("n", "no")]
    board.app.push_screen(Choose(asks, choices, "Everything recorded is kept."), sure)


def show_why(board: Board, view: BedView) -> None:
    """The marked bed's card with every reason open."""
    board.note_seen(view.stay)
    board.app.push_screen(Why(view))


def offer_drafts(board: Board) -> None:
    """Say at the start which beds have answers that were never saved."""
    drafts = board.ward.drafts.all()
    falls = {draft.stay for draft in drafts if draft.place == "fall"}
    forms = {draft.stay for draft in drafts} - falls
    says = [
        f"{what} never saved: {', '.join(beds)}; {key} takes them up."
        for what, key, stays in (("Answers", "Enter", forms), ("Answers of a fall", "f", falls))
        if (beds := [view.bed for view in board.beds if view.stay in stays])
    ]
    if says:
        board.refuse("\n".join(says))


class Why(ModalScreen[None]):
    """One bed's card over the Board, every reason open; Esc closes it."""

    BINDINGS = [Binding("escape,w,q", "dismiss", "Close")]  # noqa: RUF012

    def __init__(self, view: BedView) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        with Vertical(id="help"):
            yield Static(f"{self._view.bed}   Enter opens or closes a line, Esc goes back", markup=False)
            yield PlanCard(id="why")

    def on_mount(self) -> None:
        card = self.query_one(PlanCard)
        card.show(self._view.plan)
        card.open_all()
        card.focus()
