"""Reads tests/cases: each changes a well patient and says what must follow, with the source of that value."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from mobicard.derive import Plan, Policy, plan_for
from mobicard.facts import Record, read_record
from mobicard.facts.words import Task

FOLDER = Path(__file__).parent.parent / "cases"
NOW = datetime(2026, 3, 2, 8, 0)

WELL: dict[str, Any] = {
    "bed": "4W-12A",
    "weight_kg": 70.0,
    "assessed_at": "2026-03-02T07:10",
    "assessed_by": "JN",
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "steady",
    "stepping": "walks",
    "arms": "both",
    "help": {task.value: "independent" for task in Task},
    "fall_risk": {
        "instrument": "morse",
        "answers": {
            "history": False,
            "secondary_diagnosis": False,
            "aid": "none",
            "iv": False,
            "gait": "normal",
            "mental": "oriented",
        },
    },
}
"""A patient who needs nothing; every case makes something worse."""


@dataclass(frozen=True)
class Case:
    """One published row: the facts, and what must follow."""

    file: str
    body: dict[str, Any]

    @property
    def id(self) -> str:
        return f"{self.file}: {self.body['name']}"

    @property
    def task(self) -> Task:
        return Task(self.body["task"])

    def record(self) -> Record:
        return patient(self.body.get("set", {}))

    def plan(self) -> Plan:
        return plan_for(self.record(), Policy(**self.body.get("policy", {})), NOW)


def patient(facts: dict[str, Any]) -> Record:
    """The well patient with these facts changed; "none" takes one away."""
    data = {**WELL, "help": dict(WELL["help"])}
    for name, value in facts.items():
        if name in ("help", "helpers_used"):
            data[name] = {k: v for k, v in {**data.get(name, {}), **value}.items() if v != "none"}
        elif name == "weight_kg" and isinstance(value, str) and value != "none":
            del data["weight_kg"]
            data["weight"] = value
        elif value == "none" and name in data:
            data.pop(name)
        else:
            data[name] = value
    return read_record(data)


@cache
def cases() -> tuple[Case, ...]:
    """Every case of every file, in order."""
    return tuple(
        Case(path.stem, body)
        for path in sorted(FOLDER.glob("*.toml"))
        for body in tomllib.loads(path.read_text(encoding="utf-8")).get("case", [])
        if "task" in body
    )
