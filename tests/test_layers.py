"""The layers of the house: imports point down only, and the core stays free of screen, store and page."""

from __future__ import annotations

import subprocess
import sys

import pytest

CORE_FREE_OF = ("textual", "sqlalchemy", "weasyprint", "jinja2", "rich", "click")


def loaded_after(statement: str) -> set[str]:
    """Top-level modules in a fresh interpreter after a statement."""
    code = f"import sys; {statement}; print(*sorted({{name.split('.')[0] for name in sys.modules}}))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(ran.stdout.split())


@pytest.mark.parametrize("module", ["mobicard.facts", "mobicard.rules.policy", "mobicard.derive"])
def test_the_core_loads_no_screen_store_or_page(module: str) -> None:
    """Deriving a plan needs neither terminal, database nor template."""
    assert not loaded_after(f"import {module}") & set(CORE_FREE_OF)


def test_a_plan_loads_no_screen_store_or_page() -> None:
    """Also when a plan is really made, nothing of the upper layers is pulled in."""
    statement = (
        "from datetime import datetime; from mobicard.facts import Record; "
        "from mobicard.derive import plan_for, Policy; "
        "plan_for(Record(bed='1'), Policy(), datetime(2026, 3, 2))"
    )
    assert not loaded_after(statement) & set(CORE_FREE_OF)


@pytest.mark.parametrize("module", ["mobicard.cli.main", "mobicard.ward", "mobicard.terminal.app"])
def test_only_printing_pays_for_the_page_library(module: str) -> None:
    """The page library costs a third of a second: only commands that print load it."""
    assert "weasyprint" not in loaded_after(f"import {module}")


def test_imports_point_down() -> None:
    """The import contract of pyproject.toml holds."""
    ran = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
