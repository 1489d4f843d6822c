"""What comes in from outside: a partner that never writes, never ends or is not there is refused in words."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from mobicard import inflow
from mobicard.cli import run

EXAMPLE = Path(__file__).parents[1] / "examples" / "03-hip-day-two.json"
NOW = "2026-03-02T08:00"


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits, so short that the tests need not wait for them."""
    monkeypatch.setattr(inflow, "SILENCE_S", 0.1)


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    """A named pipe that nobody writes to."""
    path = tmp_path / "pipe.toml"
    os.mkfifo(path)
    return path


@contextmanager
def standard_input(
    monkeypatch: pytest.MonkeyPatch, *, says: bytes = b"", ends: bool = False
) -> Iterator[None]:
    """Standard input as a pipe that a program holds open, saying this much."""
    there, here = os.pipe()
    os.write(here, says)
    if ends:
        os.close(here)
    with os.fdopen(there) as stream:
        monkeypatch.setattr("sys.stdin", stream)
        yield
    if not ends:
        os.close(here)


@pytest.mark.parametrize(
    "words",
    [
        ["plan", "{pipe}"],
        ["plan", "--lines", "{pipe}"],
        ["plan", "--fhir", "{pipe}"],
        ["--policy", "{pipe}", "plan", str(EXAMPLE)],
        ["--inventory", "{pipe}", "plan", str(EXAMPLE)],
        ["census", "{pipe}"],
        ["census", str(EXAMPLE), "--map", "{pipe}"],
        ["--by", "JN", "hands", "--staff", "{pipe}"],
    ],
    ids=lambda words: " ".join(words).replace(str(EXAMPLE), "FILE"),
)
def test_a_pipe_nobody_writes_to_is_named(
    words: list[str], pipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each file a person may name gives up a silent pipe with the sentence and exit code 1."""
    assert run(["ledger", "new"]) == 0
    assert run([word.replace("{pipe}", str(pipe)) for word in words]) == 1
    said = capsys.readouterr().err
    assert f"{pipe}: cannot be read (nothing came out of it for 0.1 s; see to the program that writes" in said


@pytest.mark.parametrize("more", [[], ["--lines"]], ids=["record", "lines"])
def test_standard_input_that_stays_silent(
    more: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A program that holds the pipe open and says nothing is not waited for for ever."""
    with standard_input(monkeypatch):
        assert run(["plan", *more, "-"]) == 1
    assert "standard input: cannot be read (nothing came out of it for 0.1 s" in capsys.readouterr().err


def test_lines_before_the_silence_are_planned(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What came before the silence is answered; the half line after it is not guessed at."""
    with standard_input(monkeypatch, says=b'{"bed": "12-A"}\n{"bed": "12'):
        assert run(["plan", "--now", NOW, "--lines", "-"]) == 1
    out, said = capsys.readouterr()
    assert len(out.splitlines()) == 1
    assert '"12-A"' in out
    assert "nothing came out of it" in said


def test_a_closed_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """As a shell's ``<&-`` leaves it."""
    monkeypatch.setattr("sys.stdin", None)
    assert run(["plan", "-"]) == 1
    assert "standard input: cannot be read (it is closed)" in capsys.readouterr().err


@pytest.mark.parametrize("more", [[], ["--lines"]], ids=["record", "lines"])
def test_a_device_that_never_ends(
    more: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Memory is not filled with what never ends."""
    monkeypatch.setattr(inflow, "MOST_BYTES", 2**20)
    assert run(["plan", *more, "/dev/zero"]) == 1
    assert "/dev/zero: cannot be read (it goes on past 1 MB)" in capsys.readouterr().err


def test_a_facility_folder_with_a_pipe_in_it(pipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The doctor names the pipe and goes on with the other checks."""
    folder = pipe.parent / "config" / "phrases"
    folder.mkdir(parents=True)
    pipe.rename(folder / "xx.toml")
    assert run(["--config", str(folder.parent), "--ledger", str(pipe.parent / "l.sqlite"), "doctor"]) == 1
    said = capsys.readouterr().out
    assert f"FAIL  phrases: {folder / 'xx.toml'}: cannot be read (nothing came out of it" in said
    assert "ok    ledger" in said


@pytest.mark.parametrize(
    "words", [["ledger", "restore", "{pipe}", "new.sqlite"], ["ledger", "import", "{pipe}"]]
)
def test_a_backup_is_a_file(
    words: list[str], pipe: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A backup is looked at twice, which a pipe does not allow."""
    words = [word.replace("{pipe}", str(pipe)).replace("new", str(tmp_path / "new")) for word in words]
    assert run(["--ledger", str(tmp_path / "own.sqlite"), "ledger", "new"]) == 0
    assert run(["--ledger", str(tmp_path / "own.sqlite"), *words]) == 1
    assert "pipe or a device, not a file" in capsys.readouterr().err


def test_a_ledger_is_a_file(pipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--ledger", str(pipe), "stay", "list"]) == 1
    assert f"{pipe}: it is a pipe or a device, not a file" in capsys.readouterr().err


@pytest.mark.parametrize("gone", [False, True], ids=["still there", "left before we came"])
def test_a_pipe_with_a_writer_is_read_to_its_end(gone: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """As a shell's ``<(program)`` hands it over, whether or not the program has ended already."""
    monkeypatch.setattr(inflow, "SILENCE_S", 5.0)
    there, here = os.pipe()
    whole = b'{"bed": "12-A"}\r\n' * 3
    os.write(here, whole)
    writer = threading.Timer(0 if gone else 0.2, os.close, [here])
    writer.start()
    if gone:
        writer.join()
    assert inflow.read_text(Path(f"/dev/fd/{there}")) == whole.decode().replace("\r\n", "\n")
    writer.join()
    os.close(there)


def test_a_silent_pipe_is_waited_for_in_seconds(pipe: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl+C between the last look and the wait is heard when the wait ends: not after a minute."""
    waited: list[float] = []

    class Clock:
        def register(self, *_: int) -> None:
            pass

        def poll(self, milliseconds: float) -> list[int]:
            waited.append(milliseconds)
            return []

    monkeypatch.setattr(inflow, "SILENCE_S", 60.0)
    monkeypatch.setattr("select.poll", Clock)
    with pytest.raises(TimeoutError):
        inflow.read_bytes(pipe)
    assert sum(waited) == 60_000
    assert max(waited) <= 1_000


def test_standard_input_is_read_to_its_end(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with standard_input(monkeypatch, says=EXAMPLE.read_bytes(), ends=True):
        assert run(["plan", "--now", NOW, "-"]) == 0
    from_pipe = capsys.readouterr().out
    assert run(["plan", "--now", NOW, str(EXAMPLE)]) == 0
    assert capsys.readouterr().out == from_pipe


def test_lines_are_whole_however_they_come(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line cut in two by the end of a piece is one line; a last one needs no end."""
    monkeypatch.setattr(inflow, "_PIECE", 3)
    file = tmp_path / "lines"
    file.write_bytes(b"one\ntwo and more\n\nlast")
    assert list(inflow.lines(file)) == [b"one", b"two and more", b"", b"last"]
