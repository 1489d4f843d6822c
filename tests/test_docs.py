"""What the documents say is run: the example session, the README's commands, the key table."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from mobicard.cli import run

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SESSION = ROOT / "examples" / "session.txt"
TEST_COMMAND = "bash .ci/setup && .venv/bin/pytest -n 2"


def steps() -> list[tuple[str, str]]:
    """Each ``$ command`` of the session with the output printed under it."""
    parts = re.split(r"^\$ ", SESSION.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return [(part.split("\n", 1)[0], part.split("\n", 1)[1]) for part in parts]


def replay(commands: list[str], folder: Path, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What each command prints, run in order in one folder with the examples beside it."""
    for path in (ROOT / "examples").glob("*.*"):
        (folder / path.name).write_bytes(path.read_bytes())
    here = Path.cwd()
    os.chdir(folder)
    try:
        printed = []
        for line in commands:
            words = shlex.split(line)
            assert words[0] == "mobicard"
            capsys.readouterr()
            code = run(words[1:])
            captured = capsys.readouterr()
            printed.append(captured.out + captured.err + (f"(exit {code})\n" if code else ""))
        return printed
    finally:
        os.chdir(here)


def test_the_example_session_prints_what_it_says(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every command of examples/session.txt, in order, to the letter."""
    told = steps()
    assert len(told) >= 8
    printed = replay([command for command, _ in told], tmp_path, capsys)
    for (command, expected), found in zip(told, printed, strict=True):
        assert found.strip() == expected.strip(), command


def test_every_example_is_in_the_session_or_a_record() -> None:
    """No example lies about unused."""
    session = SESSION.read_text(encoding="utf-8")
    for path in (ROOT / "examples").iterdir():
        if path.is_dir() or path.suffix == ".json" or path == SESSION:
            continue
        if path.suffix == ".md":
            assert f"examples/{path.name}" in README
            continue
        assert path.name in session, path.name


def test_ci_runs_exactly_the_readmes_test_command() -> None:
    """One test command for strangers and for CI."""
    assert TEST_COMMAND in README
    assert TEST_COMMAND in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


README_PLANS = sorted(set(re.findall(r"^mobicard (plan [^#\n]+?)\s*$", README, re.MULTILINE)))


@pytest.mark.parametrize("line", README_PLANS)
def test_the_readmes_plan_commands_work(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the README tells a nurse to type does what it says."""
    monkeypatch.chdir(ROOT)
    assert run(shlex.split(line)) == 0


def test_the_readme_names_every_command() -> None:
    """A command nobody can find is no command."""
    from mobicard.cli.main import COMMANDS

    for name in COMMANDS:
        assert f"mobicard {name}" in README, name


def test_every_key_is_on_the_page_to_hang_up(capsys: pytest.CaptureFixture[str]) -> None:
    """One declaration a command: what the page says is what the key does."""
    from mobicard.terminal.commands import COMMANDS

    assert "mobicard shell --keys" in README
    assert run(["shell", "--keys"]) == 0
    rows = [line.split(maxsplit=0) for line in capsys.readouterr().out.splitlines()]
    printed = {" ".join(row[0].split()) for row in rows if row}
    wanted = {f"{one.shown_keys} {one.says}" for ours in COMMANDS.values() for one in ours}
    assert wanted <= printed


def test_the_readmes_label_is_the_programs_own() -> None:
    """One text: what the README says of limits and tests is what `mobicard about` prints."""
    from mobicard.derive import Policy
    from mobicard.paper.leaflet.label import as_markdown, label

    assert as_markdown(label(Policy())) in README, "python -m tests.bench.pictures --label writes it anew"


def test_the_readmes_pictures_are_there() -> None:
    """No broken picture."""
    for path in re.findall(r"!\[[^\]]*\]\(([^)]+)\)", README):
        assert (ROOT / path).is_file(), path


def test_the_top_level_stays_tidy() -> None:
    """Nothing but what belongs there."""
    files = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    allowed = files | {"mobicard", "templates", "tests", "examples"}
    tracked = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert tracked - {"build", "dist", "mobicard.egg-info", "demo", "cards", "handoff"} <= allowed


def test_every_file_the_developers_page_names_is_there() -> None:
    """A path in the page leads to a file; a facility's own file names stand without a folder."""
    named = re.findall(
        r"`([\w/]+/[\w.]+\.(?:py|toml))`", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    )
    assert len(named) > 10
    assert [one for one in named if not any((ROOT / base / one).exists() for base in (".", "mobicard"))] == []


def test_the_worked_example_of_a_rule_runs_as_written(tmp_path: Path) -> None:
    """In a copy: the rule of DEVELOPERS.md goes into the file it names and raises the plan it speaks of."""
    shutil.copytree(ROOT / "mobicard", tmp_path / "mobicard", ignore=shutil.ignore_patterns("__pycache__"))
    section = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Adding a rule", 1)[1]
    named = re.search(r"in the file of its subject \(here `([\w/]+\.py)`\)", section)
    written = re.search(r"```python\n(.*?)```", section, re.DOTALL)
    assert named is not None
    assert written is not None
    subject = tmp_path / "mobicard" / named.group(1)
    assert subject.is_file()
    names = re.search(r"when=([\w &|]+),", written.group(1))
    assert names is not None
    words = ", ".join(re.findall(r"\w+", names.group(1)))
    with subject.open("a", encoding="utf-8") as file:
        file.write(f"from mobicard.facts.moves import TRANSFERS\nfrom mobicard.rules.words import {words}\n")
        file.write(f"RULES += {textwrap.dedent(written.group(1)).strip()}\n")
    ran = subprocess.run(
        [sys.executable, "-c", WORKED_EXAMPLE],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        cwd=tmp_path,
    )
    assert ran.stdout.split() == ["2", "True"], ran.stderr


WORKED_EXAMPLE = """
from datetime import datetime
from mobicard.derive import Policy, plan_for
from mobicard.facts import read_record
seen = dict(alertness="alert", directions="reliable", behavior="fearful", sitting="steady", standing="steady",
            stepping="walks", arms="one", weight_kg=70, help={"chair": "standby"}, bed="1",
            assessed_at="2026-03-02T07:10", assessed_by="JN")
chair = plan_for(read_record(seen), Policy(), datetime(2026, 3, 2, 8)).as_json()["tasks"]["chair"]
print(chair["helpers"], any(one["rule"] == "behavior.fearful_one_arm" for one in chair["reasons"]))
"""
