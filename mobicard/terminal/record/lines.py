"""How a question stands on the form: its answer, where the answer comes from, and its choices when marked."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from textual.content import Content

from mobicard.derive.model import Conflict
from mobicard.facts.record import THREE_VALUED
from mobicard.terminal.looks import Part, hang, press, safe
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.choices import SIDES
from mobicard.terminal.record.form.keys import split_pressure
from mobicard.terminal.record.form.questions import Kind, Question, Section
from mobicard.terminal.record.form.shown import answer_says

LABEL = 26
NBSP = "\u00a0"


def heading(section: Section) -> Content:
    """A section's line: its capital letter and its title."""
    return Content.assemble((f" {section.key} ", "bold reverse"), (f" {section.title}", "bold"))


def question_line(
    question: Question,
    answers: Answers,
    *,
    marked: bool,
    typed: str,
    problem: str,
    conflicts: Sequence[Conflict],
    width: int,
    went: str = "",
) -> Content:
    """The lines of one question. ``width`` is the room in cells for wrapping its choices."""
    parts: list[Part] = [(("> " if marked else "  ") + _label(question.asks), "bold" if marked else "")]
    parts += _answer(question, answers, typed if marked else "")
    if went:
        parts.append((f"  [{safe(went)}]", "bold"))
    if marked:
        parts += _choices(question, answers, width, typed)
    if marked and problem:
        parts.append((f"\n! {safe(problem)}", "bold"))
    for conflict in conflicts:
        parts.append((f"\n! {safe(conflict.says)}", "bold"))
    return hang(parts, width)


def _label(asks: str) -> str:
    """What is asked, in its column; a longer question ends with a colon, so that its answer stands apart."""
    return f"{asks:<{LABEL}} " if len(asks) <= LABEL else f"{asks}:  "


def _answer(question: Question, answers: Answers, typed: str) -> list[Part]:
    value, was = answers.get(question.path), answers.was(question.path)
    if typed and question.kind is not Kind.LINES:
        return [(f"{_half(question, typed)}_", "bold")]
    says = safe(answer_says(question, value, answers.get(question.path.replace("help.", "helpers_used."))))
    seen = question.path in answers.seen
    if value is None and _none(question, answers):
        return [("none", "bold" if question.path in answers.seen else "")]
    if value is None:
        lost = f"was {safe(answer_says(question, was))}" if was is not None else ""
        return [(_missing(question), "dim"), (f"  ({lost})" if lost else "", "dim")]
    if value != was:
        before = f"  (was {safe(answer_says(question, was))})" if was is not None else ""
        return [(says, "bold"), (before, "dim")]
    if seen:
        return [(says, "bold"), ("  same, seen", "dim")]
    return [
        (says, ""),
        ("  last ?" if question.deciding else "  last", "bold" if question.deciding else "dim"),
    ]


def _none(question: Question, answers: Answers) -> bool:
    """Whether somebody asked for this part of a group, and there is none."""
    whole = answers.get(question.path.partition(".")[0])
    return whole == {} or (whole is not None and question.path in answers.seen)


def _missing(question: Question) -> str:
    """What stands where nobody answered: an order or a line not asked for is not known to be none."""
    if question.path.partition(".")[0] in THREE_VALUED:
        return "not asked"
    return "not assessed" if question.deciding else "-"


def _half(question: Question, typed: str) -> str:
    """What stands half-written, as it will be read."""
    if question.kind is Kind.PRESSURE:
        parts = split_pressure(typed)
        return "/".join(parts[:2]) + (f", pulse {parts[2]}" if len(parts) > 2 else "")
    if question.kind is Kind.LIMB:
        return f"partial {typed[1:]}"
    if question.kind is Kind.HELP:
        return f"{typed} helpers, "
    if question.kind is Kind.GOALS:
        return f"{typed} x "
    return typed.replace("f", " ft ")


def _choices(question: Question, answers: Answers, width: int, typed: str) -> list[Part]:
    parts: list[Part] = []
    if question.kind is Kind.LINES and typed:
        parts = [("\non which side?", ""), *_wrapped([(c.key, c.says, False) for c in SIDES], width)]
    elif question.choices:
        have = answers.get(question.path)
        chosen = have if isinstance(have, list) else [have.get("status") if isinstance(have, dict) else have]
        parts = _wrapped(
            [(c.key, safe(c.says), c.value is not None and c.value in chosen) for c in question.choices],
            width,
        )
    if question.hint:
        parts.append((f"\n{question.hint}", "dim"))
    return parts


def _wrapped(choices: Sequence[tuple[str, str, bool]], width: int) -> list[Part]:
    parts: list[Part] = [("\n", "")]
    used = 0
    for key, says, chosen in choices:
        size = cell_len(says) + 6
        if used and used + size > width - 4:
            parts.append(("\n", ""))
            used = 0
        mark = "*" if chosen else " "
        parts += [
            (f" {key} ", press(key, "bold reverse")),
            (f"{mark}{says.replace(' ', NBSP)}", press(key, "bold" if chosen else "")),
            ("  ", ""),
        ]
        used += size
    return parts


def conflicts_at(question: Question, conflicts: Sequence[Conflict]) -> list[Conflict]:
    """The conflicts that name this question's fact, or a part of it."""
    path = question.path
    return [
        conflict
        for conflict in conflicts
        if any(
            name == path or name.startswith(f"{path}.") or path.startswith(f"{name}.")
            for name in conflict.fields
        )
    ]
