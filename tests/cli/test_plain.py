"""The record line after line: the form's own questions, for a screen that is read aloud."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.cli.by_line import LineRefused, answer_from, question_says
from mobicard.facts import read_record
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.questions import questions

NOW = "2026-03-02T08:00"
Walk = Callable[..., tuple[int, str]]
ALL_SEEN = ("a", "r", "c", "s", "s", "w", "b", *"bbbbbbbbb")
BY_PATH = {question.path: question for question in questions()}


@pytest.fixture
def walk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Walk:
    """Type these lines at ``mobicard record 5N-01 --plain``; the exit code and all that was said."""
    monkeypatch.setenv("MOBICARD_LEDGER", str(tmp_path / "unit.sqlite"))
    monkeypatch.setenv("MOBICARD_CONFIG", str(tmp_path / "config"))
    monkeypatch.chdir(tmp_path)
    assert run(["ledger", "new"]) == 0

    def typed(*lines: str, now: str = NOW) -> tuple[int, str]:
        capsys.readouterr()
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = run(["--by", "JN", "--now", now, "record", "5N-01", "--plain"])
        said = capsys.readouterr()
        return code, said.out + said.err

    return typed


def test_one_bed_from_start_to_card(walk: Walk, tmp_path: Path) -> None:
    """Admitted, recorded, the plan read out, the cards printed: no other command is needed."""
    code, said = walk("RT", *ALL_SEEN, ".", "y")
    assert code == 0, said
    assert "5N-01: recorded; NEARBY now" in said
    assert "\nBed to chair and back: NEARBY, 1 helper; " in said
    assert (tmp_path / "cards" / "door-cards.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "cards" / "bedside-cards.pdf").is_file()


def test_the_beginning_of_an_answers_words_is_that_answer() -> None:
    """“reli” is reliably; what begins none, or several, is refused whole and by its own name."""
    assert answer_from(BY_PATH["directions"], "reli", input).value == "reliable"
    assert answer_from(BY_PATH["help.chair"], "min", input).value == "minimal"
    for path, line in (("directions", "calm"), ("help.chair", "not"), ("directions", "steady")):
        with pytest.raises(LineRefused, match=f"“{line}” is no answer here"):
            answer_from(BY_PATH[path], line, input)


def test_nothing_in_it_moves_the_cursor_or_colours() -> None:
    """In a terminal too: no escape sequence, and no sign that a voice reads as its name."""
    code = """
import os, pty, subprocess, sys
here, there = pty.openpty()
asked = [sys.executable, "-m", "mobicard", *sys.argv[1:]]
done = subprocess.Popen(asked, stdin=there, stdout=there, stderr=there)
os.close(there)
os.write(here, b"RT\\na\\nr\\n*\\n.\\n\\n")
said = b""
while True:
    try:
        part = os.read(here, 65536)
    except OSError:
        break
    if not part:
        break
    said += part
sys.stdout.buffer.write(said)
sys.exit(done.wait())
"""
    with tempfile.TemporaryDirectory() as name:
        env = {**os.environ, "MOBICARD_LEDGER": f"{name}/unit.sqlite", "MOBICARD_CONFIG": name}
        env["TERM"] = "xterm-256color"
        subprocess.run(
            [sys.executable, "-m", "mobicard", "ledger", "new"], env=env, check=True, capture_output=True
        )
        words = ["--by", "JN", "--now", NOW, "record", "5N-01", "--plain"]
        done = subprocess.run([sys.executable, "-c", code, *words], env=env, capture_output=True, check=False)
    said = done.stdout.decode()
    assert done.returncode == 0, said
    assert "5N-01: recorded" in said
    assert "\x1b" not in said
    assert re.findall(r"[◦◊⌂◙▬▮▯#&]", said) == []


def test_it_asks_what_the_form_asks(walk: Walk) -> None:
    """One table of questions: none is left out, none is added."""
    _, said = walk("RT", *[""] * 80)
    asked = [question for question in questions() if f". {question.asks}? " in said]
    assert len(asked) == len(questions())
    assert "Nothing was answered; nothing was saved." in said


def test_the_answers_left_out_are_not_assessed(walk: Walk) -> None:
    """Missing is never taken as fine, read aloud as well."""
    code, said = walk("RT", "a", ".", "")
    assert code == 0
    assert "REMAIN now" in said
    assert "Not assessed: directions" in said


def test_stopped_before_saving_it_is_offered_again(walk: Walk) -> None:
    """The end of the input saves nothing and loses nothing."""
    code, said = walk("RT", "c")
    assert code == 1
    assert "kept and offered again" in said
    code, said = walk("y", ".", "")
    assert "1 answer was never saved, of 02 Mar 08:00." in said
    assert code == 0
    code, said = walk(".")
    assert "Alertness? " in said
    assert "Now: new confusion." in said


def test_what_stands_is_asked_about_before_it_counts_as_seen(walk: Walk) -> None:
    """A second look that answers one thing says whether the rest was seen again."""
    assert walk("RT", *ALL_SEEN, ".", "")[0] == 0
    code, said = walk("c", ".", "perhaps", "n", "", now="2026-03-02T09:00")
    assert code == 0, said
    assert "Still as last recorded: follows directions reliably" in said
    assert "One of: y, n." in said
    code, said = walk("=", ".", "y", "", now="2026-03-02T10:00")
    assert "recorded; " in said


def test_a_judgement_ends_or_is_made_again(walk: Walk, capsys: pytest.CaptureFixture[str]) -> None:
    assert walk("RT", *ALL_SEEN, ".", "")[0] == 0
    assert run(["--by", "AB", "--now", NOW, "judge", "5N-01", "HOIST", "--why", "weak tonight"]) == 0
    code, said = walk("=", "=", "=", ".", "n", "", now="2026-03-02T09:00")
    assert code == 0, said
    assert "Judged HOIST by AB: weak tonight." in said
    assert "NEARBY now" in said


def test_a_precaution_ends_in_somebodys_name(walk: Walk) -> None:
    assert walk("RT", *ALL_SEEN, "/precautions", "s", ".", "")[0] == 0
    code, said = walk("=", "=", "=", "/precautions", "0", ".", "", "Dr A", "", now="2026-03-02T09:00")
    assert code == 0, said
    assert "over: who says so, by name?" in said


@pytest.mark.parametrize(
    ("path", "line", "value"),
    [
        ("alertness", "new confusion", "new_confusion"),
        ("alertness", "C", "new_confusion"),
        ("help.chair", "2m", "minimal"),
        ("weight_kg", "68 kg", 68.0),
        ("weight_kg", "150 lb", 68.04),
        ("height_cm", "5 ft 9 in", 175.3),
        ("weight_bearing.left_leg", "p50%", {"status": "PWB", "percent": 50.0}),
        ("precautions", "0", []),
        ("vitals.lying", "128/76 80", {"sbp": 128, "dbp": 76, "hr": 80}),
        ("vitals.spo2", "94", 94),
        ("goals", "c3", [{"task": "chair", "times_per_shift": 3}]),
        ("communication.note", "Speaks with her hands", "Speaks with her hands"),
    ],
)
def test_a_line_is_an_answer(path: str, line: str, value: object) -> None:
    """Figures with their units as people write them; a letter or its words."""
    step = answer_from(BY_PATH[path], line, lambda asks: "")
    assert step.value == value
    assert step.helpers == (2 if path == "help.chair" else None)


def test_lines_and_drains_are_told_apart_by_spaces() -> None:
    """A letter and its side; a side left open; a note after a colon belongs to the last."""
    lines = BY_PATH["lines"]
    first, second = (choice for choice in lines.choices[:2])
    step = answer_from(lines, f"{first.key}l {second.key}: Keep dry", lambda asks: "")
    assert step.value == [
        {"kind": first.value, "side": "left"},
        {"kind": second.value, "note": "Keep dry"},
    ]


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ("alertness", "z"),
        ("alertness", "ar"),
        ("alertness", "cu"),
        ("weight_kg", "68"),
        ("weight_kg", "kg"),
        ("help.chair", "2"),
    ],
)
def test_what_is_no_answer_is_refused(path: str, line: str) -> None:
    with pytest.raises(LineRefused):
        answer_from(BY_PATH[path], line, lambda asks: "")


def test_the_same_answers_are_not_read_twice() -> None:
    told = Answers(read_record({"bed": "5N-01"}))
    chair, walk = BY_PATH["help.chair"], BY_PATH["help.walk"]
    assert "contact guard" in question_says(walk, told)
    assert "Answers as before" in question_says(walk, told, chair)


@pytest.mark.parametrize("words", [["record", "5N-01"], ["record", "5N-01", "x.json", "--plain"]])
def test_a_file_or_plain_one_of_them(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == 2
    assert "--plain" in capsys.readouterr().err
