"""Leaving the terminal while a ledger or a printer has not answered: said in words, and left at will."""

from __future__ import annotations

import asyncio
import signal
import subprocess
import sys
import threading

import pytest

from mobicard.terminal.at_station import running

WAITING = """
import asyncio, sys, threading
from mobicard.terminal.at_station import running

running.QUIET_S = float(sys.argv[1])

class App:
    return_code = 0
    async def run_async(self):
        print("left", file=sys.stderr)
        asyncio.get_running_loop().run_in_executor(None, threading.Event().wait)

running.run_to_its_end(App())
"""


class App:
    """An application that leaves something under way and is closed."""

    return_code = 3

    def __init__(self, *, seconds: float) -> None:
        self.over = threading.Event()
        self.ended = False
        threading.Timer(seconds, self.over.set).start()

    async def run_async(self) -> None:
        asyncio.get_running_loop().run_in_executor(None, self._wait)

    def _wait(self) -> None:
        self.over.wait()
        self.ended = True


@pytest.mark.parametrize(("quiet", "said"), [(20.0, False), (0.01, True)])
def test_what_is_under_way_ends_first(
    quiet: float, said: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A save on its way is not cut off; only one that keeps the person waiting is spoken of."""
    monkeypatch.setattr(running, "QUIET_S", quiet)
    app = App(seconds=0.2)
    assert running.run_to_its_end(app) == 3
    assert app.ended
    assert ("has not answered yet" in capsys.readouterr().err) is said


@pytest.mark.parametrize(("quiet", "last"), [(0.01, "Ctrl+C leaves at once"), (60.0, "left")])
def test_ctrl_c_leaves_at_once(quiet: float, last: str) -> None:
    """What never answers keeps nobody, said or not yet said; no fault of ours is shown."""
    command = [sys.executable, "-c", WAITING, str(quiet)]
    program = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    try:
        assert program.stderr
        assert any(last in line for line in iter(program.stderr.readline, ""))
        program.send_signal(signal.SIGINT)
        assert program.wait(10) == 1
        assert program.stderr.read().count("Traceback") == 0
    finally:
        program.kill()
        program.communicate()


def test_as_many_may_wait_on_one_core_as_on_many() -> None:
    """A ledger that is silent takes a thread for each look; the board's own must not wait for them."""
    seen: list[int] = []

    class Counting(App):
        async def run_async(self) -> None:
            loop = asyncio.get_running_loop()
            both = threading.Barrier(running.WORKERS)
            await asyncio.gather(*(loop.run_in_executor(None, both.wait, 10) for _ in range(running.WORKERS)))
            seen.append(both.parties)

    running.run_to_its_end(Counting(seconds=0))
    assert seen == [32]
