"""Records in as JSON lines, plans out: one answer for each line, a bad line answered by its error.

``plans_from_lines(lines, policy, now, inventory=None) -> iterator`` of plain dictionaries: a plan's JSON, or
``{"line": 3, "error": "...", "problems": [{"field": ..., "says": ...}]}``. Blank lines are passed over. A
line is a record, or a record beside its plan as ``export --lines`` writes it; the plan is made anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from mobicard.derive import Policy, plan_for
from mobicard.derive.equipment import Inventory
from mobicard.facts import RecordRefused, read_from_outside
from mobicard.facts.refusal import PLAN_ID, named


def plans_from_lines(
    lines: Iterable[str | bytes], policy: Policy, now: datetime, inventory: Inventory | None = None
) -> Iterator[dict[str, Any]]:
    """A plan or an error object for each line, in order, as soon as the line is there."""
    for number, line in enumerate(lines, start=1):
        if line.strip():
            yield answer_line(line, number, policy, now, inventory)


def answer_line(
    line: str | bytes, number: int, policy: Policy, now: datetime, inventory: Inventory | None = None
) -> dict[str, Any]:
    """The plan of one line's record, or an error object naming the line. Never raises for bad input."""
    try:
        record = read_from_outside(_record_in(_parsed(line)))
    except RecordRefused as refused:
        problems = [{"field": each.field, "says": each.says} for each in refused.problems]
        return _error(number, str(refused), problems)
    except RecursionError:
        return _error(number, "is nested too deeply to be a record")
    except json.JSONDecodeError as wrong:
        return _error(number, f"is not JSON: {wrong.msg} (at character {wrong.pos + 1})")
    except ValueError as wrong:
        return _error(number, f"is not JSON: {wrong}")
    return named(PLAN_ID, plan_for(record, policy, now, inventory).as_json())


def _record_in(parsed: Any) -> Any:
    """The record itself, or the one inside a line that ``export --lines`` wrote, beside its plan."""
    exported = isinstance(parsed, dict) and "bed" not in parsed and isinstance(parsed.get("record"), dict)
    return parsed["record"] if exported else parsed


def _parsed(line: str | bytes) -> Any:
    text = line.decode("utf-8") if isinstance(line, bytes) else line
    return json.loads(text.lstrip("\ufeff"), parse_constant=no_number, object_pairs_hook=once)


def no_number(word: str) -> float:
    raise ValueError(f"{word} is no figure")


def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose keys each stand once: of two figures for one fact nobody knows which is meant."""
    found = dict(pairs)
    if len(found) < len(pairs):
        keys = [key for key, _ in pairs]
        double = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"“{double}” stands twice; keep one")
    return found


def _error(number: int, says: str, problems: list[dict[str, str]] | None = None) -> dict[str, Any]:
    return {"line": number, "error": f"line {number}: {says}", "problems": problems or []}
