"""What holds for every command: --json where it says something, beds completed, a wrong zone in words."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.shell_completion import BashComplete

from mobicard.cli import run
from mobicard.cli.main import cli
from mobicard.facts.refusal import PLAN_ID, RECORD_ID

NOW = "2026-03-02T08:00"
WRITES_A_FILE_OR_GOES_ON = {
    *("export", "shell completion", "shell man", "shell service"),
    *("feed", "web"),
}
"""These print what is asked for itself, or run until they are stopped."""


def commands(group: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    """Every command by the words it is called with."""
    if not isinstance(group, click.Group):
        yield " ".join(path), group
        return
    context = click.Context(group)
    for name in group.list_commands(context):
        one = group.get_command(context, name)
        assert one is not None
        yield from commands(one, (*path, name))


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """Two patients in three beds' names, one of another unit."""
    path = tmp_path / "unit.sqlite"
    for words in (
        ["ledger", "new"],
        ["stay", "admit", "5N-01"],
        ["stay", "admit", "5N-02"],
        ["stay", "admit", "6S-01"],
    ):
        assert run(["--ledger", str(path), "--by", "JN", "--now", NOW, *words]) == 0
    return path


def test_each_command_that_says_something_says_it_as_json_too() -> None:
    without = {
        words
        for words, one in commands(cli)
        if not any("--json" in getattr(param, "opts", ()) for param in one.params)
    }
    assert without == WRITES_A_FILE_OR_GOES_ON


@pytest.mark.parametrize(
    ("words", "key", "value"),
    [
        ("stay admit 5N-03", "bed", "5N-03"),
        ("stay move 5N-01 5N-09", "bed", "5N-09"),
        ("stay discharge 5N-01", "bed", "5N-01"),
        ("stay procedure 5N-01 operation", "bed", "5N-01"),
        ("stay merge 5N-01 5N-02", "bed", "5N-01"),
        ("ledger rebuild", "stays", 3),
        ("people add KP --role keeper --pin 481926", "role", "keeper"),
        ("about", "version", "0.1.0"),
    ],
)
def test_what_a_command_did_is_one_json_document(
    ledger: Path, capsys: pytest.CaptureFixture[str], words: str, key: str, value: object
) -> None:
    capsys.readouterr()
    assert run(["--ledger", str(ledger), "--by", "JN", "--now", NOW, *words.split(), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)[key] == value


@pytest.mark.parametrize("words", ["stay swap 5N-01 5N-02", "stay assign JN 5N-01 5N-02"])
def test_of_two_beds_two_are_told(ledger: Path, capsys: pytest.CaptureFixture[str], words: str) -> None:
    capsys.readouterr()
    assert run(["--ledger", str(ledger), "--by", "JN", "--now", NOW, *words.split(), "--json"]) == 0
    assert {one["bed"] for one in json.loads(capsys.readouterr().out)} == {"5N-01", "5N-02"}


def completed(ledger: Path, *words: str) -> list[str]:
    """What a shell offers for the last word."""
    before = ["--ledger", str(ledger), *words[:-1]]
    shell = BashComplete(cli, {}, "mobicard", "_MOBICARD_COMPLETE")
    return [item.value for item in shell.get_completions(before, words[-1])]


@pytest.mark.parametrize(
    ("words", "beds"),
    [
        (("stay", "move", "5n"), ["5N-01", "5N-02"]),
        (("record", "6"), ["6S-01"]),
        (("brief", ""), ["5N-01", "5N-02", "6S-01"]),
        (("cards", "--bed", "5N-02"), ["5N-02"]),
        (("export", "--bed", "7"), []),
        (("stay", "assign", "JN", "5N-01", "6"), ["6S-01"]),
    ],
)
def test_a_shell_completes_whole_bed_names(ledger: Path, words: tuple[str, ...], beds: list[str]) -> None:
    assert completed(ledger, *words) == beds


def test_a_completion_never_asks_and_never_refuses(ledger: Path, tmp_path: Path) -> None:
    """Where everybody signs in, or there is no ledger: nothing is offered, nothing is made."""
    assert completed(tmp_path / "none.sqlite", "record", "5") == []
    assert not (tmp_path / "none.sqlite").exists()
    assert run(["--ledger", str(ledger), "people", "add", "KP", "--role", "keeper", "--pin", "481926"]) == 0
    assert completed(ledger, "record", "5") == []


def test_what_was_exported_is_planned_from_standard_input_in_its_own_spelling(
    ledger: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    capsys.readouterr()
    before = ["--ledger", str(ledger), "--now", NOW]
    assert run([*before, "export", "--lines"]) == 0
    text = capsys.readouterr().out
    first = json.loads(text.splitlines()[0])
    assert (first["record"]["$id"], first["plan"]["$id"]) == (RECORD_ID, PLAN_ID)
    file = tmp_path / "lines"
    file.write_text(text, encoding="utf-8")
    with file.open("rb") as given:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(given))
        assert run([*before, "plan", "--lines", "-"]) == 0
    plans = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [plan["bed"] for plan in plans] == ["5N-01", "5N-02", "6S-01"]
    assert {plan["$id"] for plan in plans} == {PLAN_ID}


@pytest.mark.parametrize(
    "words",
    [
        "stay list",
        "export --lines",
        "export --fhir",
        "export --fhir-transaction",
        "export --fhir --since 07:00",
        "cards",
        "handoff",
        "hands",
        "plan {record}",
        "census {list}",
        "record 5N-01 {record}",
        "brief 5N-01 chair",
    ],
)
def test_a_wrong_time_zone_is_a_sentence_everywhere(
    ledger: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    words: str,
) -> None:
    """In the policy, and of the machine where the policy names none."""
    (tmp_path / "record.json").write_text('{"bed": "5N-01"}', encoding="utf-8")
    (tmp_path / "list.csv").write_text("Bed,Initials\n5N-01,RT\n", encoding="utf-8")
    (tmp_path / "policy.toml").write_text('[shift]\ntimezone = "Mars/Olympus"\n', encoding="utf-8")
    places = {"record": str(tmp_path / "record.json"), "list": str(tmp_path / "list.csv")}
    given = ["--ledger", str(ledger), "--by", "JN"], words.format(**places).split()
    assert run([*given[0], "--policy", str(tmp_path / "policy.toml"), *given[1]]) == 1
    assert "“Mars/Olympus” is no time zone this machine knows" in capsys.readouterr().err
    monkeypatch.setenv("TZ", "Mars/Olympus")
    assert run([*given[0], *given[1]]) == 1
    assert "TZ=Mars/Olympus, is none it knows" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        "plan x --json --why chair",
        "plan x --fhir --lines",
        "export --csv --fhir",
        "export --fhir --fhir-transaction",
        "export --csv --since 07:00",
        "export --fhir --since 07:00 --bed 5N-01",
    ],
)
def test_two_kinds_of_answer_at_once_are_wrong_use(ledger: Path, words: str) -> None:
    assert run(["--ledger", str(ledger), "--now", NOW, *words.split()]) == 2
