"""The Record: one bed's questions at the left, the derived card alive beside them."""

from __future__ import annotations

from typing import Any

from textual import events
from textual.app import ComposeResult
from textual.containers import Container
from textual.widgets import OptionList

from mobicard.derive.model import Plan
from mobicard.facts import Record, RecordRefused
from mobicard.hands.outcomes import Outcome, offered, outcomes, said
from mobicard.terminal.asking import Write
from mobicard.terminal.brief.asking import ask_brief
from mobicard.terminal.commands import Place, bindings, key_for
from mobicard.terminal.looks import named, safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.choices import language_says
from mobicard.terminal.record.form.fall_items import fall_questions, instrument_for
from mobicard.terminal.record.form.keys import Step, answered_by
from mobicard.terminal.record.form.questions import Kind, Question, Section, with_instrument
from mobicard.terminal.record.lines import conflicts_at, heading, question_line
from mobicard.terminal.record.save import RecordSaving
from mobicard.terminal.widgets.form_list import FormList
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.terminal.widgets.section_tabs import SectionTabs
from mobicard.ward import BedView


class RecordForm(RecordSaving):
    """Holds the answers; the list and the card only show them. ``at`` is the question to start on."""

    PLACE = Place.RECORD
    BINDINGS = bindings(Place.RECORD)

    def __init__(self, view: BedView, at: str | None = None) -> None:
        super().__init__()
        self.view = view
        self.base_version = view.version
        self.answers = Answers(view.record)
        self.plan: Plan = view.plan
        self.typed = self.problem = self._sought = ""
        self.saving, self._start = False, at

    def body(self) -> ComposeResult:
        yield SectionTabs()
        with Container(id="panes"):
            yield FormList(id="form")
            yield PlanCard(id="card")

    def on_mount(self) -> None:
        self.opened_at = self.ward.now.replace(second=0)
        self.instrument = instrument_for(self.view.record, self.ward.policy)
        self.questions = with_instrument(fall_questions(self.instrument))
        self._by_path = {question.path: question for question in self.questions}
        self._sections = {question.section.key: question.section for question in self.questions}
        self.went = outcomes(self.view.ticks, self.view.recorded_at)
        self.current = self._start or self.questions[0].path
        self.typed = offered(self._outcome(self.current))
        self.paint()
        self._form.mark(self.current)
        self._form.focus()
        self.note_seen(self.view.stay)
        if not self.ward.may("record"):
            self.refuse("Your role looks and prints; a nurse records.")
        self.offer_draft()

    # -- what is shown -----------------------------------------------------------------------------

    @property
    def question(self) -> Question:
        """The marked question."""
        return self._by_path[self.current]

    @property
    def unsaved(self) -> str:
        many = len(self.answers.seen)
        says = f"{self.view.bed}, {many} answer{'' if many == 1 else 's'}"
        return says if self.answers.touched else ""

    @property
    def _form(self) -> FormList:
        return self.query_one(FormList)

    @property
    def _card(self) -> PlanCard:
        return self.query_one(PlanCard)

    def paint(self) -> None:
        """Show the answers and the plan as they stand now."""
        width = max((self._form.size.width or self.app.size.width) - 3, 40)
        lines: list[tuple[str | None, Any]] = []
        section: Section | None = None
        for question in self.questions:
            if question.section != section:
                section = question.section
                lines.append((None, heading(section)))
            marked = question.path == self.current
            line = question_line(
                question,
                self.answers,
                marked=marked,
                typed=self.typed,
                problem=self.problem,
                went=said(self._outcome(question.path)),
                conflicts=conflicts_at(question, self.plan.conflicts),
                width=width,
            )
            lines.append((question.path, line))
        self._form.show(lines)
        self.query_one(SectionTabs).show(list(self._sections.values()), self.question.section)
        self._card.show(self.plan)
        self.banner.about = named(self.view.bed, self.view.label)
        self.banner.state = self._state_says()

    def _state_says(self) -> str:
        if self.saving:
            return "saving ..."
        if self.answers.touched:
            undo = f"; {key_for(Place.RECORD, 'undo')} undoes" if len(self.answers.seen) == 1 else ""
            return f"{len(self.answers.seen)} answered, not saved{undo}"
        at, by = self.view.record.assessed_at, self.view.record.assessed_by
        return f"last {at:%d %b %H:%M} {by or ''}" if at else "first assessment"

    def derive(self) -> None:
        """The plan these answers give, then everything shown again."""
        record = self.answers.record
        stamped = (
            record.changed(assessed_at=self.ward.now.replace(second=0)) if self.answers.touched else record
        )
        self.plan = self.ward.preview(stamped)
        self.paint()

    def minute_passed(self) -> None:
        self.derive()

    # -- answering ---------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if self.focused is not self._form or self.saving:
            return
        self._catch_up()
        key = event.character if event.is_printable and event.character else event.key
        if len(key) == 1 and key.isupper():
            event.stop()
            self._go_to_section(key)
        elif key == "enter" or len(key) == 1:
            step = answered_by(self.question, self.typed, key, self.answers.get(self.current))
            if step is not None:
                event.stop()
                self.take(step)
            elif key == "enter":
                event.stop()
                self._enter()
            elif key.isalnum():
                event.stop()
                self._complain(f"{key} is no answer here")

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()

    def _enter(self) -> None:
        if self.typed:
            self.typed = ""
            self.paint()
        else:
            self.go_on()

    def take(self, step: Step) -> None:
        """Do what a key came to: half an answer, a whole one, a refusal, or words to be typed."""
        self.typed, self.problem = step.typed, step.says
        if step.ask:
            self._ask_words(step.typed)
        elif step.done:
            self.answer(self.current, step)
        else:
            self.paint()

    def answer(self, path: str, step: Step) -> None:
        """Keep an answer, on disk too, and derive anew; a refused one is said at the question."""
        also: list[tuple[str, Any]] = []
        if path.startswith("help."):
            also.append((path.replace("help.", "helpers_used."), step.helpers))
        if path.startswith("vitals."):
            also.append(("vitals.at", self.ward.now.replace(second=0).isoformat(timespec="minutes")))
        if path.startswith("fall_risk."):
            also.append(("fall_risk.instrument", self.instrument.id))
        try:
            self.answers.put(path, step.value, *also)
        except RecordRefused as refused:
            self._complain(refused.problems[0].says)
            return
        self.keep_draft()
        if step.on:
            self._mark_next()
        self.derive()
        if step.on:
            self._form.mark(self.current)

    def _complain(self, says: str) -> None:
        self.problem = says
        self.paint()
        self._form.mark(self.current)

    def _ask_words(self, about: str) -> None:
        question = self.question
        self.typed = ""
        note = about == ":"
        asks = "Note to the last line" if note else f"{question.asks}, in words"
        now = self.answers.get(question.path)
        value = str(now) if question.kind in (Kind.TEXT, Kind.ONE) and now else ""
        begun = question.kind is Kind.TEXT
        value = f"{value} {about}".lstrip() if begun else value
        check = language_says if question.path == "communication.language" else None
        limit = 160 if note or question.kind is Kind.TEXT else 60
        self.app.push_screen(
            Write(asks, value, limit=limit, check=check, begun=begun), lambda text: self._worded(text, note)
        )

    def _worded(self, text: str | None, note: bool) -> None:
        if not text:
            return
        now = self.answers.get(self.current)
        step = Step(done=True, value=text)
        if self.question.kind is Kind.LINES:
            value = [*now[:-1], {**now[-1], "note": text}] if note else [*(now or []), {"kind": text}]
            self.typed = "" if note else "side"
            step = Step(done=True, value=value, on=False)
        elif self.question.kind in (Kind.NAMES, Kind.MANY):
            step = Step(done=True, value=[*(now or []), text], on=False)
        self.answer(self.current, step)

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text goes where words or figures are asked; elsewhere it would be keys pressed blindly."""
        text = safe(event.text)
        if self.question.kind in (Kind.MASS, Kind.LENGTH, Kind.PRESSURE, Kind.NUMBER):
            for char in text.replace(" kg", "k").replace(" lb", "l").replace(" cm", "c"):
                if (step := answered_by(self.question, self.typed, char, None)) is not None:
                    self.take(step)
        elif self.question.kind is Kind.TEXT:
            self._ask_words(text)
        else:
            self._complain("pasted text is not taken here: press the letter of an answer")

    # -- moving about ------------------------------------------------------------------------------

    def on_option_list_option_highlighted(self, event: OptionList.OptionHighlighted) -> None:
        self._catch_up()

    def _catch_up(self) -> None:
        """Take the marked question from the list itself: its messages come later than the next key may."""
        path = self._form.marked
        if path and path != self.current:
            self.go_to(path)

    def go_to(self, path: str) -> None:
        """Mark a question; what stood half-written at the last one is dropped."""
        self.current, self.typed, self.problem = path, offered(self._outcome(path)), ""
        self.paint()
        self._form.mark(path)

    def go_on(self) -> None:
        """To the next question."""
        self._mark_next()
        self.go_to(self.current)

    def _mark_next(self) -> None:
        paths = [question.path for question in self.questions]
        self.current = paths[min(paths.index(self.current) + 1, len(paths) - 1)]
        self.typed, self.problem = offered(self._outcome(self.current)), ""

    def _outcome(self, path: str) -> Outcome | None:
        """How the move of this question went since the last look, until it is answered."""
        return None if path in self.answers.seen else self.went.get(path.removeprefix("help."))

    def _go_to_section(self, key: str) -> None:
        first = next((q.path for q in self.questions if q.section.key == key), None)
        if first is None:
            self._complain(f"no section {key}; is Caps Lock on?")
        else:
            self.go_to(first)

    def _step_section(self, by: int) -> None:
        keys = list(self._sections)
        place = keys.index(self.question.section.key) + by
        self._go_to_section(keys[place % len(keys)])

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted:
            self.call_after_refresh(self.paint)

    # -- commands ----------------------------------------------------------------------------------

    def action_save(self) -> None:
        self.with_initials(self.save)

    def action_next_section(self) -> None:
        self._step_section(1)

    def action_previous_section(self) -> None:
        self._step_section(-1)

    def action_undo(self) -> None:
        path = self.answers.undo()
        if path is None:
            self.say("There is nothing to take back.")
            return
        self.keep_draft()
        self.typed = self.problem = ""
        self.current = path if path in self._by_path else self.current
        self.derive()
        self._form.mark(self.current)

    def action_clear_answer(self) -> None:
        if self.typed:
            self.typed = self.typed[:-1] if self.question.kind is not Kind.LINES else ""
            self.paint()
        elif self.answers.get(self.current) is not None:
            value = self.answers.get(self.current)
            fewer = value[:-1] if isinstance(value, list) else None
            self.answer(self.current, Step(done=True, value=fewer or None, on=False))

    def action_confirm_last(self) -> None:
        key = self.question.section.key
        if self.answers.confirm(q.path for q in self.questions if q.section.key == key):
            self.keep_draft()
        self._step_section(1)
        self.derive()

    def action_to_card(self) -> None:
        self._card.focus()
        if self._card.highlighted is None:
            self._card.action_first()

    def action_to_form(self) -> None:
        self.remove_class("card-only")
        self._form.focus()

    def action_why(self) -> None:
        self.toggle_class("card-only")
        (self._card if self.has_class("card-only") else self._form).focus()

    def action_find(self) -> None:
        def found(text: str | None) -> None:
            if text:
                self._sought = text
                hits = [q.path for q in self._from_here() if text.casefold() in q.asks.casefold()]
                self.go_to(hits[0]) if hits else self._complain(f"no question has “{text}” in it")

        self.app.push_screen(Write("To the next question with the word", self._sought, limit=30), found)

    def _from_here(self) -> list[Question]:
        """Every question, from the one after the mark on and round to it."""
        here = next((at for at, one in enumerate(self.questions) if one.path == self.current), -1)
        return [*self.questions[here + 1 :], *self.questions[: here + 1]]

    def action_fall(self) -> None:
        self.station.go(Place.FALL, self.view)

    def action_override(self) -> None:
        self.station.go(Place.OVERRIDE, self.view)

    def action_brief(self) -> None:
        ask_brief(self, self.view)

    # -- the ledger --------------------------------------------------------------------------------

    def on_bed_saved(self, message: BedSaved) -> None:
        """The bed was saved elsewhere in this terminal; a form nobody answered on starts from that.

        Answers not yet saved go on over a judgement, a fall or a head observation; a clash settles the rest.
        """
        bed = message.bed
        if bed.stay != self.view.stay:
            return
        if not self.answers.touched:
            self.view, self.base_version = bed, bed.version
            self.answers, self.plan = Answers(bed.record), bed.plan
            self.paint()
        elif self.base_version == self.view.version and _only_beside(self.view.record, bed.record):
            self.view, self.base_version = bed, bed.version
            for name in _BESIDE:
                self.answers.take_over(name, bed.record.as_json().get(name))
            self.keep_draft()
            self.derive()


_BESIDE = ("override", "head_watch", "fall_event")
"""Facts other places write, which no question of this form touches."""


def _only_beside(old: Record, new: Record) -> bool:
    """Whether two records differ in nothing but what other places write."""
    nothing: dict[str, Any] = dict.fromkeys(_BESIDE)
    return old.changed(**nothing) == new.changed(**nothing)
