"""What the Board can do to a stay besides opening it: take in, assign, move, end; each asked in one line."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence

from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.board.bed_list import CensusPreview, read_file
from mobicard.terminal.board.moving import ask_move
from mobicard.terminal.board.put_right import ask_correction, ask_operation, ask_readmission
from mobicard.terminal.board.which_bed import LIKE, ask_bed, taken
from mobicard.terminal.card.why import Why
from mobicard.terminal.commands import Place
from mobicard.terminal.looks import named
from mobicard.terminal.place import PlaceScreen, by_somebody
from mobicard.ward import BedView


class BoardActs(PlaceScreen):
    """The beds as last read, the marked one, and what can be done to it."""

    beds: Sequence[BedView]

    @property
    @abstractmethod
    def marked(self) -> BedView | None:
        """The bed under the mark."""

    @by_somebody
    def action_admit(self) -> None:
        """Take a patient in: the bed, then initials or an alias, then the form."""
        made: list[BedView] = []

        def labelled(bed: str, label: str | None) -> None:
            if label is not None and self.attempt(lambda: made.append(self._admitted(bed, label or None))):
                self.read_ledger()
                self.station.go(Place.RECORD, made[0])

        def labels(bed: str) -> None:
            asks = f"Initials or an alias for {bed}, at most 12 letters; Enter alone leaves it out"
            self.app.push_screen(Write(asks, limit=12), lambda label: labelled(bed, label))

        ask_bed(self, f"Which bed, {LIKE}", self.beds, labels, check=lambda bed: taken(self.beds, bed))

    def _admitted(self, bed: str, label: str | None) -> BedView:
        """A new stay; the nurse who takes it in looks after it."""
        view = self.ward.stays.admit(bed, label)
        if not self.ward.may("same"):
            return view
        self.ward.assign([view.stay], self.ward.by)
        return self.ward.bed(view.stay)

    @by_somebody
    def action_assign(self) -> None:
        """Give the marked bed to somebody's round."""
        view = self.marked
        if view is None:
            return

        def given(to: str | None) -> None:
            if to is not None and self.attempt(lambda: self.ward.assign([view.stay], to.upper() or None)):
                self.read_ledger()

        asks = f"Initials of who looks after {view.bed}; empty for nobody"
        self.app.push_screen(Write(asks, view.assignment or self.ward.by, limit=12), given)

    @by_somebody
    def action_move(self) -> None:
        """Move the marked patient to a free bed, or swap with the patient who is there."""
        if self.marked is not None:
            ask_move(self, self.marked, self.beds, self.read_ledger)

    @by_somebody
    def action_discharge(self) -> None:
        """End the marked stay, once confirmed."""
        view = self.marked
        if view is None:
            return

        def sure(key: str | None) -> None:
            if key == "y" and self.attempt(lambda: self.ward.stays.discharge(view)):
                self.say(f"{view.bed} is free: take its card off the door. Press u if it was not so.")
                self.read_ledger()

        asks = f"{named(view.bed, view.label)} has left the unit?"
        choices = [("y", "yes, the stay has ended"), ("n", "no")]
        self.app.push_screen(Choose(asks, choices, "Everything recorded is kept."), sure)

    @by_somebody
    def action_correct(self) -> None:
        """What was told of the marked stay, entry by entry; withdraw what was wrong."""
        if self.marked is not None:
            ask_correction(self, self.marked, self.read_ledger)

    @by_somebody
    def action_operation(self) -> None:
        """Note an operation of the marked patient."""
        if self.marked is not None:
            ask_operation(self, self.marked, self.read_ledger)

    @by_somebody
    def action_readmit(self) -> None:
        """Take up again a stay that has ended."""
        ask_readmission(self, self.beds, lambda _view: self.read_ledger())

    def action_card(self) -> None:
        """Ask for a card's code, scanned or typed, and say what it stands for now."""
        asks = "The card's code: scan its square, or type the six letters and figures"
        self.app.push_screen(Write(asks, limit=90), lambda code: self.tell_card(code) if code else None)

    def tell_card(self, code: str) -> None:
        """What the card with this code stands for now, and the mark on its bed."""
        found = self.ward.doors.check(code)
        self.say(f"{found.code}: {found.says}")

    def show_why(self, view: BedView) -> None:
        """The marked bed's card with every reason open."""
        self.note_seen(view.stay)
        self.app.push_screen(Why(view))

    def offer_drafts(self) -> None:
        """Say at the start which beds have answers that were never saved."""
        drafts = self.ward.drafts.all()
        falls = {draft.stay for draft in drafts if draft.place == "fall"}
        forms = {draft.stay for draft in drafts} - falls
        says = [
            f"{what} never saved: {', '.join(beds)}; {key} takes them up."
            for what, key, stays in (("Answers", "Enter", forms), ("Answers of a fall", "f", falls))
            if (beds := [view.bed for view in self.beds if view.stay in stays])
        ]
        if says:
            self.refuse("\n".join(says))

    @by_somebody
    def action_census(self) -> None:
        """Ask for the bed list's file, then show what it would do."""
        if not self.ward.may("admit"):
            self.refuse("A bed list is taken in by a nurse or a clerk; your role reads.")
            return

        def given(text: str | None) -> None:
            if text:
                self.app.push_screen(CensusPreview(self, read_file(text)[0]), applied)

        def applied(count: int | None) -> None:
            if count is not None:
                self.say(f"The bed list is applied: {count} stays touched.")
                self.read_ledger()

        asks = "The bed list's file (CSV, or HL7 ADT messages)"
        self.app.push_screen(Write(asks, limit=300, check=lambda text: read_file(text)[1]), given)
