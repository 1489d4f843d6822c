"""Saving a form: what to ask first, the draft on disk till then, and what to do when somebody was faster."""

from __future__ import annotations

from typing import TYPE_CHECKING

from mobicard.facts import Record, RecordRefused
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, ask_to_throw_away
from mobicard.terminal.looks import people_say
from mobicard.terminal.messages import BedSaved, SaveDone, SaveFailed
from mobicard.terminal.record.form.answers import Answers
from mobicard.ward import BedView, Door, Draft, SaveRefused, WardRefused

if TYPE_CHECKING:
    from mobicard.terminal.record.screen import RecordForm

PLACE = "record"


# -- drafts -----------------------------------------------------------------------------------------


def keep_draft(form: RecordForm) -> None:
    """Write the answers through to disk, so that a killed terminal loses none."""
    ward, view = form.ward, form.view
    by = ward.by if ward.knows_who else ""
    body = {"bed": view.bed, "facts": form.answers.facts, "seen": sorted(form.answers.seen)}
    try:
        ward.drafts.keep(Draft(view.stay, by, form.base_version, ward.now, body, PLACE))
    except OSError as refused:
        form.refuse(f"This answer could not be kept on disk ({refused.strerror}); save soon.")


def offer_draft(form: RecordForm) -> None:
    """If answers of this bed were never saved, ask whether to take them up."""
    draft = form.ward.drafts.offered(form.view.stay, PLACE)
    if draft is None:
        return

    def chosen(key: str | None) -> None:
        if key == "t":
            take_up(form, draft)
        elif key == "d":
            ask_to_throw_away(form, many.lower(), lambda: form.ward.drafts.drop(form.view.stay, PLACE))

    seen = draft.facts.get("seen", ())
    who = f" by {draft.by}" if draft.by else ""
    many = "One answer" if len(seen) == 1 else f"{len(seen)} answers"
    was = "was" if len(seen) == 1 else "were"
    asks = f"{many}{who} from {draft.at:%d %b %H:%M} {was} never saved."
    choices = [("t", "take them up again"), ("d", "throw them away; the last saved record stands")]
    form.app.push_screen(Choose(asks, choices, "Esc leaves them for later."), chosen)


def take_up(form: RecordForm, draft: Draft) -> None:
    """Put a draft's answers back on the form, over the version they were given for."""
    try:
        facts = {**draft.facts["facts"], "bed": form.view.bed}  # the patient may have moved since
        form.answers.restore(facts, draft.facts["seen"])
    except (RecordRefused, KeyError, TypeError):
        form.refuse("The kept answers cannot be read; they stay on disk, and the last saved record is shown.")
        return
    form.base_version = draft.base_version
    form.derive()


# -- leaving ----------------------------------------------------------------------------------------


def leave(form: RecordForm) -> None:
    """Back to the Board; unsaved answers are asked about first."""
    if form.has_class("card-only"):
        form.action_big_card()
        return
    if not form.answers.touched:
        form.dismiss()
        return

    def throw_away() -> None:
        form.ward.drafts.drop(form.view.stay, PLACE)
        form.dismiss()

    def chosen(key: str | None) -> None:
        if key == "s":
            form.action_save()
        elif key == "k":
            form.dismiss()
        elif key == "d":
            ask_to_throw_away(form, "the unsaved answers", throw_away)

    choices = [
        ("s", "save them"),
        ("k", "keep them unsaved; they are offered when the bed is next opened"),
        ("d", "throw them away; the last saved record stands"),
    ]
    form.app.push_screen(Choose(f"Not saved: {form.unsaved}.", choices), chosen)


# -- saving -----------------------------------------------------------------------------------------


def save(form: RecordForm) -> None:
    """Save what was answered. Deciding facts nobody looked at again are asked about first."""
    if form.saving:
        return
    if not form.answers.touched:
        form.say("Nothing was answered since the last record; F5 says a section was seen again as it was.")
        return
    unconfirmed = form.answers.unconfirmed
    if not unconfirmed:
        _send(form, form.ward.assessed_now(form.answers.record))
        return
    _ask_about(form, unconfirmed)


def _ask_about(form: RecordForm, paths: tuple[str, ...]) -> None:
    names = [question.asks for question in form.questions if question.path in paths]
    at = form.view.record.assessed_at
    since = f"{at:%d %b %H:%M}" if at else "before"
    bar = _why_not_all(form)
    choices = [] if bar else [("enter", "I have seen these again just now, and they are as they were")]
    choices += [("k", f"I have not: save my changes only; the assessment still counts from {since}")]
    choices += [("g", "go to the first of them")]
    detail = "; ".join(names) + (f"\n\nThey must be answered one by one: {bar}." if bar else "")

    def chosen(key: str | None) -> None:
        if key == "enter":
            form.answers.confirm(paths)
            _send(form, form.ward.assessed_now(form.answers.record))
        elif key == "k":
            _send(form, form.answers.record)
        elif key == "g":
            form.go_to(next(question.path for question in form.questions if question.path in paths))

    form.app.push_screen(Choose(f"Still as recorded {since}:", choices, detail), chosen)


def _why_not_all(form: RecordForm) -> str:
    """Why facts may not be taken as seen again all at once; empty when they may.

    A deciding fact that was missing is no bar here: it is a question of this very form.
    """
    says = form.ward.why_not_same(form.view)
    return "" if says is None or says.startswith("not assessed") else says


def _send(form: RecordForm, record: Record) -> None:
    form.saving = True
    form.paint()
    form.run_worker(lambda: _write(form, record), thread=True, exclusive=True, group="save")


def _write(form: RecordForm, record: Record) -> None:
    """In a thread: the entry goes to the ledger, the answer comes back as a message."""
    try:
        view = form.ward.save(form.view.stay, record, form.base_version)
    except SaveRefused as clash:
        form.post_message(SaveFailed(clash.says, clash))
    except (WardRefused, LedgerError) as refused:
        form.post_message(SaveFailed(refused.says))
    else:
        form.post_message(SaveDone(view))


def done(form: RecordForm, view: BedView) -> None:
    """On disk: the draft goes, the Board hears of it, the form closes."""
    form.ward.drafts.drop(view.stay, PLACE)
    for screen in form.app.screen_stack:
        if screen is not form:
            screen.post_message(BedSaved(view))
    level = form.station.scheme.looks[view.plan.shown_level].word
    door = " Its door card is old now." if view.door is Door.OUT_OF_DATE else ""
    if view.pending:
        form.refuse(f"{view.bed} is held on this station, not yet in the ledger; sent when that is back.")
    else:
        form.say(f"Saved {view.bed}: {level}, {people_say(view.plan)}.{door}")
    form.dismiss()


def failed(form: RecordForm, message: SaveFailed) -> None:
    """Not saved: say why; the answers stay on the form and on disk."""
    form.saving = False
    form.paint()
    if message.clash is None:
        form.refuse(f"{message.says} Your answers are still here.")
        return
    from mobicard.terminal.record.clash import Clash

    clash = message.clash
    form.app.push_screen(Clash(form.view.bed, clash), lambda answer: settle(form, clash, answer))


def settle(form: RecordForm, clash: SaveRefused, answer: tuple[str, frozenset[str]] | None) -> None:
    """After a clash: theirs stands, mine goes over it, or the two are put together and shown once more."""
    from mobicard.ward import merge

    if answer is None:
        return
    how, take_theirs = answer
    mine = form.answers.record
    form.base_version = clash.version
    if how == "keep":
        save(form)
        return
    if how == "take":
        form.ward.drafts.drop(form.view.stay, PLACE)
        form.answers = Answers(clash.theirs)
        form.say(f"The record of {clash.by} stands; yours was put aside.")
    else:
        merged = merge(mine, clash.fields, clash.theirs, take_theirs)
        seen = form.answers.seen
        form.answers = Answers(clash.theirs)
        form.answers.restore(merged.as_json(), seen)
        keep_draft(form)
        form.say("Put together. Look it through, then save.")
    form.derive()
