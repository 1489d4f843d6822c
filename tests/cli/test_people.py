"""Once the ledger has a staff list, nobody does anything without signing in, and each only the role's own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.ledger import Ledger, Person


@pytest.fixture
def unit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A ledger with a keeper, a nurse, a clerk and a reader, and one bed."""
    ledger = tmp_path / "unit.sqlite"
    monkeypatch.setenv("MOBICARD_LEDGER", str(ledger))
    assert run(["ledger", "new"]) == 0
    assert run(["--by", "JN", "stay", "admit", "5N-01"]) == 0
    assert run(["people", "add", "KP", "--role", "keeper", "--pin", "471100"]) == 0
    monkeypatch.setenv("MOBICARD_PIN", "471100")
    for initials, role in (("JN", "nurse"), ("CL", "clerk"), ("RD", "reader")):
        assert (
            run(["--by", "KP", "people", "add", initials, "--role", role, "--pin", f"{initials}2468"[-4:]])
            == 0
        )
    monkeypatch.delenv("MOBICARD_PIN")
    return ledger


def as_person(monkeypatch: pytest.MonkeyPatch, initials: str, pin: str, *words: str) -> int:
    """Exit code of a command by this person."""
    monkeypatch.setenv("MOBICARD_PIN", pin)
    return run(["--by", initials, *words])


def test_nobody_reads_without_signing_in(unit: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Board, handoff, export and check are refused to whoever walks past."""
    capsys.readouterr()
    for words in (["stay", "list"], ["handoff", "--json"], ["export", "--lines"], ["check", "AAAAAA"]):
        assert run(words) == 1, words
        captured = capsys.readouterr()
        assert "5N-01" not in captured.out + captured.err
        assert "needed" in captured.err


def test_a_wrong_pin_is_refused(
    unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Right initials, wrong PIN: nothing is shown."""
    assert as_person(monkeypatch, "JN", "0000", "stay", "list") == 1
    assert "5N-01" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("who", "words", "code"),
    [
        ("JN", ("stay", "list"), 0),
        ("JN", ("stay", "admit", "5N-02"), 0),
        ("CL", ("stay", "admit", "5N-02"), 0),
        ("CL", ("stay", "procedure", "5N-01", "hip nailing"), 1),
        ("RD", ("stay", "list"), 0),
        ("RD", ("stay", "admit", "5N-02"), 1),
        ("RD", ("stay", "discharge", "5N-01"), 1),
        ("RD", ("people", "add", "XX", "--role", "nurse", "--pin", "9999"), 1),
        ("JN", ("people", "add", "XX", "--role", "keeper", "--pin", "9999"), 1),
    ],
)
def test_each_role_does_only_its_own(
    who: str, words: tuple[str, ...], code: int, unit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clerk says nothing of the patient, the reader changes nothing, only the keeper adds people."""
    assert as_person(monkeypatch, who, "2468", *words) == code


def test_the_reader_cannot_print(unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No card leaves through the reader's hands, and no file is written."""
    out = tmp_path / "cards"
    assert as_person(monkeypatch, "RD", "2468", "cards", "--out", str(out)) == 1
    assert not out.exists()


@pytest.mark.parametrize(
    "words", [["export", "--ledger"], ["ledger", "export", "F"], ["ledger", "backup", "F"]]
)
def test_only_the_keeper_takes_everything_away(
    unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str]
) -> None:
    """A reader had every entry and what each PIN was made into by the other command."""
    there = [str(tmp_path / "all") if word == "F" else word for word in words]
    for who in ("RD", "CL", "JN"):
        assert as_person(monkeypatch, who, "2468", *there) == 1
    assert not (tmp_path / "all").exists()
    assert as_person(monkeypatch, "KP", "471100", *there) == 0


def test_an_export_to_read_holds_no_pins(
    unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Four figures are found from what argon2id made of them in minutes."""
    out = str(tmp_path / "lines.jsonl")
    assert as_person(monkeypatch, "KP", "471100", "export", "--ledger", "--out", out) == 0
    said = Path(out).read_text(encoding="utf-8")
    assert '"person":{"initials":"KP"' in said
    assert "verifier" not in said
    assert "salt" not in said
    capsys.readouterr()
    assert run(["ledger", "restore", out, str(tmp_path / "again.sqlite")]) == 1
    assert "without PINs" in capsys.readouterr().err
    assert list(tmp_path.glob("again*")) == []


def test_what_was_taken_away_is_in_the_audit(
    unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for words in (["export", "--ledger"], ["ledger", "export", "a"], ["ledger", "backup", "b"]):
        there = [str(tmp_path / word) if len(word) == 1 else word for word in words]
        assert as_person(monkeypatch, "KP", "471100", *there) == 0
    capsys.readouterr()
    assert as_person(monkeypatch, "KP", "471100", "ledger", "audit", "--person", "KP") == 0
    said = [
        line.split("backed up")[1].split()
        for line in capsys.readouterr().out.splitlines()
        if "backed" in line
    ]
    assert said == [["export"], ["export", "a"], ["copy", "b"]]


def test_what_was_listed_and_checked_is_in_the_audit(
    unit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A list of beds, of the staff, of the audit itself, a check, an open format: who took it."""
    lists = (["stay", "list"], ["people", "list"], ["ledger", "audit"], ["ledger", "retention"])
    for words in (*lists, ["check", "7Q4MKD"], ["export", "--csv"], ["ledger", "verify"]):
        as_person(monkeypatch, "KP", "471100", *words)
    capsys.readouterr()
    assert as_person(monkeypatch, "KP", "471100", "ledger", "audit", "--json", "--person", "KP") == 0
    saw = [line["says"].split() for line in json.loads(capsys.readouterr().out) if line["did"] == "saw"]
    first = [words[:2] for words in saw if words]
    expected = ["bed list", "staff list", "audit", "stays kept", "check of", "export as", "check of"]
    assert [" ".join(words) for words in first] == [*expected, "audit KP"]


# -- changing the list -------------------------------------------------------------------------------


def as_keeper(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    return as_person(monkeypatch, "KP", "471100", "people", *words)


def test_the_keeper_gives_another_role(
    unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The clerk made nurse may save what only nurses may; made clerk again, no more."""
    procedure = ("stay", "procedure", "5N-01", "hip nailing")
    assert as_person(monkeypatch, "CL", "2468", *procedure) == 1
    assert as_keeper(monkeypatch, "change", "cl", "--role", "nurse") == 0
    assert "CL may sign in as nurse" in capsys.readouterr().out
    assert as_person(monkeypatch, "CL", "2468", *procedure) == 0
    assert as_keeper(monkeypatch, "change", "CL", "--role", "clerk") == 0
    assert as_person(monkeypatch, "CL", "2468", *procedure) == 1


def test_off_ends_signing_in_and_on_begins_it_again(
    unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Who left does nothing more, stays on the list, and may come back with the same PIN."""
    assert as_keeper(monkeypatch, "change", "JN", "--off") == 0
    assert "JN may not sign in as nurse" in capsys.readouterr().out
    assert as_person(monkeypatch, "JN", "2468", "stay", "list") == 1
    capsys.readouterr()
    assert as_keeper(monkeypatch, "list") == 0
    assert "nurse (off: may not sign in)" in capsys.readouterr().out
    assert as_keeper(monkeypatch, "change", "JN", "--on") == 0
    assert as_person(monkeypatch, "JN", "2468", "stay", "list") == 0


def test_a_new_pin_is_asked_for_unseen_and_holds_at_once(
    unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Typed twice without being shown; the old one is of no use after it, and neither is ever printed."""
    asked: list[str] = []

    def typed(prompt: str) -> str:
        asked.append(prompt)
        return "583921"

    monkeypatch.setattr("click.termui.hidden_prompt_func", typed)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    assert as_keeper(monkeypatch, "change", "JN", "--pin") == 0
    assert len(asked) == 2
    captured = capsys.readouterr()
    assert "with the new PIN" in captured.out
    assert as_person(monkeypatch, "JN", "2468", "stay", "list") == 1
    assert as_person(monkeypatch, "JN", "583921", "stay", "list") == 0
    assert as_keeper(monkeypatch, "list", "--json") == 0
    rest = capsys.readouterr()
    for pin in ("583921", "2468", "471100"):
        assert pin not in captured.out + captured.err + rest.out + rest.err
    assert b"583921" not in unit.read_bytes()


@pytest.mark.parametrize("words", [("change", "JN", "--pin"), ("add", "NN", "--role", "nurse")])
def test_without_a_keyboard_no_pin_is_asked_for(
    words: tuple[str, ...], unit: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Reading it from a pipe would show it; the old one still holds."""
    before = _people(unit)
    assert as_keeper(monkeypatch, *words) == 1
    assert "no keyboard" in capsys.readouterr().err
    assert _people(unit) == before
    assert as_person(monkeypatch, "JN", "2468", "stay", "list") == 0


def test_a_new_pin_ends_the_wait_after_wrong_tries(unit: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever forgot the PIN goes to the keeper, and need not wait as well."""
    for _ in range(6):
        assert as_person(monkeypatch, "JN", "000999", "stay", "list") == 1
    assert as_person(monkeypatch, "JN", "2468", "stay", "list") == 1
    assert as_keeper(monkeypatch, "change", "JN", "--pin", "583921") == 0
    assert as_person(monkeypatch, "JN", "583921", "stay", "list") == 0


@pytest.mark.parametrize("who", ["JN", "CL", "RD"])
@pytest.mark.parametrize("what", [("--role", "keeper"), ("--off",), ("--pin", "583921")])
def test_only_the_keeper_changes_the_list(
    who: str, what: tuple[str, ...], unit: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not even one's own line."""
    before = _people(unit)
    assert as_person(monkeypatch, who, "2468", "people", "change", who, *what) == 1
    assert _people(unit) == before


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("ZZ", "--off"), 1, "ZZ is not on the staff list"),
        (("KP", "--off"), 1, "Someone must stay keeper"),
        (("KP", "--role", "nurse"), 1, "Someone must stay keeper"),
        (("JN", "--pin", "111111"), 1, "too easy to guess"),
        (("JN", "--pin", "12"), 1, "A PIN is"),
        (("JN",), 2, "say what to change"),
        (("JN", "--role", "boss"), 2, "nurse"),
    ],
)
def test_a_change_that_will_not_do_is_said_and_changes_nothing(
    words: tuple[str, ...],
    code: int,
    says: str,
    unit: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Each in words, with nothing changed and no PIN repeated."""
    before = _people(unit)
    assert as_keeper(monkeypatch, "change", *words) == code
    captured = capsys.readouterr()
    assert says in captured.err
    assert "111111" not in captured.out + captured.err
    assert _people(unit) == before


def test_a_ledger_without_a_list_has_nobody_to_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first on the list is added, not changed."""
    monkeypatch.setenv("MOBICARD_LEDGER", str(tmp_path / "open.sqlite"))
    assert run(["ledger", "new"]) == 0
    assert run(["--by", "JN", "people", "change", "JN", "--off"]) == 1
    assert "add the keeper first" in capsys.readouterr().err


def test_every_change_is_in_the_chain(unit: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The keeper's entries say the list as it is; verify compares the two."""
    for words in (("--role", "reader"), ("--pin", "583921"), ("--off",), ("--on",)):
        assert as_keeper(monkeypatch, "change", "JN", *words) == 0
    assert run(["ledger", "verify"]) == 0
    with Ledger.open(unit) as ledger:
        said = [one for one in ledger.entries(kinds={"person"}) if one.body["initials"] == "JN"]
        assert [one.by for one in said[1:]] == ["KP"] * 4
        assert "583921" not in str([dict(one.body) for one in said])


def test_the_help_says_what_can_be_changed(capsys: pytest.CaptureFixture[str]) -> None:
    """Every option, and that it is the keeper's."""
    assert run(["people", "change", "--help"]) == 0
    said = capsys.readouterr().out
    for word in ("--role", "--pin", "--off", "--on", "Only the keeper"):
        assert word in said


def _people(unit: Path) -> list[Person]:
    with Ledger.open(unit) as ledger:
        return ledger.staff.everyone()
