"""The layers of the house: imports point down only, and the core stays free of screen, store and page."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from mobicard.cli.main import COMMANDS

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


NO_LEDGER = {"sqlalchemy", "sqlite3", "jinja2", "textual", "ortools", "hl7", "asyncio", "weasyprint"}
NO_PAGE = {"jinja2", "textual", "ortools", "hl7", "weasyprint", "psycopg"}

NO_DESK = {"mobicard.ward.hands_desk", "mobicard.ward.brief_desk", "urllib.request"}


@pytest.mark.parametrize(
    ("words", "without"),
    [
        (["--help"], NO_LEDGER | {"mobicard.ward", "mobicard.derive", "mobicard.facts.record"}),
        (["plan", "examples/03-hip-day-two.json"], NO_LEDGER | {"mobicard.ledger.ledger"}),
        (["plan", "--rules"], NO_LEDGER | {"mobicard.ledger.ledger"}),
        (["check", "7Q4MKD"], NO_PAGE | NO_DESK | {"mobicard.derive.brief", "mobicard.paper.pdf.write"}),
        (["stay", "list"], NO_PAGE | NO_DESK | {"mobicard.ward.clerk.doors", "mobicard.derive.brief"}),
    ],
    ids=lambda said: " ".join(said) if isinstance(said, list) else "",
)
def test_a_command_loads_what_it_uses(words: list[str], without: set[str], tmp_path: Path) -> None:
    """Each named module is one that the command does well without."""
    ledger = str(tmp_path / "ledger.sqlite")
    code = (
        "import sys; from mobicard.cli import run; "
        "'plan' in sys.argv or '--help' in sys.argv or run(['--ledger', sys.argv[1], 'ledger', 'new']); "
        "code = run(['--ledger', sys.argv[1], '--by', 'JN', *sys.argv[2:]]); "
        "print(*sys.modules, file=sys.stderr); sys.exit(code)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, ledger, *words], capture_output=True, text=True, check=False
    )
    assert "mobicard.cli.main" in ran.stderr, ran.stderr
    assert not set(ran.stderr.split()) & without


def test_the_list_of_commands_says_what_each_does() -> None:
    for says in (says for _, says in COMMANDS.values()):
        assert 20 <= len(says) <= 62, says


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
