"""Answers typed as whole lines, for a screen that is read aloud: the form's own questions, one at a time."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from mobicard.facts.text import harmless
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.keys import NONE, Step, answered_by
from mobicard.terminal.record.form.questions import Kind, Question
from mobicard.terminal.record.form.shown import answer_says

Ask = Callable[[str], str]
MANY = 4
"""More answers than this are not read a second time in a row."""
SHORTEST = 3
"""Letters from which the beginning of an answer's words will do; fewer may be keys."""
_LISTS = (Kind.MANY, Kind.NAMES, Kind.LINES, Kind.GOALS)
_FIGURES = (Kind.MASS, Kind.LENGTH)
_UNITS = (("kg", "k"), ("lb", "l"), ("cm", "c"), ("ft", "f"), ("in", "i"), (" ", ""))
"""Units as people write them, and the key the form takes for each."""


class LineRefused(Exception):  # noqa: N818 - said to people as a refusal
    """A line that is no answer to the question, in words."""


def ask(says: str) -> str:
    """Say this, and give back the line that is typed. Raises EOFError at the end of the input."""
    click.echo(harmless(says))
    click.echo("> ", nl=False)
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line.strip()


def question_says(question: Question, answers: Answers, before: Question | None = None) -> str:
    """The question as it is read aloud: what is asked, the answers there are, and what stands.

    ``before`` is the question asked last: the same answers are not read twice.
    """
    ways = [f"{choice.key} {choice.says}" for choice in question.choices]
    if question.kind in _LISTS and not any(choice.key == NONE for choice in question.choices):
        ways.append(f"{NONE} none")
    if question.kind is Kind.TEXT:
        ways = ["type it"]
    hint = question.hint if question.kind not in (Kind.TEXT, Kind.MANY, Kind.NAMES) else ""
    helpers = answers.get(question.path.replace("help.", "helpers_used."))
    stands = answer_says(question, answers.get(question.path), helpers) or "not assessed"
    asked = ". ".join(part for part in (", ".join(ways), hint) if part)
    if before and len(ways) > MANY and before.choices == question.choices:
        asked = "Answers as before, ? reads them"
    return f"{question.asks}? {asked}. Now: {stands}."


def answer_from(question: Question, line: str, words: Ask) -> Step:
    """The answer a whole line gives; a list is given anew, all of it. ``words`` asks for what no letter says.

    Raises LineRefused.
    """
    if question.kind is Kind.TEXT:
        return Step(done=True, value=line)
    said = _named(question, line.casefold())
    told = Step()
    for part in _parts(question, said or line):
        told = _part(question, part, told.value, words)
    return told


def _named(question: Question, line: str) -> str:
    """The key of the answer whose words these are, or of the one alone that begins so; else nothing."""
    said = {choice.says.casefold(): choice.key for choice in question.choices}
    begun = [key for words, key in said.items() if words.startswith(line)]
    short = question.kind not in (Kind.ONE, Kind.HELP) or len(line) < SHORTEST or len(begun) > 1
    return said.get(line) or ("" if short else "".join(begun))


def _parts(question: Question, line: str) -> list[str]:
    """Lines and drains are told apart by spaces; every other answer is one part."""
    if question.kind is Kind.LINES:
        listed, colon, note = line.partition(":")
        return [*listed.lower().split(), *([colon + note] if colon else [])]
    text = line.lower()
    for unit, key in _UNITS if question.kind in _FIGURES else ():
        text = text.replace(unit, key)
    return [text.replace(" ", "").replace(",", "")] if question.kind in _LISTS else [text]


def _part(question: Question, part: str, now: Any, words: Ask) -> Step:
    """Key after key, as on the form, and Enter where an answer is still open."""
    if part.startswith(":") and now:
        return Step(done=True, value=[*now[:-1], {**now[-1], "note": part[1:].strip()}])
    step: Step | None = Step(value=now)
    for key in part:
        if step and step.done and question.kind not in _LISTS:
            raise LineRefused(f"“{part}” is no answer here: one letter, or the words beside it")
        step = answered_by(question, _open(step), key, now)
        if step is None or step.says:
            raise LineRefused(
                step.says if step else f"“{part}” is no answer here: the letter, or the words beside it"
            )
        if step.ask:
            step = Step(done=True, value=_worded(question, now, words(f"{question.asks}, in words")))
        now = step.value if step.done else now
    if step is not None and not step.done:
        step = answered_by(question, step.typed, "enter", now)
    if step is None or not (step.done or now is not None) or step.says:
        raise LineRefused((step and step.says) or f"“{part}” is only half an answer")
    return Step(done=True, value=now if not step.done else step.value, helpers=step.helpers)


def _open(step: Step | None) -> str:
    return step.typed if step else ""


def _worded(question: Question, now: Any, text: str) -> Any:
    if not text:
        raise LineRefused("nothing was written")
    if question.kind is Kind.LINES:
        return [*(now or []), {"kind": text}]
    return [*(now or []), text] if question.kind in (Kind.NAMES, Kind.MANY) else text
