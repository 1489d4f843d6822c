"""Whatever a shell or a locale makes of input and output: the command does its work or says why not."""

from __future__ import annotations

import fcntl
import json
import os
import shlex
import signal
import subprocess
import sys
import termios
import time
from pathlib import Path

import pytest

from mobicard.cli import run, streams

EXAMPLE = Path(__file__).parents[2] / "examples" / "03-hip-day-two.json"
NOW = "2026-03-02T08:00"
PLAN = f"--now {NOW} plan {EXAMPLE}"


def shell(words: str, after: str = "", **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command in a shell of its own, as a person would write it; its own exit code, not the pipe's."""
    line = f"{shlex.quote(sys.executable)} -m mobicard {words} {after}; exit ${{PIPESTATUS[0]}}"
    return subprocess.run(
        ["bash", "-c", line], capture_output=True, env={**os.environ, **environment}, check=False
    )


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    path = tmp_path / "ledger.sqlite"
    assert run(["--ledger", str(path), "ledger", "new"]) == 0
    assert run(["--ledger", str(path), "--by", "JN", "stay", "admit", "4W-1"]) == 0
    return path


@pytest.mark.parametrize("closed", [">&-", "2>&-", "<&- >&- 2>&-"])
def test_what_a_shell_closed_is_done_without(
    closed: str, ledger: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The work is done and nothing is complained of; no file opens under a closed number."""
    ran = shell(f"--ledger {ledger} --by JN stay admit 4W-2", closed)
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert run(["--ledger", str(ledger), "stay", "list"]) == 0
    assert "4W-2" in capsys.readouterr().out


def test_a_reader_that_has_seen_enough_ends_it_well() -> None:
    """Behind ``| head`` there is no complaint, however much was still to come."""
    ran = shell("plan --rules", "| head -1")
    assert (ran.returncode, ran.stderr) == (0, b"")


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_a_file_or_program_gets_utf_8_in_every_locale(encoding: str) -> None:
    """Level marks are in no old alphabet; what another program reads must be whole."""
    ran = shell(PLAN, "| cat", PYTHONIOENCODING=encoding)
    assert ran.returncode == 0, ran.stderr
    assert "▬ REMAIN" in ran.stdout.decode("utf-8") or "LINK" in ran.stdout.decode("utf-8")


def test_an_export_in_an_old_alphabet(ledger: Path) -> None:
    ran = shell(f"--ledger {ledger} export --csv", "| cat", PYTHONIOENCODING="ascii")
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.decode("utf-8-sig").startswith("bed,")


def test_a_file_named_in_no_alphabet_is_used_as_it_is(tmp_path: Path) -> None:
    """Its name goes out byte for byte as it came in."""
    out = os.fsencode(tmp_path) + b"/caf\xe9.json"
    ran = subprocess.run(
        [sys.executable, "-m", "mobicard", "export", "--schema", "--out", out],
        capture_output=True,
        check=False,
    )
    assert (ran.returncode, ran.stdout) == (0, out + b"\n"), ran.stderr


def test_a_ledger_named_in_no_alphabet_is_used_as_it_is(tmp_path: Path) -> None:
    path = os.fsencode(tmp_path) + b"/caf\xe9.sqlite"
    station = [sys.executable, "-m", "mobicard", "--ledger", path]
    for words in (("ledger", "new"), ("--by", "JN", "stay", "admit", "4W-1")):
        ran = subprocess.run([*station, *words], capture_output=True, check=False)
        assert ran.returncode == 0, ran.stderr
    assert os.path.exists(path)


def test_a_screen_of_another_alphabet_keeps_its_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sign it lacks is one column wide, as the sign would have been."""
    there, here = os.openpty()
    with os.fdopen(there, "rb") as shown, os.fdopen(here, "w", encoding="latin-1") as screen:
        monkeypatch.setattr("sys.stderr", screen)
        streams.make_ready()
        print("▬ REMAIN é", file=screen, flush=True)
        assert shown.read1().rstrip() == b"? REMAIN \xe9"


def test_half_a_sign_in_a_record_is_answered_on_its_line(tmp_path: Path) -> None:
    lines = tmp_path / "lines"
    lines.write_text('{"bed": "12-A", "label": "\\ud800"}\n{"bed": "12-B"}\n')
    ran = shell(f"plan --now {NOW} --lines {lines}")
    first, second = ran.stdout.splitlines()
    assert rb"\ud800" in first
    assert b"12-B" in second


@pytest.mark.parametrize(
    "words", ["--ledger {} stay admit 4W-2", "--ledger {} people add KEEP --role keeper", ""]
)
def test_nobody_is_asked_where_input_is_closed(words: str, ledger: Path) -> None:
    ran = shell(words.format(ledger), "<&-")
    assert ran.returncode == 1
    assert b"keyboard" in ran.stderr


def test_a_screen_that_writes_line_after_line_is_refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As inside an editor or a log: it would be filled with signs meant for a real screen."""
    for name in ("stdin", "stdout"):
        monkeypatch.setattr(f"sys.{name}.isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "dumb")
    assert run([]) == 1
    assert "its TERM is dumb" in capsys.readouterr().err


def test_an_export_goes_into_the_planner(ledger: Path, tmp_path: Path) -> None:
    """What ``export --lines`` writes ``plan --lines -`` reads: a plan for the bed."""
    ran = shell(
        f"--ledger {ledger} export --lines", f"| {shlex.quote(sys.executable)} -m mobicard plan --lines -"
    )
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["bed"] == "4W-1"


@pytest.mark.parametrize(
    "words",
    [
        ("export", "--fhir", "--csv"),
        ("plan", str(EXAMPLE), "--codes", "--why", "chair"),
        ("plan", str(EXAMPLE), "--json", "--why", "chair"),
    ],
)
def test_two_kinds_of_answer_at_once_are_wrong_use(words: tuple[str, ...]) -> None:
    """One would be left out unsaid."""
    assert run(words) == 2


HEARS_CTRL_C = """
import signal
signal.signal(signal.SIGINT, signal.default_int_handler)
from mobicard.__main__ import main
main()
"""
"""What a shell runs in the background is told to ignore Ctrl+C, tests and all they start."""


def test_a_command_stopped_by_ctrl_c_says_so(tmp_path: Path) -> None:
    """Exit code 130, as shells count it: a bed list that never comes is given up."""
    assert run(["--ledger", str(tmp_path / "l"), "ledger", "new"]) == 0
    with subprocess.Popen(
        [sys.executable, "-c", HEARS_CTRL_C, "--ledger", str(tmp_path / "l"), "census", "-"],
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as waiting:
        assert waiting.stdin is not None
        assert waiting.stderr is not None
        waiting.stdin.write(b"bed,")
        waiting.stdin.flush()
        while unread(waiting.stdin.fileno()):
            assert waiting.poll() is None
            time.sleep(0.01)
        waiting.send_signal(signal.SIGINT)
        says = waiting.stderr.read()
    assert waiting.returncode == 130
    assert b"what was saved is saved" in says


def unread(pipe: int) -> int:
    """How many bytes of a pipe nobody has read yet."""
    return int.from_bytes(fcntl.ioctl(pipe, termios.FIONREAD, b"\0" * 4), sys.byteorder)


@pytest.mark.parametrize("during", ["mobicard.cli", "click", "mobicard.cli.main", "mobicard.ledger.ledger"])
def test_ctrl_c_before_a_command_has_begun_is_no_traceback(during: str, tmp_path: Path) -> None:
    """The keys of an impatient hand come while the modules are still read: the same code, one sentence."""
    code = f"""
import sys
class Impatient:
    def find_spec(self, name, path=None, target=None):
        if name == {during!r}:
            raise KeyboardInterrupt
sys.meta_path.insert(0, Impatient())
from mobicard.__main__ import main
main()
"""
    words = ["--ledger", str(tmp_path / "l"), "ledger", "new"]
    ran = subprocess.run([sys.executable, "-c", code, *words], check=False, capture_output=True, text=True)
    assert ran.returncode == 130
    said = ran.stderr.strip()
    assert said.startswith("mobicard: stopped")
    assert len(said.splitlines()) == 1
