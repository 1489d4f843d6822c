"""Invented patients of the briefs' tests: one who can be asked everything, and facts on top."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from mobicard.derive import Policy
from mobicard.derive.brief import Brief, Helper, brief_for
from mobicard.facts import Record, read_record
from mobicard.facts.words import Task

NOW = datetime(2026, 3, 2, 8, 0)
SOME = dict.fromkeys([task.value for task in Task], "minimal")
PEOPLE = (Helper("JN", 165), Helper("AB", 180))


def patient(**facts: Any) -> Record:
    """Stands with a hand, follows, both arms, minimal help, asked and no limb limited; ``facts`` over it."""
    return read_record(
        {
            "bed": "5N-04",
            "assessed_at": "2026-03-02T07:10",
            "assessed_by": "JN",
            "alertness": "alert",
            "directions": "reliable",
            "behavior": "calm",
            "sitting": "steady",
            "standing": "supported",
            "stepping": "walks",
            "arms": "both",
            "weight_kg": 80,
            "height_cm": 165,
            "help": SOME,
            "weight_bearing": {},
            **facts,
        }
    )


def brief(task: str | Task, **facts: Any) -> Brief:
    return brief_for(patient(**facts), Task(task), Policy(), NOW, PEOPLE)


def told(found: Brief) -> str:
    """All lines there is room for."""
    return "\n".join(line.says for line in found.shown)
