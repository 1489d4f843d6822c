"""A terminal killed in the middle of a form: every answer given is offered again."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import struct
import subprocess
import sys
import termios
import threading
import time
from pathlib import Path

RUN = """
import sys
from datetime import datetime
from pathlib import Path
from mobicard.ledger import Ledger
from mobicard.terminal.app import MobicardApp
from mobicard.ward import Clock, Settings, Ward
home = Path(sys.argv[1])
ward = Ward(Ledger.open(home / "ledger.sqlite"), Settings.found(config_dir=home / "config"),
            Clock.fixed(datetime(2026, 3, 2, 8, 0)), by="JN", demo=True, drafts=home / "drafts")
MobicardApp(ward).run()
"""


class Window:
    """A real pseudo-terminal of 80 x 24 with the program in it."""

    def __init__(self, home: Path) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.program = subprocess.Popen(
            [sys.executable, "-c", RUN, str(home)],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
        )
        os.close(slave)
        self._shown = bytearray()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        while True:
            try:
                self._shown += os.read(self._master, 65536)
            except OSError:
                return

    def wait_for(self, text: str) -> None:
        """Wait until the program has written a text to its window."""
        for _ in range(600):
            if text.encode() in self._shown:
                self._shown.clear()
                return
            assert self.program.poll() is None, bytes(self._shown[-2000:])
            time.sleep(0.05)
        raise AssertionError(f"{text!r} never came: {bytes(self._shown[-2000:])!r}")

    def press(self, keys: str) -> None:
        os.write(self._master, keys.encode())


def kept(drafts: Path) -> dict[str, object]:
    """The answers on disk now."""
    found = [json.loads(path.read_text()) for path in drafts.glob("*.json")] if drafts.is_dir() else []
    return found[0]["facts"]["facts"] if found else {}


async def test_kill_dash_nine_loses_no_answer(opened, ward, tmp_path):
    """Killed with signal 9 after the second answer: both are on disk, offered on reopening, and taken up."""
    window = Window(tmp_path)
    window.wait_for("5N-01")
    window.press("01\r")
    window.wait_for("Alertness")
    window.press("vu")
    for _ in range(400):
        if kept(tmp_path / "drafts").get("directions") == "unable":
            break
        time.sleep(0.05)
    window.program.kill()
    window.program.wait()
    facts = kept(tmp_path / "drafts")
    assert (facts["alertness"], facts["directions"]) == ("voice", "unable")
    async with opened() as nurse:
        await nurse.press("0", "1", "enter", "t")
        form = nurse.app.screen
        assert form.answers.get("alertness") == "voice"
        assert form.answers.get("directions") == "unable"
        assert form.answers.seen == {"alertness", "directions"}
