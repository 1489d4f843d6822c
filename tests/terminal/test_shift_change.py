"""A whole shift change in a real terminal: record, round, fall, print, handoff, all by keyboard."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from mobicard.facts.words import Balance
from mobicard.ward import Door

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux (apt-get install tmux)")

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


class Terminal:
    """A tmux session of its own server, 80 x 24, with the program in it."""

    def __init__(self, home: Path) -> None:
        self._home = home
        script = home / "run.py"
        script.write_text(RUN)
        root = Path(__file__).resolve().parents[2]
        program = f"{sys.executable} {script} {home}"
        environment = {**os.environ, "HOME": str(home), "PYTHONPATH": str(root), "LC_ALL": "C.UTF-8"}
        self._tmux(
            "-f",
            "/dev/null",
            "new-session",
            "-d",
            "-s",
            "ward",
            "-x",
            "80",
            "-y",
            "24",
            program,
            env=environment,
        )

    def _tmux(self, *words: str, env: dict[str, str] | None = None) -> str:
        command = ["tmux", "-S", str(self._home / "tmux.socket"), *words]
        return subprocess.run(command, check=True, capture_output=True, text=True, env=env).stdout

    @property
    def screen(self) -> str:
        return self._tmux("capture-pane", "-t", "ward", "-p")

    def press(self, *keys: str) -> None:
        """Send keys by tmux's names, one after the other."""
        self._tmux("send-keys", "-t", "ward", *keys)

    def until(self, *texts: str, limit: float = 60) -> str:
        """Wait until the screen shows every text; gives the screen."""
        ends = time.monotonic() + limit
        while time.monotonic() < ends:
            screen = self.screen
            if all(text in screen for text in texts):
                return screen
            time.sleep(0.1)
        raise AssertionError(f"never on the screen: {texts}\n{self.screen}")

    def end(self) -> None:
        self._tmux("kill-server")


@pytest.fixture
def terminal(ward, tmp_path):
    """The program over the ward's own ledger, in tmux."""
    opened = Terminal(tmp_path)
    yield opened
    opened.end()


def test_a_shift_change_by_keyboard(terminal, ward):
    """One fact changed, one patient the same, one fallen, its door printed and hung, the handoff read."""
    terminal.until("24 beds", "5N-04")

    terminal.press("0", "4", "Enter")
    terminal.until("Record", "5N-04", "Alertness")
    terminal.press("B", "Down", "u")
    terminal.until("unable  (was only held)")
    terminal.press("C-s")
    terminal.until("Still as recorded")
    terminal.press("Enter")
    terminal.until("Board", "Saved 5N-04")
    assert ward.find("5N-04").record.standing is Balance.UNABLE

    terminal.press("r")
    terminal.until("Round", "bed 1 of 6")
    terminal.press("s", "Enter")
    terminal.until("1 of 6 done")
    terminal.press("Escape")
    terminal.until("Board")
    assert ward.ledger.history(ward.find("5N-01").stay)[-1].kind == "same"

    terminal.press("0", "5", "f")
    terminal.until("After a fall  5N-05", "DO NOT MOVE")
    terminal.press("u")
    terminal.until("question 2 of 7")
    terminal.press("F2")
    terminal.until("after a fall", "Board")
    fallen = ward.find("5N-05")
    assert fallen.plan.after_fall.state == "do_not_move"
    assert fallen.door is Door.OUT_OF_DATE

    terminal.press("p")
    desk = terminal.until("Print desk", "5N-05")
    rows = [line.split()[2] for line in desk.splitlines() if line.startswith("[ ] 5N-")]
    terminal.press(*["Down"] * rows.index("5N-05"), "Space", "p")
    terminal.until("Printed for 1 door")
    terminal.press("k")
    terminal.until("5N-05: hang")
    terminal.press("y")
    terminal.until("Print desk")
    for _ in range(100):
        if ward.find("5N-05").door is Door.CURRENT:
            break
        time.sleep(0.1)
    assert ward.find("5N-05").door is Door.CURRENT

    terminal.press("Escape")
    terminal.until("Board")
    terminal.press("h")
    terminal.until("Handoff", "Changed since the last shift", "5N-05")
    terminal.press("Down", "r")
    terminal.until("have read 1 of 24")
    assert any(entry.kind == "read" for entry in ward.ledger.entries(kinds=["read"]))
    terminal.press("Escape", "C-q")
