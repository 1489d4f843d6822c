"""The Round: one bed after the other, the same as before in two keys, or only what is asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import monotonic

from textual import events
from textual.app import ComposeResult
from textual.containers import Container
from textual.widgets import Static

from mobicard.derive.over_time.standing_orders import not_asked_since
from mobicard.derive.over_time.validity import shift_opens
from mobicard.facts import Record
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import ask_whose
from mobicard.terminal.brief.asking import ask_brief
from mobicard.terminal.card.why import Why
from mobicard.terminal.commands import Place, bindings, key_for
from mobicard.terminal.fall.head import ask_head
from mobicard.terminal.messages import BedSaved, BoardRead, TakenBack
from mobicard.terminal.order_ends import ask_each, ask_orders
from mobicard.terminal.place import WIDE, PlaceScreen
from mobicard.terminal.record.form.fall_items import fall_questions, instrument_for
from mobicard.terminal.record.form.questions import Question, with_instrument
from mobicard.terminal.record.screen import RecordForm
from mobicard.terminal.round import state as round_state
from mobicard.terminal.round.end import RoundEnd
from mobicard.terminal.round.form import AskedForm, FactPicker
from mobicard.terminal.round.lines import bed_text, sure_text
from mobicard.terminal.round.state import CHANGED, LATER, PART, SAME, RoundState
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.ward import BedView, SaveRefused, WardRefused


class Round(PlaceScreen):
    """Holds where the round stands; what is done at a bed is on disk before the next one shows."""

    PLACE = Place.ROUND
    BINDINGS = bindings(Place.ROUND)

    def __init__(self) -> None:
        super().__init__()
        self.views: Sequence[BedView] = ()
        self.state: RoundState | None = None
        self.view: BedView | None = None
        self.sure = False
        self.refusal: str | None = None
        self.asked: tuple[str, ...] = ()
        self.questions: Sequence[Question] = ()
        self._shown_from: float | None = None

    def body(self) -> ComposeResult:
        with Container(id="round-panes"):
            yield Static("Reading the beds ...", id="round-bed")
            yield PlanCard(id="round-card")
        yield Static("", id="round-sure")

    def on_mount(self) -> None:
        self.query_one(PlanCard).focus()
        if not self.ward.may("same"):
            self.refuse("A round is recorded by a nurse; your role reads and prints.")
            self.dismiss()
        else:
            self.with_initials(self.read_ledger)

    # -- reading -----------------------------------------------------------------------------------

    def looked_up(self) -> BoardRead:
        return BoardRead(self.ward.board())

    def on_board_read(self, message: BoardRead) -> None:
        self.views = message.beds
        if self.state is not None:
            return
        self.state = round_state.kept(self.ward, self.views)
        if self.state is not None:
            self.say(f"The round goes on where it stood: {self.state.says()}.")
        else:
            mine = any(view.assignment == self.ward.by for view in self.views)
            self.begin(self.ward.by if mine else "")
        self.to_bed(self.state.at if self.state else "")

    def begin(self, whose: str) -> None:
        """A new round over somebody's beds, or all."""
        self.state = round_state.of_beds(self.views, whose, self.ward.now.replace(second=0))
        self._keep()
        self.to_bed(self.state.at)

    def _keep(self) -> None:
        try:
            if self.state is not None and self.state.stays:
                round_state.keep(self.ward, self.state)
        except OSError as refused:
            self.refuse(f"Where the round stands could not be kept on disk ({refused.strerror}).")

    def to_bed(self, stay: str) -> None:
        """Show a bed as the ledger has it now."""
        self.sure = False
        if not stay or self.state is None:
            self.query_one("#round-bed", Static).update(
                f"There is no bed for this round. {key_for(Place.ROUND, 'whose').upper()} chooses whose beds."
            )
            return
        try:
            self.view = self.ward.bed(stay)
        except (LedgerError, WardRefused) as gone:
            self.refuse(gone.says)
            self.view = next((view for view in self.views if view.stay == stay), self.view)
        if self.view is None:
            return
        self.note_seen(stay)
        if self.state.at != stay:
            self.state.at = stay
            self._keep()
        self.refusal = self.ward.why_not_same(self.view)
        self.asked = round_state.asked_for(self.view, self.ward.now, self.ward)
        self.questions = with_instrument(fall_questions(instrument_for(self.view.record, self.ward.policy)))
        self.query_one(PlanCard).scroll_home(animate=False)
        self.paint()
        self._shown_from = None
        self.call_after_refresh(self._now_shown)

    def minute_passed(self) -> None:
        """The bed anew where the minute changed what holds; an open *same as before* is then asked again."""
        if self.view is None:
            return
        try:
            now = self.ward.bed(self.view.stay)
        except (LedgerError, WardRefused) as gone:
            self.refuse(gone.says)
            return
        if (now.plan, self.ward.why_not_same(now)) != (self.view.plan, self.refusal):
            self.to_bed(now.stay)

    def _now_shown(self) -> None:
        self._shown_from = monotonic()

    def unseen(self, event: events.Key) -> bool:
        """Keys typed ahead do not count: nobody attests a bed that was not on the screen yet."""
        waits = bool(self.state and self.state.at) and (
            self._shown_from is None or event.time < self._shown_from
        )
        return waits or super().unseen(event)

    # -- what is shown -----------------------------------------------------------------------------

    def paint(self) -> None:
        if self.view is None or self.state is None:
            return
        whole = self.app.size.width - 2
        width = whole // 2 - 1 if self.app.size.width >= WIDE else whole
        self.banner.about = f"of {self.state.whose}" if self.state.whose else "all beds"
        self.banner.state = self.state.says()
        text = bed_text(
            self.view,
            self.state,
            refusal=self.refusal,
            asked=self.asked,
            questions=self.questions,
            width=width,
            now=self.ward.now,
            depth=self.station.depth,
        )
        self.query_one("#round-bed", Static).update(text)
        self.query_one(PlanCard).show(self.view.plan)
        sure = self.query_one("#round-sure", Static)
        sure.update(sure_text(self.view, whole) if self.sure else "")
        sure.set_class(self.sure, "open")

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted:
            self.paint()

    # -- keys --------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """While *same as before* stands open, Enter records it and any other key takes it back."""
        if not self.sure:
            if event.key == "enter":
                event.stop()  # after a refused S it must not open a form that the next keys would answer
            return
        self.sure = False
        event.stop()
        if event.key == "enter":
            self._record_same()
        else:
            self.paint()

    def _record_same(self) -> None:
        view = self.view
        if view is None:
            return
        try:
            saved = self.ward.same_as_before(view)
        except SaveRefused as faster:
            self.refuse(f"{faster.by} saved {view.bed} meanwhile; look at it again.")
            self.to_bed(view.stay)
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
            self.to_bed(view.stay)
        else:
            self.tell_saved(saved)
            self._done(saved, SAME)

    def _done(self, view: BedView, how: str) -> None:
        """Note what was done here, on disk, and go on to the next bed; past the last one, the end."""
        if self.state is None or view.stay not in self.state.stays:
            return
        self.views = [view if one.stay == view.stay else one for one in self.views]
        self.state.done[view.stay] = how
        follows = self.state.after(view.stay)
        self._keep()
        if how == PART:
            self.to_bed(view.stay)
        elif follows is None:
            self.to_bed(view.stay)
            self.action_end()
        else:
            self.to_bed(follows)

    def on_bed_saved(self, message: BedSaved) -> None:
        """The form over this round saved a bed: done when the patient was seen, else only in part."""
        view = message.bed
        if self.view is None or view.stay != self.view.stay:
            return
        if _but_for_orders(view) == _but_for_orders(self.view):
            self.view = view  # a head observation or an order's end is no look at how the patient moves
            self.paint()
            return
        at = view.record.assessed_at
        seen = at is not None and self.state is not None and at >= self.state.began
        self._done(view, CHANGED if seen and view.plan.after_fall is None else PART)

    def on_taken_back(self, message: TakenBack) -> None:
        """A bed whose save was taken back is not done any more: the round goes back to it."""
        message.prevent_default()
        stay = message.bed.stay
        self.views = [message.bed if one.stay == stay else one for one in self.views]
        if self.state is not None and stay in self.state.stays:
            self.state.done.pop(stay, None)
            self._keep()
            self.to_bed(stay)

    # -- commands ----------------------------------------------------------------------------------

    def action_same(self) -> None:
        if self.view is not None and (self.refusal or not self._ask_orders(self._same)):
            self._same()

    def _ask_orders(self, then: Callable[[], None]) -> bool:
        """Ask each order that nobody spoke of in this shift, then go on; False where there is none."""
        assert self.view is not None
        stay = self.view.stay
        asked = not_asked_since(self.view.record, shift_opens(self.ward.now, self.ward.policy.shift))

        def answered() -> None:
            self.to_bed(stay)
            then()

        if asked:
            ask_each(self, self.view, asked, answered)
        return bool(asked)

    def _same(self) -> None:
        if self.view is None:
            return
        self.refusal = self.ward.why_not_same(self.view)
        if self.refusal:
            self.refuse(f"Not same as before: {self.refusal}.")
        else:
            self.sure = True
        self.paint()

    def action_answer(self) -> None:
        if self.view is None:
            return
        head = self.view.plan.head_observations
        if round_state.fall_says(self.view):
            self.action_fall()
        elif not self.asked and head is not None and head.late:
            self.action_head()
        elif not self._ask_orders(self._answer):
            self._answer()

    def _answer(self) -> None:
        if self.view is None:
            return
        if self.asked:
            self._open(AskedForm(self.view, self.asked))
        else:
            self.say("Nothing is asked for here: S when unchanged, C when a fact changed.")

    def action_change(self) -> None:
        view = self.view
        if view is None:
            return

        def picked(path: str | None) -> None:
            if path:
                self._open(AskedForm(view, [path]))

        self.app.push_screen(FactPicker(view.bed, self.questions, self.asked), picked)

    def action_whole(self) -> None:
        if self.view is not None:
            self.station.go(Place.RECORD, self.view)

    def action_why(self) -> None:
        if self.view is not None:
            self.app.push_screen(Why(self.view))

    def _open(self, form: RecordForm) -> None:
        self.app.push_screen(form)

    def action_later(self) -> None:
        if self.view is None or self.state is None:
            return
        if self.view.stay in self.state.left:
            self.state.done.setdefault(self.view.stay, LATER)
        self.to_bed(self.state.step(self.view.stay, 1))

    def action_back_bed(self) -> None:
        if self.view is not None and self.state is not None:
            self.to_bed(self.state.step(self.view.stay, -1))

    def action_whose(self) -> None:
        detail = "A new choice begins a new round; what was recorded stays."
        ask_whose(self, self.views, f"all {len(self.views)} beds", self.begin, detail)

    def action_order(self) -> None:
        """Who must be seen first, or the order of the unit; the bed on the screen stays."""
        if self.state is None:
            return
        self.state.by_unit = not self.state.by_unit
        self.state.reorder(self.views)
        self._keep()
        self.paint()
        self.say("In the order of the unit." if self.state.by_unit else "Falls, overdue and due beds first.")

    def action_end(self) -> None:
        if self.state is not None:
            self.app.push_screen(RoundEnd(self.state), self._ended)

    def _ended(self, how: str | None) -> None:
        if how == "" or self.state is None:
            return
        if not self.state.left:
            round_state.forget(self.ward)
        self.dismiss()
        if how == "print":
            self.station.go(Place.PRINT)

    def action_fall(self) -> None:
        if self.view is not None:
            self.station.go(Place.FALL, self.view)

    def action_head(self) -> None:
        ask_head(self, self.view)

    def action_orders(self) -> None:
        if self.view is not None:
            ask_orders(self, self.view)

    def action_override(self) -> None:
        if self.view is not None:
            self.station.go(Place.OVERRIDE, self.view)

    def action_brief(self) -> None:
        ask_brief(self, self.view)

    def action_pause(self) -> None:
        if self.state is not None:
            self._keep()
            if self.state.left and self.state.done:
                self.say(f"The round waits: {self.state.says()}.")
        self.dismiss()


def _but_for_orders(view: BedView) -> Record:
    """The record without what is noted apart from a look at how the patient moves."""
    return view.record.changed(head_watch=None, orders=(), ended=(), precautions=(), weight_bearing={})
