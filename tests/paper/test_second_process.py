"""Two processes print what one prints, whatever becomes of the other; no fork, no endless wait."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from mobicard.paper.pdf import second_process
from mobicard.paper.pdf import write as pdf
from mobicard.paper.pdf.second_process import SecondProcess
from tests.paper.beds import seven_levels
from tests.paper.test_pdf import texts

Start = Callable[[], "subprocess.Popen[bytes] | None"]
RECORD = Path(__file__).parents[2] / "examples" / "03-hip-day-two.json"


@pytest.fixture(scope="module")
def pages() -> list[str]:
    return texts(seven_levels() * 2)


@pytest.fixture(scope="module")
def alone(pages: list[str]) -> bytes:
    """What one process makes of them."""
    return pdf.write_pdf(pages, None, processes=1)


def program(code: str) -> Start:
    """Another program in the second process's place."""
    pipe = subprocess.PIPE
    return lambda: subprocess.Popen([sys.executable, "-c", code], stdin=pipe, stdout=pipe)


def test_the_second_process_lays_out_its_half(pages: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Were it to fail, its pages would be laid out here and nobody would notice."""
    monkeypatch.delattr(pdf, "_one_of_many")
    theirs = SecondProcess(pages)
    assert theirs.parts() == [second_process.laid_out(page) for page in pages]


@pytest.mark.parametrize(
    "code",
    [
        "import sys; sys.exit(9)",
        "import sys; sys.stdin.buffer.read(); print('no parts')",
        "import os, signal; os.kill(os.getpid(), signal.SIGKILL)",
    ],
    ids=["ends at once", "answers something else", "is killed"],
)
def test_a_second_process_that_fails_costs_no_page(
    code: str, pages: list[str], alone: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(second_process, "_started", program(code))
    assert pdf.write_pdf(pages, None, processes=2) == alone


def test_a_second_process_that_cannot_start_costs_no_page(
    pages: list[str], alone: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert pdf.write_pdf(pages, None, processes=2) == alone


def test_a_second_process_that_never_answers_is_waited_for_so_long_and_ended(
    pages: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    silent = program("import time; time.sleep(600)")()
    monkeypatch.setattr(second_process, "_started", lambda: silent)
    theirs = SecondProcess(pages)
    assert theirs.parts(patience_s=0.05) is None
    assert silent is not None
    assert silent.wait(5) != 0


def test_a_half_that_fails_here_leaves_no_second_process(
    pages: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    silent = program("import time; time.sleep(600)")()
    monkeypatch.setattr(second_process, "_started", lambda: silent)

    def no_paper(_page: str) -> None:
        raise RuntimeError("no paper")

    monkeypatch.setattr(pdf, "laid_out", no_paper)
    with pytest.raises(RuntimeError, match="no paper"):
        pdf.write_pdf(pages, None, processes=2)
    assert silent is not None
    assert silent.wait(5) != 0


NO_FORK = """
import os, sys
def forbidden(*_): raise AssertionError("forked")
os.fork = os.forkpty = forbidden
from mobicard.__main__ import main
sys.argv[:] = ["mobicard", *sys.argv[1:]]
main()
"""


def without_fork(*command: str, folder: Path) -> str:
    """What a command prints where forking is forbidden and the second process is asked for."""
    ran = subprocess.run(
        [sys.executable, "-c", NO_FORK, *command],
        capture_output=True,
        text=True,
        timeout=120,
        cwd=folder,
        check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def test_no_printing_path_forks(tmp_path: Path) -> None:
    """Newer Pango runs threads: a forked process waits for ever on a lock one of them held."""
    without_fork("demo", "--out", "demo", folder=tmp_path)
    ledger = ("--ledger", "demo/demo.sqlite")
    without_fork(*ledger, "--by", "JN", "cards", "--kind", "both", "--out", "cards", folder=tmp_path)
    without_fork(*ledger, "--by", "JN", "handoff", "--out", "handoff", folder=tmp_path)
    without_fork("cards", str(RECORD), "--out", "one", folder=tmp_path)
    made = {one.name for one in tmp_path.rglob("*.pdf")}
    assert {"door-cards.pdf", "bedside-cards.pdf", "handoff.pdf", "slip.pdf"} <= made


def test_no_file_of_the_product_forks() -> None:
    """By name: the calls, and the ways of asking a library for them."""
    product = Path(pdf.__file__).parents[1]
    for file in product.rglob("*.py"):
        text = file.read_text(encoding="utf-8")
        for call in ("os.fork(", "forkpty", "multiprocessing", "ProcessPoolExecutor", "preexec_fn"):
            assert call not in text, f"{file.name} has {call}"


def test_the_time_it_took_here_bounds_the_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three times this side's half and twenty seconds: a slow machine is not taken for a dead one."""
    waited: list[float] = []

    class Told:
        def result(self, limit: float) -> bytes:
            waited.append(limit)
            raise TimeoutError

    theirs = SecondProcess.__new__(SecondProcess)
    theirs._started = time.monotonic() - 10
    theirs._process = program("pass")()
    theirs._told = Told()  # type: ignore[assignment]
    assert theirs.parts() is None
    assert 50 <= waited[0] < 52
