"""Reasons: a fired rule with its sentence, the recorded facts that fired it, and its source."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from mobicard.derive.model import Reason
from mobicard.facts import Record
from mobicard.facts.words import Task, Word
from mobicard.rules import words as w
from mobicard.rules.policy import Policy
from mobicard.rules.rule import Rule


def reason(rule: Rule, bits: int, task: Task, record: Record, policy: Policy) -> Reason:
    """The rule as a reason of this task's plan."""
    because = {name: _recorded(name, fact, task, record) for name, fact in _facts(bits, task)}
    return Reason(rule.id, says(rule, policy), because, _source(rule))


def says(rule: Rule, policy: Policy) -> str:
    """The rule's sentence with the policy's figures in it."""
    return rule.says.format_map(vars(policy.handling)) if "{" in rule.says else rule.says


@lru_cache(maxsize=1024)
def _source(rule: Rule) -> str:
    return rule.shown_source


@lru_cache(maxsize=8192)
def _facts(bits: int, task: Task) -> tuple[tuple[str, str], ...]:
    """The facts behind these words: as they are named on a card, and in the record."""
    names: dict[str, str] = {}
    while bits:
        bit = bits & -bits
        bits ^= bit
        fact = w.FACT_OF[bit]
        if fact in ("help", "helpers_used"):
            names[f"{fact}.{task.value}"] = fact
        elif fact == "policy":
            names["policy.handling.manual_lifting"] = fact
        else:
            names[fact] = fact
    return tuple(names.items())


def _recorded(name: str, fact: str, task: Task, record: Record) -> Any:
    if fact == "policy":
        return "none"
    value = getattr(record, fact)
    if fact in ("help", "helpers_used"):
        value = value.get(task)
    if value is None:
        return "not assessed" if fact in w.DECIDING else "not recorded"
    return plain(value)


def plain(value: Any) -> Any:
    """A recorded value as a reason shows it: words, figures, or names in a list."""
    if isinstance(value, Word):
        return value.value
    if isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, Mapping):
        return {str(key): order.status.value for key, order in value.items()}
    if isinstance(value, tuple):
        return [item.value if isinstance(item, Word) else item.kind for item in value]
    return value.model_dump(mode="json", exclude_none=True)
