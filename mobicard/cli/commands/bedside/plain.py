"""``mobicard record BED --plain``: the record as questions and answers, line after line, no screen taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import click

from mobicard.cli.beds import tell_saved
from mobicard.cli.by_line import LineRefused, answer_from, ask, question_says
from mobicard.cli.plan_text import plan_text
from mobicard.cli.station import Refused, Station
from mobicard.derive.over_time.standing_orders import ended_by, taken_off
from mobicard.facts import Record, RecordRefused
from mobicard.facts.text import harmless
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.fall_items import fall_questions, instrument_for
from mobicard.terminal.record.form.keys import Step
from mobicard.terminal.record.form.questions import Question, with_instrument
from mobicard.terminal.record.form.shown import seen_says
from mobicard.ward import BedView, Draft, Ward

PLACE = "record"
HOW = """\
Enter leaves a question as it stands. A letter, or the words beside it, answers.
- not assessed     = this section was seen again and is as last recorded     < the question before
/word to a question     * the plan so far     . finish and save     ? this again
Ctrl+C stops; what was answered is kept and offered again."""


@dataclass
class Walk:
    """One bed being recorded: where it stands, and everything answered so far."""

    station: Station
    ward: Ward
    view: BedView
    answers: Answers = field(init=False)
    questions: Sequence[Question] = field(init=False)
    at: int = 0
    base: int = field(init=False)

    def __post_init__(self) -> None:
        self.base = self.view.version
        self.answers = Answers(self.view.record)
        self.instrument = instrument_for(self.view.record, self.ward.policy)
        self.questions = with_instrument(fall_questions(self.instrument))

    @property
    def record(self) -> Record:
        """What the answers come to, as of now where anything was answered."""
        record = self.answers.record
        return record.changed(assessed_at=self.ward.now.replace(second=0)) if self.answers.touched else record

    def plan_says(self) -> str:
        """The plan of the answers so far, to be read aloud."""
        plan = self.ward.preview(self.record)
        return plan_text(plan, self.record, self.station.settings.scheme, signs=False)


def record_by_line(station: Station, bed: str) -> None:
    """Record one bed from start to card on standard input and output. Raises Refused, LedgerError."""
    ward = station.signed_in("record")
    walk = Walk(station, ward, _patient(ward, bed))
    click.echo(harmless(f"{walk.view.bed} {walk.view.label or ''}. {len(walk.questions)} questions.\n{HOW}"))
    try:
        _take_up(walk)
        _questions(walk)
        saved = _saved(walk)
    except (EOFError, KeyboardInterrupt):
        raise Refused("stopped before it was saved; the answers are kept and offered again") from None
    if saved is None:
        click.echo("Nothing was answered; nothing was saved.")
        return
    tell_saved(station, saved, False, "recorded")
    click.echo(plan_text(saved.plan, saved.record, station.settings.scheme, signs=False))
    _cards(saved)


def _patient(ward: Ward, bed: str) -> BedView:
    view = ward.find(bed)
    if view is not None:
        return view
    try:
        label = ask(f"{bed} is free. Initials of the patient to admit there; Enter leaves it free.")
    except EOFError:
        label = ""
    if not label:
        raise Refused(f"{bed} is free; nothing was recorded")
    return ward.stays.admit(bed, label)


def _take_up(walk: Walk) -> None:
    """Answers of this bed that were never saved are offered, as on the screen."""
    draft = walk.ward.drafts.offered(walk.view.stay, PLACE)
    if draft is None:
        return
    many = len(draft.facts.get("seen", ()))
    says = f"{many} answer{' was' if many == 1 else 's were'} never saved, of {draft.at:%d %b %H:%M}."
    if ask(f"{says} y takes them up; n puts the last record in their place.").casefold() != "y":
        return
    try:
        walk.answers.restore({**draft.facts["facts"], "bed": walk.view.bed}, draft.facts["seen"])
        walk.base = draft.base_version
    except (RecordRefused, KeyError, TypeError):
        click.echo("The kept answers cannot be read; the last record is the start.")


def _questions(walk: Walk) -> None:
    """Every question in its order, until the last or a full stop."""
    section = before = None
    while walk.at < len(walk.questions):
        question = walk.questions[walk.at]
        if question.section is not section:
            section = question.section
            click.echo(f"\n{section.title}.")
        line = ask(f"{walk.at + 1}. {question_says(question, walk.answers, before)}")
        before = None if line == "?" else question
        if line == ".":
            return
        _line(walk, question, line)


def _line(walk: Walk, question: Question, line: str) -> None:
    """What one line does: leaves, moves, reads out, or answers; what is refused is asked again."""
    if line in _COMMANDS:
        _COMMANDS[line](walk, question)
    elif line.startswith("/"):
        _seek(walk, line[1:].strip())
    else:
        try:
            _keep(walk, question, answer_from(question, line, ask))
        except LineRefused as refused:
            click.echo(harmless(f"Not taken: {refused}."))
        except RecordRefused as refused:
            click.echo(harmless(f"Not taken: {refused.problems[0].says}"))


def _keep(walk: Walk, question: Question, step: Step) -> None:
    """An answer, on disk before the next question."""
    also: list[tuple[str, object]] = []
    if question.path.startswith("help."):
        also.append((question.path.replace("help.", "helpers_used."), step.helpers))
    if question.path.startswith("vitals."):
        also.append(("vitals.at", walk.ward.now.replace(second=0).isoformat(timespec="minutes")))
    if question.path.startswith("fall_risk."):
        also.append(("fall_risk.instrument", walk.instrument.id))
    walk.answers.put(question.path, step.value, *also)
    _draft(walk)
    walk.at += 1


def _draft(walk: Walk) -> None:
    body = {"bed": walk.view.bed, "facts": walk.answers.facts, "seen": sorted(walk.answers.seen)}
    ward = walk.ward
    try:
        ward.drafts.keep(Draft(walk.view.stay, ward.by, walk.base, ward.now, body, PLACE))
    except OSError as refused:
        click.echo(f"This answer could not be kept on disk ({refused.strerror}); save soon.")


def _next(walk: Walk, question: Question) -> None:
    walk.at += 1


def _before(walk: Walk, question: Question) -> None:
    walk.at = max(walk.at - 1, 0)


def _blank(walk: Walk, question: Question) -> None:
    _keep(walk, question, Step(done=True, value=None))


def _same(walk: Walk, question: Question) -> None:
    """The whole section was seen again; on to the next one."""
    paths = [one.path for one in walk.questions if one.section is question.section]
    if walk.answers.confirm(paths):
        _draft(walk)
    walk.at = max(at for at, one in enumerate(walk.questions) if one.section is question.section) + 1


def _read(walk: Walk, question: Question) -> None:
    click.echo(walk.plan_says())


def _help(walk: Walk, question: Question) -> None:
    click.echo(HOW)


_COMMANDS = {"": _next, "<": _before, "-": _blank, "=": _same, "*": _read, "?": _help}


def _seek(walk: Walk, word: str) -> None:
    order = [*range(walk.at + 1, len(walk.questions)), *range(walk.at + 1)]
    found = next((at for at in order if word.casefold() in walk.questions[at].asks.casefold()), None)
    if found is None or not word:
        click.echo(harmless(f"No question has “{word}” in it."))
    else:
        walk.at = found


def _saved(walk: Walk) -> BedView | None:
    """To the ledger, with what a new look must be asked; None where nothing was answered."""
    if not walk.answers.touched:
        return None
    record = _look(walk)
    if off := taken_off(walk.view.record, record):
        names = ", ".join(item.value.replace("_", " ") for item in off)
        who = ""
        while not who:
            who = ask(f"{names} over: who says so, by name?")
        record = ended_by(record, off, walk.ward.now.replace(second=0), who)
    saved = walk.ward.save(walk.view.stay, record, walk.base)
    walk.ward.drafts.drop(walk.view.stay, PLACE)
    return saved


def _look(walk: Walk) -> Record:
    """A new assessment, or only the changes where something deciding was not seen again."""
    ward, paths = walk.ward, walk.answers.unconfirmed
    if paths and not _seen_again(walk, paths):
        return walk.answers.record
    record = walk.answers.record
    over = record.override
    if over is None:
        return ward.assessed_now(record)
    word = walk.station.settings.scheme.looks[over.level].word
    says = f"Judged {word} by {over.by}: {over.reason}. y still so, by your own judgement; n it ends."
    kept = _choice(says, "yn") == "y"
    return ward.assessed_now(ward.judged_again(record) if kept else record.changed(override=None))


def _seen_again(walk: Walk, paths: tuple[str, ...]) -> bool:
    """Whether what stands as last recorded was seen just now; not to be said where it must be answered."""
    says = walk.ward.why_not_same(walk.view)
    bar = says if says and not says.startswith("not assessed") else ""
    stands = seen_says(walk.answers.facts, walk.questions, paths)
    if bar:
        click.echo(harmless(f"Still as last recorded: {stands}. It must be answered one by one: {bar}."))
        return False
    asks = f"Still as last recorded: {stands}. y I have seen these again just now; n save my changes only."
    if _choice(asks, "yn") == "n":
        return False
    walk.answers.confirm(paths)
    return True


def _choice(says: str, keys: str) -> str:
    while (line := ask(says).casefold()) not in tuple(keys):
        click.echo(f"One of: {', '.join(keys)}.")
    return line


def _cards(saved: BedView) -> None:
    """The door and the bedside card, where they are wanted."""
    from mobicard.cli.commands.cards import command as cards

    try:
        wanted = ask(
            "Print its cards? y into the folder “cards”, or another folder's name; Enter or n: none."
        )
    except EOFError:
        return
    if wanted.casefold() not in ("", "n"):
        wanted = "cards" if wanted.casefold() == "y" else wanted
        click.get_current_context().invoke(cards, beds=(saved.bed,), out=Path(wanted))
