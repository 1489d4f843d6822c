"""One key after another becomes an answer: what each kind of question makes of what is typed."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from mobicard.facts.units import read_length, read_mass
from mobicard.terminal.record.form.choices import SIDES
from mobicard.terminal.record.form.questions import Kind, Question


@dataclass(frozen=True, slots=True)
class Step:
    """What a key did. ``typed`` is what stands half-written; ``done`` that ``value`` is an answer.

    ``on`` moves to the next question; ``says`` is a refusal; ``ask`` wants words typed in full.
    """

    typed: str = ""
    done: bool = False
    value: Any = None
    on: bool = True
    says: str = ""
    ask: bool = False
    helpers: int | None = None


def answered_by(question: Question, typed: str, key: str, now: Any) -> Step | None:
    """What ``key`` (one character, or ``enter``) does to a question whose answer stands at ``now``.

    None when the key means nothing here.
    """
    return _KINDS[question.kind](question, typed, key, now)


def _one(question: Question, typed: str, key: str, now: Any) -> Step | None:
    choice = next((choice for choice in question.choices if choice.key == key), None)
    if choice is None:
        return None
    return Step(ask=True) if choice.value is None else Step(done=True, value=choice.value)


def _help(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key in "123456789":
        return Step(typed=key)
    step = _one(question, typed, key, now)
    if step and step.done and typed:
        return Step(done=True, value=step.value, helpers=int(typed))
    return step


NONE = "0"
"""The key of an answer every list has: asked, and there is none."""


def _many(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key == NONE:
        return Step(done=True, value=[])
    step = _one(question, typed, key, now)
    if step is None or step.ask:
        return step
    have = list(now or [])
    have = [value for value in have if value != step.value] if step.value in have else [*have, step.value]
    return Step(done=True, value=have or None, on=False)


def _limb(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if typed.startswith("p"):
        return _partial(typed, key)
    if key == "p":
        return Step(typed="p")
    if key == NONE:
        return Step(done=True, value={})
    step = _one(question, typed, key, now)
    return Step(done=True, value={"status": step.value}) if step and step.done else step


def _partial(typed: str, key: str) -> Step | None:
    if key in "0123456789.":
        return Step(typed=typed + key)
    figure = _number(typed[1:])
    if key == "enter" or figure is None:
        return Step(typed=typed, says="partial needs its figure, then % of body weight, k for kg or l for lb")
    if key == "%":
        return Step(done=True, value={"status": "PWB", "percent": figure})
    if key in "kl":
        unit = "kg" if key == "k" else "lb"
        return Step(done=True, value={"status": "PWB", "kg": round(read_mass(f"{figure} {unit}"), 2)})
    return None


def _mass(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key in "0123456789.,":
        return Step(typed=typed + key.replace(",", "."))
    figure = _number(typed)
    if key in ("k", "l") and figure is not None:
        unit = "kg" if key == "k" else "lb"
        return Step(done=True, value=round(read_mass(f"{figure} {unit}"), 2))
    return Step(typed=typed, says="which unit: k for kg, l for lb?") if typed and key == "enter" else None


def _length(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key in "0123456789.,f'":
        return Step(typed=typed + key.replace("'", "f").replace(",", "."))
    if not typed or key not in ("c", "i", "enter"):
        return None
    feet, _, inches = typed.partition("f")
    if key == "c" and "f" not in typed:
        text = f"{typed} cm"
    elif "f" in typed:
        text = f"{feet} ft {inches} in" if inches else f"{feet} ft"
    elif key == "i":
        text = f"{typed} in"
    else:
        return Step(typed=typed, says="which unit: c for cm, i for inches?")
    try:
        return Step(done=True, value=round(read_length(text), 1))
    except ValueError as refused:
        return Step(typed=typed, says=str(refused))


def split_pressure(typed: str) -> list[str]:
    """Systolic, diastolic and pulse out of digits run together: ``1287680`` is 128, 76, 80.

    A figure that starts with 1 or 2 has three digits, any other two; a space or slash ends one early.
    """
    parts: list[str] = []
    for run in re.split(r"[^0-9]+", typed):
        rest = run
        while rest:
            size = 3 if rest[0] in "12" else 2
            parts.append(rest[:size])
            rest = rest[size:]
    return parts


def _pressure(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key in "0123456789/ ":
        typed += key
    elif key != "enter" or not typed:
        return None
    parts = split_pressure(typed)
    whole = len(parts) == 3 and len(parts[2]) == (3 if parts[2][0] in "12" else 2)
    if not whole and key != "enter":
        return Step(typed=typed)
    if len(parts) < 2:
        return Step(typed=typed, says="a pressure needs two figures, like 128 76, and the pulse if counted")
    names = ("sbp", "dbp", "hr")
    return Step(done=True, value={name: int(part) for name, part in zip(names, parts, strict=False)})


def _figure(question: Question, typed: str, key: str, now: Any) -> Step | None:
    if key.isdigit() and len(key) == 1:
        return Step(typed=typed + key)
    return Step(done=True, value=int(typed)) if key == "enter" and typed else None


def _lines(question: Question, typed: str, key: str, now: Any) -> Step | None:
    have = list(now or [])
    if have and typed:
        return _side(have, typed, key)
    if key == ":" and have:
        return Step(ask=True, typed=":")
    step = _one(question, typed, key, now)
    if key == NONE:
        return Step(done=True, value=[])
    if step is None or step.ask:
        return step
    return Step(done=True, value=[*have, {"kind": step.value}], on=False, typed="side")


def _side(have: list[Any], typed: str, key: str) -> Step:
    """The side of the line just named; Enter leaves it open."""
    if key == "enter":
        return Step()
    side = next((choice for choice in SIDES if choice.key == key), None)
    if side is None:
        return Step(typed=typed, says="which side: l left, r right, m midline, b both; Enter leaves it open")
    return Step(done=True, value=[*have[:-1], {**have[-1], "side": side.value}], on=False)


def _goals(question: Question, typed: str, key: str, now: Any) -> Step | None:
    have = {goal["task"]: goal["times_per_shift"] for goal in now or []}
    choice = next((choice for choice in question.choices if choice.key == key), None)
    if choice is not None:
        return Step(typed=choice.value)
    if typed and key in "0123456789":
        have.pop(typed, None)
        if key != "0":
            have[typed] = int(key)
        goals = [{"task": task, "times_per_shift": times} for task, times in have.items()]
        return Step(done=True, value=goals, on=False)
    return None


def _text(question: Question, typed: str, key: str, now: Any) -> Step | None:
    return Step(ask=True, typed=key) if len(key) == 1 and key.isalnum() else None


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


_KINDS: dict[Kind, Callable[[Question, str, str, Any], Step | None]] = {
    Kind.ONE: _one,
    Kind.HELP: _help,
    Kind.MANY: _many,
    Kind.NAMES: _many,
    Kind.LIMB: _limb,
    Kind.MASS: _mass,
    Kind.LENGTH: _length,
    Kind.PRESSURE: _pressure,
    Kind.NUMBER: _figure,
    Kind.LINES: _lines,
    Kind.GOALS: _goals,
    Kind.TEXT: _text,
}
