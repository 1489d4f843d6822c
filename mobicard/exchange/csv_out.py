"""The unit's state for a spreadsheet: one line a bed, safe to open, kg and lb side by side.

UTF-8 with byte-order mark, CRLF. Text that a spreadsheet would run as a formula gets an apostrophe in front;
text that it would make a number or a date of (a code like 234E56, bed 3-2, a time) is written ``="234E56"``,
which spreadsheets keep as that text.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping

from mobicard.derive import Plan
from mobicard.facts import Record
from mobicard.facts.units import both_masses, lb_from_kg
from mobicard.facts.words import Level, Task

Cell = str | int | float | None

_RUNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""First characters that make a spreadsheet run a cell. Source: OWASP, CSV Injection."""

_MONTH = "(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*"
_LOOKS_LIKE_ANOTHER = re.compile(
    r"\d[\d.,]*(?:e[+-]?\d+)?|\d{1,4}[-/.]\d{1,2}(?:[-/.]\d{1,4})?(?:[ T]\d{1,2}:\d{2}(?::\d{2})?)?"
    rf"|\d{{1,2}}[-/. ]?{_MONTH}(?:[-/. ]\d{{1,4}})?|{_MONTH}[-/. ]?\d{{1,4}}|\d{{1,2}}:\d{{2}}(?::\d{{2}})?",
    re.IGNORECASE | re.ASCII,
)
"""Text that a spreadsheet takes for a number, a date or a time. Common practice, no source."""


def _limbs(_: Record, plan: Plan) -> str:
    parts = []
    for limit in plan.weight_bearing:
        most = "" if limit.limit_kg is None else f" {both_masses(limit.limit_kg)}"
        parts.append(f"{limit.limb.value.replace('_', ' ')} {limit.status.value}{most}")
    return "; ".join(parts)


def _equipment(_: Record, plan: Plan) -> str:
    items = () if plan.expired else plan.headline.equipment
    return "; ".join(item.value.replace("_", " ") for item in items)


def _weight_lb(record: Record, _: Plan) -> Cell:
    return None if record.weight_kg is None else round(lb_from_kg(record.weight_kg), 1)


def _task_level(task: Task) -> Callable[[Record, Plan], Cell]:
    return lambda _, plan: Level.REMAIN.value if plan.expired else plan.tasks[task].level.value


COLUMNS: Mapping[str, Callable[[Record, Plan], Cell]] = {
    "bed": lambda record, _: record.bed,
    "label": lambda record, _: record.label,
    "level": lambda _, plan: plan.shown_level.value,
    "helpers": lambda _, plan: None if plan.expired else plan.helpers,
    "method": lambda _, plan: None if plan.expired else plan.headline.method,
    "equipment": _equipment,
    "weight_kg": lambda record, _: None if record.weight_kg is None else round(record.weight_kg, 1),
    "weight_lb": _weight_lb,
    "weight_bearing": _limbs,
    "precautions": lambda record, _: "; ".join(each.value.replace("_", " ") for each in record.precautions),
    "fall_risk": lambda _, plan: plan.fall_risk.band if plan.fall_risk else None,
    "fall_score": lambda _, plan: plan.fall_risk.score if plan.fall_risk else None,
    **{f"level_{task.value}": _task_level(task) for task in Task if task is not Task.CHAIR},
    "conflicts": lambda _, plan: "; ".join(each.says for each in plan.conflicts),
    "not_assessed": lambda _, plan: "; ".join(plan.not_assessed),
    "assessed_at": lambda _, plan: plan.assessed_at.isoformat(" ", "minutes") if plan.assessed_at else None,
    "assessed_by": lambda _, plan: plan.assessed_by,
    "valid_until": lambda _, plan: plan.valid_until.isoformat(" ", "minutes") if plan.valid_until else None,
    "expired": lambda _, plan: "yes" if plan.expired else "no",
    "code": lambda _, plan: plan.code,
    "level_last_known": lambda _, plan: plan.last_known.level.value if plan.last_known else None,
}
"""Every column by name, in order. An expired plan shows the most cautious level, no count and no method.

What it said stands in ``level_last_known``, history as of ``assessed_at``.
"""


def unit_csv(rows: Iterable[tuple[Record, Plan]], words: Mapping[Level, str] | None = None) -> bytes:
    """The rows as CSV bytes. ``words``: the facility's own level words."""
    return "".join(csv_lines(rows, words)).encode("utf-8")


def csv_lines(rows: Iterable[tuple[Record, Plan]], words: Mapping[Level, str] | None = None) -> Iterator[str]:
    """The same line by line, each as it is written; the byte-order mark before the first."""
    yield "\ufeff" + _line(COLUMNS)
    for record, plan in rows:
        yield _line(_shown(name, cell(record, plan), words) for name, cell in COLUMNS.items())


def _line(cells: Iterable[str]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow(cells)
    return out.getvalue()


def _shown(name: str, value: Cell, words: Mapping[Level, str] | None) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.1f}"
    if words and name.startswith("level") and isinstance(value, str):
        value = words[Level(value)]
    return safe_cell(value) if isinstance(value, str) else str(value)


def safe_cell(text: str) -> str:
    """The text as a spreadsheet keeps it: never run as a formula, nor made a number or a date."""
    if _LOOKS_LIKE_ANOTHER.fullmatch(text):
        return f'="{text}"'
    return f"'{text}" if text.startswith(_RUNS) or text.lstrip().startswith(_RUNS) else text
