"""One row a move: what a move still lacks is said by name, wherever the house needs to know of it."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "derive"))
from cases import cases

from mobicard.facts.moves import ALL, MOVES, ROWS, MoveRow
from mobicard.facts.words import Task
from mobicard.rules.policy import Policy
from mobicard.rules.protocol import RULES_FOR
from mobicard.rules.rule import Rule
from mobicard.terminal.record.form.questions import questions

MAY_BE_EMPTY = {"in_one_line", "no_roll", "by_hand_with", "goal_key", "gg_item", "every_look"}
"""What not every move has: a log roll, no roll for a hip, kit, a goal, an item of Section GG, each look."""


def lacking(
    row: MoveRow,
    rules: Mapping[Task, Collection[Rule]] = RULES_FOR,
    seen: Collection[Task] = tuple(case.task for case in cases()),
) -> Iterator[str]:
    """What the house does not know of this move yet, each by the name of what to write."""
    for name in (field.name for field in fields(row)):
        if not getattr(row, name) and name not in MAY_BE_EMPTY:
            yield f"facts/moves.py: {name}"
    for name in ("says", "says_short", "asked", "letter", "legend"):
        if any(getattr(other, name) == getattr(row, name) for other in ROWS if other.task is not row.task):
            yield f"facts/moves.py: {name} of its own"
    own = [rule for rule in rules.get(row.task, ()) if len(rule.tasks) < len(ALL)]
    if not any(rule.demand.level for rule in own):
        yield "rules/by_move: rules"
    if row.task not in seen:
        yield "tests/cases: cases"
    hands = Policy().hands
    if row.task not in hands.minutes or row.task not in hands.waits_last:
        yield "rules/policy.toml: hands.minutes, hands.waits_last"
    if f"help.{row.task.value}" not in {question.path for question in questions()}:
        yield "the form: its question"


def test_no_move_lacks_anything() -> None:
    assert {row.task.value: left for row in ROWS if (left := list(lacking(row)))} == {}


def test_the_rows_are_the_moves_in_the_order_of_a_day() -> None:
    assert tuple(MOVES) == tuple(Task)


def test_what_a_half_written_move_lacks_is_named() -> None:
    """A row with two blanks and another's letter, without rules and cases: five lines of work."""
    half = replace(MOVES[Task.UP_IN_CHAIR], withheld="", says="", letter="P")
    none = {task: rules for task, rules in RULES_FOR.items() if task is not Task.UP_IN_CHAIR}
    assert list(lacking(half, none, seen=())) == [
        "facts/moves.py: says",
        "facts/moves.py: withheld",
        "facts/moves.py: letter of its own",
        "rules/by_move: rules",
        "tests/cases: cases",
    ]
