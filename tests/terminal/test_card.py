"""The derived card's table: move, level, helpers, gear; moves done alike share a row, and nothing wraps."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path

import pytest
from rich.cells import cell_len

from mobicard.derive import Policy, plan_for
from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.facts.words import Task
from mobicard.scheme import load
from mobicard.terminal.card.line import CardLine
from mobicard.terminal.card.table import table_lines
from mobicard.terminal.looks import Depth

EXAMPLES = sorted(Path(__file__).parents[2].joinpath("examples").glob("*.json"))
WIDTHS = (46, 54, 72, 94)


def plan_of(path: Path) -> Plan:
    record = Record.model_validate(json.loads(path.read_text(encoding="utf-8")))
    return plan_for(record, Policy(), record.assessed_at or datetime(2026, 3, 2, 8, 0))


def rows_of(plan: Plan, width: int) -> list[CardLine]:
    return list(table_lines(plan, load(), Depth.PLAIN, width))


def text_of(line: CardLine) -> str:
    return "".join(text for text, _ in line.parts)


def below(line: CardLine) -> str:
    return "".join(text for text, _ in line.more)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("width", WIDTHS)
def test_no_row_wraps_and_no_move_is_left_out(path, width):
    """No row is wider than the card, its sign counted; how each move is done opens below."""
    plan = plan_of(path)
    rows = rows_of(plan, width)
    assert max(cell_len(text_of(row)) for row in rows) + 2 <= width
    told = "\n".join(below(row) for row in rows)
    for task, line in plan.tasks.items():
        assert told.count(f"{task.value.replace('_', ' ')}: {line.method}") >= 1


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_moves_done_alike_share_a_row(path):
    """On a wide card there are as many rows as there are ways: level, people and gear together."""
    plan = plan_of(path)
    ways = {(line.level, line.helpers, line.equipment) for line in plan.tasks.values()}
    assert len(rows_of(plan, 160)) == len(ways)


def test_nobody_looked_at_is_one_row():
    """Every move is held back alike: one row says so."""
    (row,) = rows_of(plan_of(EXAMPLES[12]), 54)
    assert text_of(row).startswith("every move")
    assert "not until cleared" in below(row)


def test_what_was_cut_and_every_reason_open_below():
    """Gear too long for its column stands whole below, and each move's rules, each once."""
    plan = plan_of(EXAMPLES[2])
    for row in rows_of(plan, 46):
        names = [text.removesuffix(": ").replace(" ", "_") for text, style in row.more if style == "bold"]
        tasks = [Task(name) for name in names]
        rules = {(one.rule, one.says) for task in tasks for one in plan.tasks[task].reasons}
        assert {(one.rule, one.says) for one in row.reasons} == rules
        assert len(row.reasons) == len(rules)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
async def test_the_table_stands_beside_the_form_and_opens(opened, size):
    """A row a way at every width; Enter on a row opens how each of its moves is done, with the source."""
    async with opened(size=size) as nurse:
        await nurse.press("0", "3", "enter", "right", "down", "enter")
        row = next(line for line in nurse.screen.splitlines() if "boost  " in line)
        assert "TEAM" in row
        assert "2 helpers" in row
        assert "boost: slide up on the sheet" in nurse.screen
        assert "OSHA 3182" in nurse.screen
