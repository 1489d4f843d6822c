"""Answers as people read them on the form and in a conflict."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from mobicard.facts.text import plain_says
from mobicard.facts.units import CM_PER_INCH, both_masses
from mobicard.terminal.record.form.questions import DECIDING, Kind, Question


def answer_says(question: Question, value: Any, helpers: int | None = None) -> str:  # noqa: PLR0911 - one a kind
    """An answer in words; an empty text for none."""
    if value is None:
        return ""
    if value == []:
        return "none"
    match question.kind:
        case Kind.HELP:
            return _word(question, value) + (f", {helpers} helpers" if helpers and helpers > 1 else "")
        case Kind.MANY | Kind.NAMES:
            return ", ".join(_word(question, one) for one in value)
        case Kind.LIMB:
            return _limb(question, value)
        case Kind.MASS:
            return both_masses(value)
        case Kind.LENGTH:
            return f"{value:g} cm ({value / CM_PER_INCH:.0f} in)"
        case Kind.PRESSURE:
            return f"{value['sbp']}/{value['dbp']}" + (f", pulse {value['hr']}" if value.get("hr") else "")
        case Kind.LINES:
            return "; ".join(_line(line) for line in value)
        case Kind.GOALS:
            return ", ".join(f"{_word(question, goal['task'])} x {goal['times_per_shift']}" for goal in value)
    return _word(question, value)


_SAYS = {
    "directions": "follows directions {}",
    "sitting": "sits {}",
    "standing": "stands {}",
    "stepping": "steps: {}",
    "arms": "arms to push or pull: {}",
}


def seen_says(
    facts: Mapping[str, Any], questions: Sequence[Question], paths: Collection[str] | None = None
) -> str:
    """The deciding facts and the help seen, all or these; moves with the same help stand together."""
    said: list[str] = []
    moves: dict[str, list[str]] = {}
    for question in questions:
        head, _, task = question.path.partition(".")
        if paths is not None and question.path not in paths:
            continue
        if head in DECIDING and facts.get(head) is not None:
            said.append(_SAYS.get(head, "{}").format(answer_says(question, facts[head])))
        if head == "help" and task in facts.get("help", {}):
            helpers = facts.get("helpers_used", {}).get(task)
            moves.setdefault(answer_says(question, facts["help"][task], helpers), []).append(
                task.replace("_", " ")
            )
    said += [f"{help_} for {', '.join(names)}" for help_, names in moves.items()]
    return "; ".join(said) or "nothing yet"


def _word(question: Question, value: Any) -> str:
    found = next((choice.says for choice in question.choices if choice.value == value), None)
    return found if found is not None else plain_says(value)


def _limb(question: Question, value: Mapping[str, Any]) -> str:
    says = _word(question, value["status"]).removesuffix(" + figure")
    if value.get("percent") is not None:
        return f"{says}, {value['percent']:g} % of body weight"
    return f"{says}, {both_masses(value['kg'])}" if value.get("kg") is not None else says


def _line(line: Mapping[str, Any]) -> str:
    side = f" {line['side']}" if line.get("side") else ""
    note = f" ({line['note']})" if line.get("note") else ""
    return f"{line['kind']}{side}{note}"
