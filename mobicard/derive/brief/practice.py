"""Practice: an invented patient and a move from a number; hard ones, where neighbours differ, oftener."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from random import Random
from typing import Any

from mobicard.derive.brief.compose import brief_of
from mobicard.derive.brief.values import Brief, BriefLine, Helper
from mobicard.derive.brief.ways import Way
from mobicard.derive.conflicts import contradictions
from mobicard.derive.model import Plan
from mobicard.derive.plan import plan_for
from mobicard.facts import Record, read_record
from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Level,
    Precaution,
    Stepping,
    Task,
    Word,
)
from mobicard.rules.policy import Policy

TRIES = 3
"""Patients drawn for one case; the hardest of them is shown."""

MOST_TRIES = 50
"""How often a patient whose facts contradict each other is drawn anew."""

_FACTS: dict[str, type[Word]] = {
    "alertness": Alertness,
    "directions": Directions,
    "behavior": Behavior,
    "sitting": Balance,
    "standing": Balance,
    "stepping": Stepping,
    "arms": Arms,
}
_SEEN = [help_ for help_ in Help if help_.was_done]
_LINES = ("peripheral IV", "urinary catheter", "chest tube", "feeding tube", "wound drain")
_ORDERS: tuple[dict[str, Any], ...] = (
    {"status": "WBAT"},
    {"status": "PWB", "percent": 50},
    {"status": "TTWB"},
    {"status": "NWB"},
)


@dataclass(frozen=True, slots=True)
class Case:
    """One invented patient, the move, the people; ``hard``: neighbours that would be moved otherwise."""

    number: int
    record: Record
    task: Task
    helpers: tuple[Helper, ...]
    hard: int


@dataclass(frozen=True, slots=True)
class Answered:
    """What somebody practising said; None where nothing was said. ``height`` in cm."""

    level: Level | None = None
    helpers: int | None = None
    gear: str = ""
    height: int | None = None
    side: str | None = None


def case(number: int, policy: Policy, now: datetime, task: Task | None = None) -> Case:
    """The case of a number: the same number gives the same patient. ``task`` None: any move."""
    draw = Random(number)
    move = task or draw.choice(list(Task))
    drawn = [_whole(draw, move, now) for _ in range(TRIES)]
    counted = [(_hard(facts, move, policy, now), place) for place, facts in enumerate(drawn)]
    hard, place = max(counted)
    helpers = tuple(Helper(name, draw.randrange(150, 196)) for name in ("A", "B"))
    return Case(number, read_record(drawn[place]), move, helpers, hard)


def derived(found: Case, policy: Policy, now: datetime) -> tuple[Plan, Brief]:
    """The plan of a case and the brief of its move."""
    plan = plan_for(found.record, policy, now)
    needed = plan.tasks[found.task].helpers or 0
    return plan, brief_of(found.record, plan, found.task, found.helpers[:needed])


_ANSWERS = (
    "ready.height",
    "ready.chair",
    "ready.sling",
    "ready.slider",
    "do.turn",
    "do.aid_seat",
    "do.roll",
    "do.log_roll",
)


def of_the_questions(brief: Brief) -> tuple[BriefLine, ...]:
    """The brief's lines that answer bed height, side and gear, each with its rule and source."""
    return tuple(line for line in brief.lines if line.rule.startswith(_ANSWERS))


def beside(said: Answered, plan: Plan, brief: Brief) -> Iterator[tuple[str, str, str]]:
    """Each question with what was said and what is derived; nothing is counted, nobody is marked."""
    move = plan.tasks[brief.move]
    people = "do not move" if move.helpers is None else str(move.helpers)
    gear = ", ".join(item.value.replace("_", " ") for item in move.equipment) or "none"
    height = brief.bed_height.says if brief.bed_height else "no bed to set"
    yield "level", said.level.value if said.level else "-", move.level.value
    yield "people", "-" if said.helpers is None else str(said.helpers), people
    yield "gear", said.gear or "-", gear
    yield "bed", f"{said.height} cm" if said.height else "-", height
    yield "side", said.side or "-", _side(brief)


def _side(brief: Brief) -> str:
    """The patient's side the move goes to, where the way has one."""
    if brief.scene is None:
        return "not now"
    sided = brief.scene.turn or brief.way in (Way.ROLL, Way.LOG_ROLL, Way.BOARD)
    return f"to the patient's {brief.scene.side}" if sided else "either side"


def told(record: Record, task: Task) -> list[str]:
    """The patient in lines, as they would be handed over."""
    facts = [f"{name}: {_said(getattr(record, name))}" for name in _FACTS]
    seen = record.help.get(task)
    lines = [", ".join(facts[:3]), ", ".join(facts[3:]), f"help seen for this move: {_said(seen)}"]
    kg = "not weighed" if record.weight_kg is None else f"{record.weight_kg:g} kg"
    lines.append(f"{kg}, {record.height_cm:g} cm" if record.height_cm else kg)
    lines += [
        f"{limb.value.replace('_', ' ')}: {order.status.value}"
        + (f" {order.percent:g} %" if order.percent else "")
        for limb, order in record.weight_bearing.items()
    ]
    lines += [f"order: {_said(item)}" for item in record.precautions]
    return lines + [f"line: {line.kind}" + (f", {line.side}" if line.side else "") for line in record.lines]


def _said(value: Word | None) -> str:
    return "not assessed" if value is None else value.value.replace("_", " ")


def _patient(draw: Random, task: Task, now: datetime) -> dict[str, Any]:
    """Any patient at all; each answer of each fact comes up, the well ones a little oftener."""
    facts: dict[str, Any] = {name: _answer(draw, list(words)) for name, words in _FACTS.items()}
    facts |= {
        "bed": "practice",
        "assessed_at": now,
        "assessed_by": "-",
        "weight_kg": draw.choice([None, *range(45, 176, 5), *range(60, 101, 5)]),
        "height_cm": draw.randrange(150, 196),
        "help": {task.value: _answer(draw, _SEEN)},
    }
    if draw.random() < 0.4:
        facts["weight_bearing"] = {draw.choice(["left_leg", "right_leg", "left_arm"]): draw.choice(_ORDERS)}
    if draw.random() < 0.3:
        facts["precautions"] = [draw.choice(list(Precaution)).value]
    if draw.random() < 0.5:
        facts["lines"] = [{"kind": draw.choice(_LINES), "side": draw.choice(["left", "right"])}]
    return {name: value for name, value in facts.items() if value is not None}


def _whole(draw: Random, task: Task, now: datetime) -> dict[str, Any]:
    """A patient whose record does not contradict itself; after many tries any."""
    facts = _patient(draw, task, now)
    for _ in range(MOST_TRIES):
        if not contradictions(read_record(facts)):
            break
        facts = _patient(draw, task, now)
    return facts


def _answer(draw: Random, words: Sequence[Word]) -> str | None:
    """One answer; one time in twenty nobody has looked."""
    if draw.random() < 0.05:
        return None
    return draw.choice([*words, *words[:2]]).value


def _hard(facts: dict[str, Any], task: Task, policy: Policy, now: datetime) -> int:
    """How many patients one answer away would be moved at another level or by other people."""
    own = _outcome(facts, task, policy, now)
    return sum(_outcome(near, task, policy, now) != own for near in _neighbours(facts))


def _outcome(facts: dict[str, Any], task: Task, policy: Policy, now: datetime) -> tuple[Level, int | None]:
    move = plan_for(read_record(facts), policy, now).tasks[task]
    return move.level, move.helpers


def _neighbours(facts: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for name, words in _FACTS.items():
        answers = [word.value for word in words]
        if facts.get(name) in answers:
            place = answers.index(facts[name])
            for near in answers[max(place - 1, 0) : place] + answers[place + 1 : place + 2]:
                yield {**facts, name: near}
