"""Reasons: a fired rule with its sentence, the recorded facts that fired it, and its source."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, NamedTuple

from mobicard.derive.join.what_is_true import Figures
from mobicard.derive.model import Reason
from mobicard.facts import LimbOrder, Record
from mobicard.facts.words import Task, Word
from mobicard.rules import words as w
from mobicard.rules.policy import Policy
from mobicard.rules.rule import Rule


class Stated(NamedTuple):
    """A rule that fired, ready to become a reason: what it says and the facts it looked at."""

    rule: str
    says: str
    facts: tuple[str, ...]
    source: str

    def reason(self, recorded: Mapping[str, Any]) -> Reason:
        """The reason with the facts as they are recorded."""
        return Reason(self.rule, self.says, {fact: recorded[fact] for fact in self.facts}, self.source)


def state(rule: Rule, said: int, task: Task, figures: Figures) -> Stated:
    """The rule as fired by these words, its sentence with the figures in it."""
    says = rule.says.format_map(figures._asdict()) if "{" in rule.says else rule.says
    fired = rule.when.fired_by(said)
    if said & w.weight_unknown.bit and fired & w.heavy.bit:
        says += " Weight not recorded: counted as heavy."
    return Stated(rule.id, says, _facts(fired, task), rule.shown_source)


def _facts(bits: int, task: Task) -> tuple[str, ...]:
    """The facts behind these words, as a card names them."""
    names: dict[str, None] = {}
    while bits:
        bit = bits & -bits
        bits ^= bit
        fact = w.FACT_OF[bit]
        names[f"{fact}.{task.value}" if fact in PER_TASK else fact] = None
    return tuple(names)


PER_TASK = ("help", "helpers_used")


class Recorded(dict[str, Any]):
    """A record's facts as reasons show them, each read when first asked for."""

    def __init__(self, record: Record, policy: Policy) -> None:
        super().__init__({"policy": f"manual_lifting = {policy.handling.manual_lifting}"})
        self.record = record

    def __missing__(self, fact: str) -> Any:
        value = _value(self.record, fact)
        shown = _plain(value) if value is not None else _absent(fact)
        self[fact] = shown
        return shown


def _value(record: Record, fact: str) -> Any:
    top, _, task = fact.partition(".")
    if top == "weight_kg" and record.weight_kg is None and record.weight_by_eye:
        return f"{record.weight_by_eye.value.replace('_', ' ')}, by eye"
    value = getattr(record, top)
    return value.get(task) if task else value


def _absent(fact: str) -> str:
    asked = (*w.DECIDING, "fall_risk")  # an instrument never opened raises the level and warns of nothing
    return "not assessed" if fact.partition(".")[0] in asked else "not recorded"


def _inner(value: Any) -> Any:
    return value.status.value if isinstance(value, LimbOrder) else _plain(value)


def _plain(value: Any) -> Any:
    if isinstance(value, Word):
        return value.value
    if isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, Mapping):
        return {str(key): _inner(inner) for key, inner in value.items()}
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    if isinstance(value, tuple):
        return [item.value if isinstance(item, Word) else item.kind for item in value]
    return value.model_dump(mode="json", exclude_none=True)
