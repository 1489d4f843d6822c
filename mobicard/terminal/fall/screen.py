"""After a fall: one question at a time, one key an answer; what may be done is derived from every answer."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.containers import Container
from textual.widgets import Static

from mobicard.derive.model import Plan
from mobicard.facts.text import typed_time
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.card.why import Why
from mobicard.terminal.commands import Place, bindings, key_for
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.fall.asked import ME, TYPE_IT, UNKNOWN, Ask
from mobicard.terminal.fall.examined import last_of
from mobicard.terminal.fall.head import ask_head
from mobicard.terminal.fall.lines import TALL, question_text, state_text
from mobicard.terminal.fall.save import FallSaving
from mobicard.terminal.looks import CAPS_LOCK, safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.round.form import AskedForm, all_deciding
from mobicard.ward import BedView
from mobicard.ward.bedside.falls import EXAMINED

A_DAY = timedelta(days=1)
"""The furthest back that a fall typed here may lie; more is a slip of the hand."""


class Fall(FallSaving):
    """Holds the answers of one fall; every one is on disk before the next question shows."""

    PLACE = Place.FALL
    BINDINGS = bindings(Place.FALL)

    def __init__(self, view: BedView) -> None:
        super().__init__()
        self.view = view
        self.version = view.version
        self.answers: dict[str, Any] = {}
        self.given: list[str] = []
        self.ended = False
        self.told = ""

    def body(self) -> ComposeResult:
        with Container(id="fall"):
            yield Static("", id="fall-ask")
            yield Static("", id="fall-state")

    def on_mount(self) -> None:
        self.began: datetime = self.ward.now.replace(second=0)
        if not self.ward.may("fall"):
            super().refuse("A fall is recorded by a nurse; your role reads and prints. Call one now.")
            self.dismiss()
            return
        self._read_fresh()
        self.resume()
        self.derive()

    def _read_fresh(self) -> None:
        """The bed as the ledger has it now; as last shown when the ledger does not answer."""
        try:
            self.view = self.ward.bed(self.view.stay)
        except LedgerError as gone:
            self.refuse(gone.says)
        self.version = self.view.version

    # -- what is shown -----------------------------------------------------------------------------

    def minute_passed(self) -> None:
        """What may be done at this minute; what another station saved meanwhile is met when this is saved."""
        with suppress(LedgerError):
            now = self.ward.bed(self.view.stay)
            self.view = now if now.version == self.version else self.view
        self.derive()

    @property
    def unsaved(self) -> str:
        return f"{self.view.bed}, a fall with {len(self.given)} answers" if self.given else ""

    def refuse(self, says: str) -> None:
        """Said under the answers: nothing may cover what may be done."""
        self.told = says
        if hasattr(self, "plan"):
            self.paint()

    def say(self, says: str) -> None:
        self.refuse(says)

    def derive(self) -> None:
        """The plan the answers give so far, then everything shown again."""
        record = fall_steps.record_with(self.view.record, self.answers, self.began)
        at_best = fall_steps.record_with(self.view.record, {**fall_steps.BEST, **self.answers}, self.began)
        self.plan: Plan = self.view.plan if self.ended else self.ward.preview(record)
        self.at_best: Plan = self.ward.preview(at_best)
        self.paint()

    def paint(self) -> None:
        label = f" {safe(self.view.label)}" if self.view.label else ""
        self.banner.about = f"{self.view.bed}{label}"
        self.banner.state = f"{len(self.given)} answered, not recorded" if self.given else ""
        room = self.app.size
        self.set_class(room.height >= TALL, "tall")
        self.query_one("#fall-ask", Static).update(question_text(self, room.width, room.height))
        self.query_one("#fall-state", Static).update(state_text(self, room.width))

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted and hasattr(self, "plan"):
            self.paint()

    # -- answering ---------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        ask = self.ask
        key = (event.character or "").lower()
        if ask is None or not key.isalnum():
            return
        event.stop()
        found = [value for letter, _, value in ask.choices if letter == key]
        if not found:
            self.refuse(f"{key} is no answer here.")
        elif found[0] == TYPE_IT:
            self._ask_words(ask)
        elif found[0] == ME:
            self.with_initials(lambda: self.take(ask, self.ward.by))
        else:
            self.take(ask, found[0])
        if event.character != key:
            self.refuse(CAPS_LOCK)

    def take(self, ask: Ask, value: Any) -> None:
        """Keep an answer, on disk first, then show what follows; what must be known at once is recorded."""
        if ask.name in ("cleared_by", "up_at") and value == UNKNOWN:
            self.action_save()
            return
        if ask.name == "cleared_by" and self._too_soon():
            return
        self.told = ""
        self.answers[ask.name] = value
        if ask.name == "up_at":
            self.answers["up_at"] = self._now_text()
        if ask.name == "cleared_by":
            self.answers["cleared_at"] = self._now_text()
        self.given.append(ask.name)
        self.keep()
        self.derive()
        if ask is fall_steps.FIRST[-1] or ask.name in ("cleared_by", "up_at") or self._examined_by(ask):
            self.with_initials(self.record)

    def _examined_by(self, ask: Ask) -> bool:
        """Whether this was the examination's last answer."""
        return ask.name in EXAMINED and last_of(self.answers)

    def _too_soon(self) -> bool:
        """Whether it is still the minute of the fall, when nobody can have examined the patient."""
        at = fall_steps.moment(self.answers["at"], self.began)
        if self.ward.now.replace(second=0) > at:
            return False
        self.refuse(f"It is still {at:%H:%M}, the minute of the fall: examine first, then answer.")
        return True

    def _now_text(self) -> str:
        return self.ward.now.replace(second=0).isoformat(timespec="minutes")

    def _ask_words(self, ask: Ask) -> None:
        if ask.name == "at":
            self.app.push_screen(
                Write(
                    "The time it happened, like 0640 or -20 (minutes ago)", limit=30, check=self._time_says
                ),
                self._timed,
            )
            return
        asks = "Who examined the patient and allowed the move? Name or initials"
        self.app.push_screen(Write(asks, limit=40), lambda text: self.take(ask, text) if text else None)

    def _time_says(self, text: str) -> str:
        """Why this is no time of a fall: none at all, still to come, or more than a day ago."""
        try:
            since = self.ward.now - typed_time(text, self.ward.now)
        except ValueError as refused:
            return str(refused)
        if since < timedelta():
            return "that has not come yet"
        return "more than a day ago: “mobicard fall --at” takes that" if since > A_DAY else ""

    def _timed(self, text: str | None) -> None:
        if text:
            at = typed_time(text, self.ward.now)
            self.take(fall_steps.EVERY["at"], at.isoformat(timespec="minutes"))

    def record(self) -> None:
        """Put what is answered into the ledger; when the patient is up, the fall's form ends."""
        if not self.write_down():
            return
        self.ended = "up_at" in self.answers and fall_steps.next_ask(self.answers, self.plan) is None
        self.derive()

    # -- commands ----------------------------------------------------------------------------------

    def action_undo(self) -> None:
        if not self.given:
            self.say("What is recorded stays; nothing new was answered.")
            return
        name = self.given.pop()
        self.answers.pop(name, None)
        if name == "cleared_by":
            self.answers.pop("cleared_at", None)
        self.keep()
        self.derive()

    def action_save(self) -> None:
        self.with_initials(self._record_and_leave)

    def _record_and_leave(self) -> None:
        if self.given or not self._is_recorded:
            self.record()
        if not self.given:
            self.dismiss()

    @property
    def _is_recorded(self) -> bool:
        return self.view.record.fall_event is not None and self.view.plan.after_fall is not None

    def action_go_on(self) -> None:
        """Once the patient is up: the forced new assessment."""
        if not self.ended:
            self.say("One of the letters answers; Esc leaves.")
            return
        fall = self.view.plan.after_fall
        if fall is not None and not fall.ends_by_a_look:
            key = key_for(Place.FALL, "examine_again")
            self.say(f"{fall.says}. {key} says what was found when the patient was examined again.")
            return
        view = self.view
        self.dismiss()
        self.app.push_screen(AskedForm(view, all_deciding(view)))

    def action_examine_again(self) -> None:
        """Ask the neck and the examination anew: a clearing that cannot be right, an injury settled."""
        if "cleared_by" not in self.answers:
            self.say("Nobody has examined the patient yet; that is asked in its turn.")
            return
        for name in ("neck_pain", *EXAMINED):
            self.answers.pop(name, None)
        self.given = [name for name in self.given if name in self.answers]
        self.ended, self.told = False, ""
        self.keep()
        self.derive()

    def action_why(self) -> None:
        self.app.push_screen(Why(replace(self.view, plan=self.plan)))

    def action_head(self) -> None:
        ask_head(self, self.view)

    def on_bed_saved(self, message: BedSaved) -> None:
        """A head observation was noted over this screen: what was answered goes on over it."""
        if message.bed.stay == self.view.stay:
            self.view, self.version = message.bed, message.bed.version
            self.derive()

    def action_another(self) -> None:
        """A new fall of the same patient while an earlier one is still open."""

        def sure(key: str | None) -> None:
            if key == "y":
                self.answers, self.given, self.ended = {}, [], False
                self.began = self.ward.now.replace(second=0)
                self.derive()

        asks = f"Has the patient of {self.view.bed} fallen again?"
        self.app.push_screen(Choose(asks, [("y", "yes, ask from the start"), ("n", "no")]), sure)

    def action_leave_fall(self) -> None:
        if not self.given:
            self.dismiss()
            return

        def throw_away() -> None:
            self.forget()
            self.dismiss()

        def chosen(key: str | None) -> None:
            if key == "s":
                self.action_save()
            elif key == "k":
                self.dismiss()
            elif key == "d":
                self.ask_to_throw_away("the answers", throw_away)

        choices = [
            ("s", "record it as far as it is known; what is not known counts as the worse"),
            ("k", "keep the answers; they come back when After a fall is opened for this bed"),
            ("d", "throw them away: there was no fall"),
        ]
        self.app.push_screen(Choose("This fall is not recorded yet.", choices), chosen)
