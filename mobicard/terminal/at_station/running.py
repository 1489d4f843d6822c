"""Running the terminal, and its end while a ledger or a printer has not answered yet."""

from __future__ import annotations

import asyncio
import ctypes
import os
import signal
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from time import monotonic

from textual.app import App

from mobicard.terminal.at_station.keyboard import wait_quietly

WORKERS = 32
"""Threads at most, on a machine of any number of cores: they wait more than they work."""

QUIET_S = 2.0
"""Seconds after leaving in which what is under way may end without a word about it."""

_NAME = "mobicard-worker"


_PR_SET_PDEATHSIG = 1
"""prctl(2): the signal this process gets when the one that started it dies."""


def end_with_the_server() -> None:
    """Be ended as by SIGTERM when the server of the browser's window dies, however it does; on Linux."""
    parent = os.getppid()
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
    if os.getppid() != parent:  # it died before that could be asked for
        os.kill(os.getpid(), signal.SIGTERM)


def run_to_its_end(app: App[None]) -> int:
    """Run until the person leaves and what is under way has ended; gives the exit code.

    Ctrl+C leaves at any moment, as a power cut would.
    """
    wait_quietly()
    with asyncio.Runner() as runner:
        workers = ThreadPoolExecutor(WORKERS, thread_name_prefix=_NAME)
        runner.get_loop().set_default_executor(workers)
        try:
            runner.run(app.run_async())
            workers.shutdown(wait=False)
            _let_end()
        except KeyboardInterrupt:
            sys.stderr.flush()
            os._exit(1)  # the runner's and the interpreter's own end would wait for the threads again
    return app.return_code or 0


def _let_end() -> None:
    """Wait for what is under way, each wait with its own limit."""
    if not _under_way(QUIET_S):
        return
    print(
        "mobicard: the ledger or the print service has not answered yet; this ends by itself. Ctrl+C leaves "
        "at once: what was saved is saved, unsaved answers are offered again.",
        file=sys.stderr,
    )
    _under_way(None)


def _under_way(seconds: float | None) -> bool:
    """Wait so long for the workers, without a limit for None; whether any goes on."""
    last = None if seconds is None else monotonic() + seconds
    workers = [one for one in threading.enumerate() if one.name.startswith(_NAME)]
    for one in workers:
        one.join(None if last is None else max(0.0, last - monotonic()))
    return any(one.is_alive() for one in workers)
