"""Saving a form: what to ask first, the draft on disk till then, and what to do when somebody was faster."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from datetime import datetime

from mobicard.derive.model import Plan
from mobicard.derive.over_time.standing_orders import ended_by, taken_off
from mobicard.facts import Record, RecordRefused
from mobicard.ledger import LedgerError
from mobicard.paper.clinical_words import spaced
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.commands import Place, key_for
from mobicard.terminal.looks import named, people_say, safe
from mobicard.terminal.messages import SaveDone, SaveFailed
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.record.clash import Clash
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.questions import Question
from mobicard.terminal.record.form.shown import answer_says, seen_says
from mobicard.ward import BedView, Door, Draft, SaveRefused, WardRefused, merge

PLACE = "record"


class RecordSaving(PlaceScreen):
    """The answers of one open form, and all that becomes of them: kept, offered again, saved, settled."""

    view: BedView
    base_version: int
    opened_at: datetime
    answers: Answers
    plan: Plan
    questions: Sequence[Question]
    saving: bool

    @abstractmethod
    def derive(self) -> None:
        """The plan of the answers as they stand, then everything shown again."""

    @abstractmethod
    def paint(self) -> None:
        """Show the answers and the plan as they stand."""

    @abstractmethod
    def go_to(self, path: str) -> None:
        """Mark this question."""

    @abstractmethod
    def action_save(self) -> None:
        """The command that saves, asking for initials where they are not known."""

    @abstractmethod
    def action_why(self) -> None:
        """The derived card over the whole screen, or both."""

    # -- drafts -----------------------------------------------------------------------------------------

    def keep_draft(self) -> None:
        """Write the answers through to disk, so that a killed terminal loses none."""
        ward, view = self.ward, self.view
        by = ward.by if ward.knows_who else ""
        body = {"bed": view.bed, "facts": self.answers.facts, "seen": sorted(self.answers.seen)}
        try:
            ward.drafts.keep(Draft(view.stay, by, self.base_version, ward.now, body, PLACE))
        except OSError as refused:
            self.refuse(f"This answer could not be kept on disk ({refused.strerror}); save soon.")

    def offer_draft(self) -> None:
        """If answers of this bed were never saved, ask whether to take them up."""
        draft = self.ward.drafts.offered(self.view.stay, PLACE)
        if draft is None:
            return

        def chosen(key: str | None) -> None:
            if key == "t":
                self.take_up(draft)
            elif key == "d":
                self.ask_to_throw_away(many.lower(), lambda: self.ward.drafts.drop(self.view.stay, PLACE))

        seen = draft.facts.get("seen", ())
        who = f" by {draft.by}" if draft.by else ""
        many = "One answer" if len(seen) == 1 else f"{len(seen)} answers"
        was = "was" if len(seen) == 1 else "were"
        asks = f"{many}{who} from {draft.at:%d %b %H:%M} {was} never saved."
        choices = [("t", "take them up again"), ("d", "throw them away; the last saved record stands")]
        self.app.push_screen(Choose(asks, choices, "Esc leaves them for later."), chosen)

    def take_up(self, draft: Draft) -> None:
        """Put a draft's answers back on the form, over the version they were given for."""
        try:
            facts = {**draft.facts["facts"], "bed": self.view.bed}  # the patient may have moved since
            self.answers.restore(facts, draft.facts["seen"])
        except (RecordRefused, KeyError, TypeError):
            self.refuse(
                "The kept answers cannot be read; they stay on disk, and the last saved record is shown."
            )
            return
        self.base_version = draft.base_version
        self.derive()

    # -- leaving ----------------------------------------------------------------------------------------

    def action_leave_form(self) -> None:
        """Back to the Board; unsaved answers are asked about first."""
        if self.has_class("card-only"):
            self.action_why()
            return
        if not self.answers.touched:
            self.dismiss()
            return

        def throw_away() -> None:
            self.ward.drafts.drop(self.view.stay, PLACE)
            self.dismiss()

        def chosen(key: str | None) -> None:
            if key == "s":
                self.action_save()
            elif key == "k":
                self.dismiss()
            elif key == "d":
                self.ask_to_throw_away("the unsaved answers", throw_away)

        choices = [
            ("s", "save them"),
            ("k", "keep them unsaved; they are offered when the bed is next opened"),
            ("d", "throw them away; the last saved record stands"),
        ]
        self.app.push_screen(Choose(f"Not saved: {self.unsaved}.", choices), chosen)

    # -- saving -----------------------------------------------------------------------------------------

    def save(self) -> None:
        """Save what was answered. Deciding facts nobody looked at again are asked about first."""
        if self.saving:
            return
        if not self.answers.touched:
            key = key_for(Place.RECORD, "confirm_last")
            self.say(
                f"Nothing was answered since the last record; {key}: a section was seen again as it was."
            )
            return
        unconfirmed = self.answers.unconfirmed
        if not unconfirmed:
            self._assessed()
            return
        self._ask_about(unconfirmed)

    def _ask_about(self, paths: tuple[str, ...]) -> None:
        at = self.view.record.assessed_at
        since = f"{at:%d %b %H:%M}" if at else "before"
        bar = self._why_not_all()
        choices = [] if bar else [("enter", "I have seen these again just now, and they are as they were")]
        choices += [("k", f"I have not: save my changes only; the assessment still counts from {since}")]
        choices += [("g", "go to the first of them")]
        detail = f"{self._changed_says()}\n{safe(seen_says(self.answers.facts, self.questions, paths))}"
        detail += f"\n\nThey must be answered one by one: {bar}." if bar else ""

        def chosen(key: str | None) -> None:
            if key == "enter":
                self.answers.confirm(paths)
                self._assessed()
            elif key == "k":
                self._send(self.answers.record)
            elif key == "g":
                self.go_to(next(question.path for question in self.questions if question.path in paths))

        asks = f"{named(self.view.bed, self.view.label)}. Still as recorded {since}:"
        self.app.push_screen(Choose(asks, choices, detail), chosen)

    def _changed_says(self) -> str:
        """Each answer that differs, old and new, and the level they give."""
        changed = [q for q in self.questions if self.answers.get(q.path) != self.answers.was(q.path)]
        told = [
            f"{q.asks}: {answer_says(q, self.answers.was(q.path)) or 'not assessed'} -> "
            f"{answer_says(q, self.answers.get(q.path)) or 'not assessed'}"
            for q in changed
        ]
        gives = f"{self.plan.shown_level.value}, {people_say(self.plan)}"
        return safe(f"Changed: {'; '.join(told)}. It gives {gives}." if told else f"It stays {gives}.")

    def _assessed(self) -> None:
        """Save as a new assessment. A judgement ends with it, unless this person judges so again."""
        record = self.answers.record
        over = record.override
        if over is None or (over.by == self.ward.by and over.at >= self.opened_at):
            self._send(self.ward.assessed_now(self.ward.judged_again(record)))
            return

        def chosen(key: str | None) -> None:
            if key in ("y", "n"):
                kept = self.ward.judged_again(record) if key == "y" else record.changed(override=None)
                self._send(self.ward.assessed_now(kept))

        word = self.station.scheme.looks[over.level].word
        asks = f"Judged {word} by {over.by}, {over.at:%d %b %H:%M}: {over.reason}."
        choices = [("y", f"still so: {word} by my own judgement too"), ("n", "it ends with this assessment")]
        self.app.push_screen(Choose(asks, choices), chosen)

    def _why_not_all(self) -> str:
        """Why facts may not be taken as seen again all at once; empty when they may.

        A deciding fact that was missing is no bar here: it is a question of this very self.
        """
        says = self.ward.why_not_same(self.view)
        return "" if says is None or says.startswith("not assessed") else says

    def _send(self, record: Record) -> None:
        """To the ledger; who takes a precaution off says in whose name."""
        off = taken_off(self.view.record, record)
        if not off:
            self._send_with(record)
            return

        def named(by: str | None) -> None:
            if by:
                self._send_with(ended_by(record, off, self.ward.now.replace(second=0), by))

        says = ", ".join(spaced(item.value) for item in off)
        who = Write(f"{says[0].upper()}{says[1:]} over: who says so, by name", self.ward.by, limit=40)
        self.app.push_screen(who, named)

    def _send_with(self, record: Record) -> None:
        self.saving = True
        self.paint()
        self.run_worker(lambda: self._write_entry(record), thread=True, exclusive=True, group="save")

    def _write_entry(self, record: Record) -> None:
        """In a thread: the entry goes to the ledger, the answer comes back as a message."""
        try:
            settled = self.base_version != self.view.version  # a clash was looked at and answered
            view = self.ward.save(self.view.stay, record, self.base_version, settled=settled)
        except SaveRefused as clash:
            self.post_message(SaveFailed(clash.says, clash))
        except (WardRefused, LedgerError) as refused:
            self.post_message(SaveFailed(refused.says))
        else:
            self.post_message(SaveDone(view))

    def on_save_done(self, message: SaveDone) -> None:
        """On disk: the draft goes, the Board hears of it, the form closes."""
        view = message.bed
        self.ward.drafts.drop(view.stay, PLACE)
        self.tell_saved(view)
        level = self.station.scheme.looks[view.plan.shown_level].word
        door = " Its door card is old now." if view.door is Door.OUT_OF_DATE else ""
        if view.pending:
            self.refuse(f"{view.bed} is held on this station, not yet in the ledger; sent when that is back.")
        else:
            self.say(f"Saved {view.bed}: {level}, {people_say(view.plan)}.{door}{view.late_says}")
        self.dismiss()

    def on_save_failed(self, message: SaveFailed) -> None:
        """Not saved: say why; the answers stay on the form and on disk."""
        self.saving = False
        self.paint()
        if message.clash is None:
            self.refuse(f"{message.says} Your answers are still here.")
            return
        clash = message.clash
        self.app.push_screen(Clash(self.view.bed, clash), lambda answer: self.settle(clash, answer))

    def settle(self, clash: SaveRefused, answer: tuple[str, frozenset[str]] | None) -> None:
        """After a clash: theirs stands, mine goes over it, or both put together and shown once more."""
        if answer is None:
            return
        how, take_theirs = answer
        mine = self.answers.record
        self.base_version = clash.version
        if how == "keep":
            self.save()
            return
        if how == "take":
            self.ward.drafts.drop(self.view.stay, PLACE)
            self.answers = Answers(clash.theirs)
            self.say(f"The record of {clash.by} stands; yours was put aside.")
        else:
            merged = merge(mine, clash.fields, clash.theirs, take_theirs)
            seen = self.answers.seen
            self.answers = Answers(clash.theirs)
            self.answers.restore(merged.as_json(), seen)
            self.keep_draft()
            self.say("Put together. Look it through, then save.")
        self.derive()
