"""The moves of a plan as a table: move, level, helpers, gear; moves done alike share a row, none wraps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mobicard.derive.equipment import WORDS
from mobicard.derive.model import Plan, Reason, TaskPlan
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Task
from mobicard.scheme import Scheme
from mobicard.terminal.card.line import CardLine
from mobicard.terminal.looks import Depth, Part, badge, helpers_say, safe, shortened

_LEVEL = 11
"""Cells of a level's badge and the gap after it."""
_TAIL = 2
"""Cells of the sign that says a row can be opened."""


def table_lines(plan: Plan, scheme: Scheme, depth: Depth, width: int) -> Iterator[CardLine]:
    """One line a row. A row takes as many moves as fit, gear too long is cut: all of it opens below."""
    groups = _alike(plan)
    people = max((len(helpers_say(group[0].helpers, plan)) for group in groups), default=0) + 1
    free = width - _LEVEL - people - _TAIL
    gear = min(max((len(_gear(group[0])) for group in groups), default=0), free // 2)
    rows = [row for group in groups for row in _rows(group, free - gear - 1, len(plan.tasks))]
    moves = max((len(_names(row, len(plan.tasks))) for row in rows), default=0) + 1
    for row in rows:
        yield CardLine(
            f"task.{row[0].task.value}",
            (
                (f"{_names(row, len(plan.tasks)):<{moves}}", "bold"),
                badge(scheme.looks[row[0].level], depth, width=6),
                (f" {helpers_say(row[0].helpers, plan):<{people}}", ""),
                (shortened(_gear(row[0]), free - moves), ""),
            ),
            _reasons(row),
            _how(row),
        )


def _alike(plan: Plan) -> list[list[TaskPlan]]:
    """The moves that ask for the same level, people and gear, in the order of a day."""
    found: dict[tuple[object, ...], list[TaskPlan]] = {}
    for line in (plan.tasks[task] for task in Task if task in plan.tasks):
        found.setdefault((line.level, line.helpers, line.equipment), []).append(line)
    return list(found.values())


def _rows(group: Sequence[TaskPlan], room: int, every: int) -> Iterator[list[TaskPlan]]:
    """A group in as few rows as its moves need."""
    row: list[TaskPlan] = []
    for line in group:
        if row and len(group) < every and len(_names([*row, line], every)) > room:
            yield row
            row = []
        row.append(line)
    yield row


def _names(row: Sequence[TaskPlan], every: int) -> str:
    return "every move" if len(row) == every else ", ".join(map(_name, row))


def _name(line: TaskPlan) -> str:
    return line.task.value.replace("_", " ")


def _gear(line: TaskPlan) -> str:
    return ", ".join(WORDS[item] for item in line.equipment)


def _reasons(row: Sequence[TaskPlan]) -> tuple[Reason, ...]:
    """Every reason of the row once."""
    return tuple({(one.rule, one.says): one for line in row for one in line.reasons}.values())


def _how(row: Sequence[TaskPlan]) -> tuple[Part, ...]:
    """How each move of the row is done, and with which gear, where the table had to be short."""
    parts: list[Part] = []
    for line in row:
        says = "; ".join(word for word in (safe(line.method), _gear(line), _share(line)) if word)
        parts += [(f"{_name(line)}: ", "bold"), (f"{says}\n", "")]
    return (*parts[:-1], (parts[-1][0].rstrip("\n"), ""))


def _share(line: TaskPlan) -> str:
    if line.share_lb is None:
        return ""
    limit = f", limit {both_masses(kg_from_lb(line.limit_lb))}" if line.limit_lb is not None else ""
    return f"each helper bears about {both_masses(kg_from_lb(line.share_lb))}{limit}"
