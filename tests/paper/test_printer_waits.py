"""A print service that is there and never answers: named, and no page counted as printed."""

from __future__ import annotations

import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from mobicard.cli import run
from mobicard.doctor import run_doctor
from mobicard.doctor.machine import printing
from mobicard.doctor.subject import Machine, Setup
from mobicard.paper.printer import job_state
from mobicard.paper.printer import queue as printer
from mobicard.paper.printer.queue import PrinterSilent, printers, send

EXAMPLE = Path(__file__).parents[2] / "examples" / "03-hip-day-two.json"
SILENT = "exec sleep 60"


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits, so short that the tests need not wait for them."""
    for module, name in (
        (printer, "HAND_OVER_S"),
        (printer, "LOOK_S"),
        (job_state, "TIMEOUT_S"),
        (printer, "POLL_S"),
    ):
        monkeypatch.setattr(module, name, 0.2)


@pytest.fixture
def page(tmp_path: Path) -> Path:
    pdf = tmp_path / "door-cards.pdf"
    pdf.write_bytes(b"%PDF-1.7\n")
    return pdf


@pytest.fixture
def tools(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder before all others on the path, for an `lp` and an `lpstat` of our own."""
    folder = tmp_path / "tools"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder), prepend=":")
    _tool(folder, "lp", 'echo "request id is ward-7 (1 file(s))"')
    _tool(folder, "lpstat", SILENT)
    return folder


def _tool(folder: Path, name: str, does: str) -> None:
    tool = folder / name
    tool.write_text(f"#!/bin/sh\n{does}\n")
    tool.chmod(0o755)


@pytest.fixture
def silent() -> Iterator[str]:
    """Where something takes every connection and never says a word."""
    with socket.create_server(("127.0.0.1", 0)) as listening:
        yield f"127.0.0.1:{listening.getsockname()[1]}"


def test_a_silent_lp_leaves_it_open_whether_it_took_the_pages(page: Path, tools: Path) -> None:
    _tool(tools, "lp", SILENT)
    answer = send(page, "ward")
    assert (answer.state, answer.ok, answer.job) == ("unknown", False, None)
    assert "did not answer within 0.2 s" in answer.says
    assert "look at the printer first" in answer.says


def test_the_command_ends_with_the_sentence_and_the_files(
    tools: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _tool(tools, "lp", SILENT)
    out = tmp_path / "out"
    words = ["cards", str(EXAMPLE), "--out", str(out), "--kind", "door", "--printer", "ward"]
    assert run(words) == 1
    said = capsys.readouterr().err
    assert "door-cards.pdf: the print service did not answer within 0.2 s" in said
    assert f"The files are written: {out}" in said


def test_a_service_that_falls_silent_with_the_job_is_given_up(page: Path, tools: Path, silent: str) -> None:
    """Every single question would be waited for; together they keep to the time given."""
    _tool(tools, "lpstat", f'case "$*" in -H) echo {silent} ;; *) {SILENT} ;; esac')
    answer = send(page, "ward", wait_s=0.5)
    assert (answer.state, answer.job) == ("unknown", "ward-7")
    assert "ward took job ward-7, then the print service did not answer within 0.2 s" in answer.says
    assert "not known" in answer.says


def test_as_many_questions_as_fit_into_the_time(
    page: Path, tools: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The wait is by the clock, not a number of questions each of which may take its own time."""
    asked: list[float] = [0.0]

    def slowly(*_: object) -> job_state.Job:
        asked.append(asked[-1] + 10)
        raise job_state.NoAnswer

    monkeypatch.setattr(printer, "ask_job", slowly)
    monkeypatch.setattr(printer, "_server", lambda: "localhost:631")
    monkeypatch.setattr(printer.time, "monotonic", lambda: asked[-1])
    _tool(tools, "lpstat", "echo ward-7")
    assert send(page, "ward", wait_s=60, sleep=lambda _: None).state == "waiting"
    assert asked[-1] == 60


def test_the_queues_of_a_silent_service_are_not_none(tools: Path) -> None:
    with pytest.raises(PrinterSilent, match=r"did not answer within 0\.2 s"):
        printers()


def test_the_doctor_says_that_the_service_is_silent(tools: Path, tmp_path: Path) -> None:
    setup = Setup(tmp_path, machine=Machine(find_program=lambda name: name))
    (found,) = run_doctor(setup, [("printer", printing)])
    assert (found.result, found.what) == ("fail", "printer")
    assert "did not answer within 0.2 s" in found.says


def test_a_user_without_a_name_prints_too(
    page: Path, tools: Path, silent: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As in a container started under a bare number."""

    def nameless() -> str:
        raise KeyError("getpwuid(): uid not found: 4711")

    monkeypatch.setattr(printer.getpass, "getuser", nameless)
    _tool(tools, "lpstat", f'case "$*" in -H) echo {silent} ;; *) echo ward-7 ;; esac')
    assert send(page, "ward", wait_s=0.1).state == "waiting"


def test_an_lp_without_its_lpstat(
    page: Path, tools: Path, silent: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tools / "lpstat").unlink()
    monkeypatch.setenv("PATH", str(tools))
    monkeypatch.setattr(printer, "_server", lambda: silent)
    assert send(page, "ward", wait_s=0.1).state == "waiting"
