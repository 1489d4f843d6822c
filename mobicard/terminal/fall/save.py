"""A fall's answers: kept on disk one by one, recorded in the ledger stage by stage, taken up again."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from mobicard.facts import RecordRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.messages import BedSaved
from mobicard.ward import BedView, Draft, SaveRefused, WardRefused

if TYPE_CHECKING:
    from mobicard.terminal.fall.screen import Fall

PLACE = "fall"


def keep(fall: Fall) -> None:
    """Write the answers through to disk, so that a killed terminal loses none."""
    by = fall.ward.by if fall.ward.knows_who else ""
    body = {
        "bed": fall.view.bed,
        "answers": fall.answers,
        "given": fall.given,
        "began": fall.began.isoformat(timespec="minutes"),
    }
    try:
        fall.ward.drafts.keep(Draft(fall.view.stay, by, fall.version, fall.ward.now, body, PLACE))
    except OSError as refused:
        fall.refuse(f"This answer could not be kept on disk ({refused.strerror}); record it soon.")


def forget(fall: Fall) -> None:
    """The answers are recorded or thrown away."""
    fall.given = []
    fall.ward.drafts.drop(fall.view.stay, PLACE)


def resume(fall: Fall) -> None:
    """Take up answers that were never recorded; else go on where a recorded fall is still open."""
    if fall.view.plan.after_fall is not None:
        fall.answers = fall_steps.answers_of(fall.view.record)
        fall.ended = "up_at" in fall.answers
    draft = fall.ward.drafts.offered(fall.view.stay, PLACE)
    if draft is None:
        return
    try:
        answers = {**fall.answers, **draft.facts["answers"]}
        began = datetime.fromisoformat(draft.facts["began"])
        fall_steps.record_with(fall.view.record, answers, began)
        given = [name for name in draft.facts["given"] if name in answers]
    except (KeyError, TypeError, ValueError, RecordRefused):
        fall.refuse("The kept answers of this fall cannot be read; they stay on disk. Answer again.")
        return
    fall.answers, fall.began, fall.given, fall.ended = answers, began, given, False
    who = f" by {draft.by}" if draft.by else ""
    fall.say(f"Taken up where it stood at {draft.at:%H:%M}{who}.")


def record(fall: Fall) -> bool:
    """Record the fall as far as it is answered. False when it was refused: said, and the answers are kept."""
    try:
        view = _write(fall)
    except RecordRefused as refused:
        fall.refuse("; ".join(str(problem) for problem in refused.problems))
    except (WardRefused, LedgerError) as refused:
        fall.refuse(f"{refused.says} The answers are kept on this station.")
    else:
        fall.view, fall.version = view, view.version
        forget(fall)
        for screen in fall.app.screen_stack:
            if screen is not fall:
                screen.post_message(BedSaved(view))
        return True
    return False


def _write(fall: Fall) -> BedView:
    """The fall over whatever the ledger holds now: who saved meanwhile keeps what they changed."""
    ward, stay = fall.ward, fall.view.stay
    event = fall_steps.event_of(fall.answers, fall.began)
    beside = fall_steps.facts_beside(fall.view.record, fall.answers)
    try:
        return ward.fell(stay, event, fall.version, beside)
    except SaveRefused as faster:
        beside = fall_steps.facts_beside(faster.theirs, fall.answers)
        return ward.fell(stay, event, faster.version, beside)
