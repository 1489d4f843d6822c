"""What the Board can do to a stay besides opening it: take in, assign, move, end; each asked in one line."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence

from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.board.bed_list import CensusPreview, read_file
from mobicard.terminal.board.moving import ask_move
from mobicard.terminal.board.put_right import ask_correction, ask_operation, ask_readmission
from mobicard.terminal.board.rows import beds_like
from mobicard.terminal.commands import Place
from mobicard.terminal.looks import named
from mobicard.terminal.place import PlaceScreen, by_somebody
from mobicard.terminal.why_card import Why
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

        def bedded(bed: str | None) -> None:
            like = beds_like(self.beds, bed or "")
            if len(like) > 1:
                keyed = {str(number): one for number, one in enumerate(like[:9], 1)}
                choices = list(keyed.items())
                self.app.push_screen(Choose("Which bed?", choices), lambda key: labels(keyed.get(key or "")))
            else:
                labels(like[0] if like else bed)

        def labels(bed: str | None) -> None:
            if bed:
                asks = f"Initials or an alias for {bed}, at most 12 letters; Enter alone leaves it out"
                self.app.push_screen(Write(asks, limit=12), lambda label: labelled(bed, label))

        asks = "Which bed, as the unit writes it, like 4W-12A; the number alone where there is one unit"
        self.app.push_screen(Write(asks, limit=16, check=self._bed_says), bedded)

    def _bed_says(self, typed: str) -> str:
        """Why nobody can be taken into a bed, or nothing: said before more is asked."""
        like = beds_like(self.beds, typed)
        names = {one.casefold() for one in (like if len(like) == 1 else [typed])}
        taken = next((view for view in self.beds if view.bed.casefold() in names), None)
        return f"{named(taken.bed, taken.label)} is there: {taken.bed} is taken" if taken else ""

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
        ask_readmission(self, lambda _view: self.read_ledger())

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
