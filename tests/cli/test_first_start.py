"""The first command of a new user: an empty unit, or a look at the demo; nothing that nobody asked for."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest


def typed_at_the_start(folder: Path, keys: list[tuple[bytes, bytes]]) -> str:
    """Open ``mobicard`` in a terminal; once the first text is shown send the second; all that was shown."""
    here, there = pty.openpty()
    env = {name: value for name, value in os.environ.items() if not name.startswith("MOBICARD")}
    env |= {
        "HOME": str(folder),
        "XDG_DATA_HOME": str(folder / "data"),
        "XDG_STATE_HOME": str(folder / "state"),
    }
    env |= {
        "XDG_CONFIG_HOME": str(folder / "config"),
        "TERM": "xterm-256color",
        "COLUMNS": "80",
        "LINES": "24",
    }
    env |= {"XDG_CACHE_HOME": str(folder / "cache")}
    asked = [sys.executable, "-m", "mobicard"]
    done = subprocess.Popen(asked, stdin=there, stdout=there, stderr=there, env=env, cwd=folder)
    os.close(there)
    said, ends, waiting = b"", time.monotonic() + 90, list(keys)
    try:
        while done.poll() is None and time.monotonic() < ends:
            if waiting and waiting[0][0] in said:
                os.write(here, waiting.pop(0)[1])
            if select.select([here], [], [], 0.2)[0]:
                try:
                    said += os.read(here, 65536)
                except OSError:
                    break
    finally:
        done.kill()
        done.wait()
        os.close(here)
    assert not waiting, said.decode(errors="replace")[-2000:]
    return said.decode(errors="replace")


@pytest.mark.parametrize(
    ("answer", "shown"), [(b"e\r", b"take in a bed list (CSV"), (b"d\r", b"5N-04")], ids=["empty", "demo"]
)
def test_it_opens_the_terminal_on_what_was_chosen(tmp_path: Path, answer: bytes, shown: bytes) -> None:
    said = typed_at_the_start(tmp_path, [(b"q   leave", answer), (shown, b"\x11")])
    assert "Traceback" not in said
    made = list((tmp_path / "data").rglob("ledger.sqlite"))
    assert bool(made) == (answer == b"e\r")


def test_left_at_the_question_nothing_is_made(tmp_path: Path) -> None:
    typed_at_the_start(tmp_path, [(b"q   leave", b"q\r")])
    assert list(tmp_path.rglob("*.sqlite")) == []
