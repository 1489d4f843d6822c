"""The published handling tables, row by row, both sides of every threshold."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from cases import Case, cases

from mobicard.facts.words import Task

ALL = cases()


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.id)
def test_row(case: Case) -> None:
    """The row's level, helpers and equipment follow, and the named rules are among the reasons."""
    plan = case.plan()
    task, expected = plan.tasks[case.task], case.body
    assert task.level.value == expected["level"]
    if "helpers_at_least" in expected:
        assert (task.helpers or 0) >= expected["helpers_at_least"]
    else:
        assert task.helpers == expected.get("helpers")
    if "equipment" in expected:
        assert [item.value for item in task.equipment] == expected["equipment"]
    assert set(expected.get("fires", [])) <= {reason.rule for reason in task.reasons}
    assert set(expected.get("cautions", [])) <= set(task.cautions)
    if "share_lb" in expected:
        assert task.share_lb == pytest.approx(expected["share_lb"], abs=0.05)
    if "state" in expected:
        assert plan.after_fall is not None
        assert plan.after_fall.state == expected["state"]


def test_every_case_names_its_source() -> None:
    assert [case.id for case in ALL if len(case.body.get("source", "")) < 8] == []


def test_no_two_cases_share_a_name() -> None:
    assert len({case.id for case in ALL}) == len(ALL)


def test_the_tables_are_all_here() -> None:
    """Every move has published rows: a missing file would otherwise pass in silence."""
    assert {case.task.value for case in ALL} == {task.value for task in Task}
    assert len(ALL) > 120
