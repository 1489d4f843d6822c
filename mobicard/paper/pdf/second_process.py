"""A second process that lays out half of a long print run: started clean, with a limit.

Measured on two cores, whole process, medians of three: 24 bedside cards 1.3 times faster, 60 cards 1.4 times.
It is a program of its own (``python -m mobicard.paper.pdf.second_process``) because the text-layout library
starts threads: a fork of a process that has loaded it stands still for ever.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor

from mobicard.paper.pdf.layout import VARIANT, collector_resting, layouter
from mobicard.paper.pdf.merge import Part, part_of

PATIENCE_S = 20.0
"""How long a finished half waits for the other, over and above three times what it took itself."""


class SecondProcess:
    """Pages laid out elsewhere while this process lays out others; ``parts`` brings them, or None."""

    def __init__(self, pages: Sequence[str]) -> None:
        self._started = time.monotonic()
        self._process = _started()
        self._told: Future[bytes] | None = None
        if self._process:
            asking = ThreadPoolExecutor(1)
            self._told = asking.submit(self._answer, pickle.dumps(list(pages)))
            asking.shutdown(wait=False)

    def parts(self, patience_s: float | None = None) -> list[Part] | None:
        """The parts, in order; None where the other process died, stood still too long or never began.

        Waits at most ``patience_s`` seconds (default: by what this side took). Whatever happens, the other
        process has ended when this returns.
        """
        if self._process is None or self._told is None:
            return None
        took = time.monotonic() - self._started
        try:
            made: list[Part] = pickle.loads(self._told.result(patience_s or PATIENCE_S + 3 * took))
        except (TimeoutError, EOFError, pickle.UnpicklingError, OSError):
            return None
        finally:
            self.end()
        return made

    def end(self) -> None:
        """End the other process, whatever it is doing."""
        if self._process:
            self._process.kill()

    def _answer(self, asked: bytes) -> bytes:
        assert self._process
        return self._process.communicate(asked)[0]


def _started() -> subprocess.Popen[bytes] | None:
    own_path = os.pathsep.join(filter(None, sys.path))
    try:
        return subprocess.Popen(
            [sys.executable, "-P", "-m", "mobicard.paper.pdf.second_process"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": own_path},
        )
    except OSError:
        return None


def laid_out(page: str) -> Part:
    """One batch laid out in this process. Raises PdfUnavailable."""
    with collector_resting():
        return part_of(layouter().document(page), VARIANT)


def main() -> None:
    """Read pages, write their parts; what a library prints goes elsewhere."""
    answer = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    layouter()
    pages: list[str] = pickle.load(sys.stdin.buffer)
    with answer:
        pickle.dump([laid_out(page) for page in pages], answer)


if __name__ == "__main__":
    main()
