"""A fall's answers: kept on disk one by one, recorded in the ledger stage by stage, taken up again."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from mobicard.derive.model import Plan
from mobicard.facts import RecordRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.fall.asked import Ask
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView, Draft, SaveRefused, WardRefused
from mobicard.ward.bedside.falls import facts_beside

PLACE = "fall"


class FallSaving(PlaceScreen):
    """The answers of one fall, and where they are kept: on disk each, in the ledger stage by stage."""

    view: BedView
    version: int
    answers: dict[str, Any]
    given: list[str]
    began: datetime
    ended: bool
    told: str
    plan: Plan
    at_best: Plan

    @property
    def ask(self) -> Ask | None:
        """The question that stands open."""
        return None if self.ended else fall_steps.next_ask(self.answers, self.plan)

    def keep(self) -> None:
        """Write the answers through to disk, so that a killed terminal loses none."""
        by = self.ward.by if self.ward.knows_who else ""
        body = {
            "bed": self.view.bed,
            "answers": self.answers,
            "given": self.given,
            "began": self.began.isoformat(timespec="minutes"),
        }
        try:
            self.ward.drafts.keep(Draft(self.view.stay, by, self.version, self.ward.now, body, PLACE))
        except OSError as refused:
            self.refuse(f"This answer could not be kept on disk ({refused.strerror}); record it soon.")

    def forget(self) -> None:
        """The answers are recorded or thrown away."""
        self.given = []
        self.ward.drafts.drop(self.view.stay, PLACE)

    def resume(self) -> None:
        """Take up answers that were never recorded; else go on where a recorded fall is still open."""
        if self.view.plan.after_fall is not None:
            self.answers = fall_steps.answers_of(self.view.record)
            self.ended = "up_at" in self.answers
        draft = self.ward.drafts.offered(self.view.stay, PLACE)
        if draft is None:
            return
        try:
            answers = {**self.answers, **draft.facts["answers"]}
            began = datetime.fromisoformat(draft.facts["began"])
            fall_steps.record_with(self.view.record, answers, began)
            given = [name for name in draft.facts["given"] if name in answers]
        except (KeyError, TypeError, ValueError, RecordRefused):
            self.refuse("The kept answers of this fall cannot be read; they stay on disk. Answer again.")
            return
        self.answers, self.began, self.given, self.ended = answers, began, given, False
        who = f" by {draft.by}" if draft.by else ""
        self.say(f"Taken up where it stood at {draft.at:%H:%M}{who}.")

    def write_down(self) -> bool:
        """Record the fall as far as it is answered. False when refused: said, and the answers are kept."""
        try:
            view = self._write_entry()
        except RecordRefused as refused:
            self.refuse("; ".join(str(problem) for problem in refused.problems))
        except (WardRefused, LedgerError) as refused:
            self.refuse(f"{refused.says} The answers are kept on this station.")
        else:
            self.view, self.version = view, view.version
            self.forget()
            for screen in self.app.screen_stack:
                if screen is not self:
                    screen.post_message(BedSaved(view))
            return True
        return False

    def _write_entry(self) -> BedView:
        """The fall over whatever the ledger holds now: who saved meanwhile keeps what they changed."""
        ward, stay = self.ward, self.view.stay
        event = fall_steps.event_of(self.answers, self.began)
        beside = facts_beside(self.view.record, self.answers)
        try:
            return ward.fell(stay, event, self.version, beside)
        except SaveRefused as faster:
            beside = facts_beside(faster.theirs, self.answers)
            return ward.fell(stay, event, faster.version, beside)
