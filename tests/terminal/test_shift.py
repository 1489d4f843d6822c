"""A whole shift change in a real terminal of 80 x 24: record, round, fall, print, handoff, through tmux."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from mobicard.facts.words import Balance, Help, Task
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Door, Settings, Ward

NOW = "2026-03-02T08:00"
WAIT_S = 60.0
"""The longest any one step may take on a busy machine; a step goes on as soon as its text stands there."""

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux (apt-get install tmux)")


class Screen:
    """mobicard in a tmux window of its own server: keys in, the screen's text out."""

    def __init__(self, home: Path) -> None:
        self.home = home
        inside = {
            "HOME": str(home),
            "XDG_DATA_HOME": str(home / "data"),
            "XDG_CONFIG_HOME": str(home / "conf"),
        }
        inside |= {"MOBICARD_NOW": NOW, "LANG": "C.UTF-8", "PYTHONPATH": os.getcwd()}
        self.environment = {**os.environ, **inside, "TMUX_TMPDIR": str(home)}
        for name in ("NO_COLOR", "TMUX"):
            self.environment.pop(name, None)

    def mobicard(self, *words: str) -> None:
        """Run a command of mobicard to its end."""
        command = [sys.executable, "-m", "mobicard", *words]
        subprocess.run(command, check=True, env=self.environment, cwd=self.home, capture_output=True)

    def open(self, *words: str) -> None:
        """Start the terminal in a window of 80 x 24."""
        command = [sys.executable, "-m", "mobicard", *words]
        self._tmux("-u", "-f", "/dev/null", "new-session", "-d", "-x", "80", "-y", "24", *command)
        self._tmux("set", "-g", "status", "off")

    def _tmux(self, *words: str) -> str:
        ran = subprocess.run(
            ["tmux", "-L", "shift", *words],
            check=False,
            env=self.environment,
            cwd=self.home,
            capture_output=True,
            text=True,
        )
        return ran.stdout

    @property
    def text(self) -> str:
        return self._tmux("capture-pane", "-p")

    def press(self, *keys: str) -> None:
        """Press keys by tmux's names."""
        self._tmux("send-keys", *keys)

    def wait(self, *texts: str) -> None:
        """Wait until every one of these stands on the screen."""
        if not self._shows(texts, WAIT_S):
            raise AssertionError(f"{texts} never came; the screen shows:\n{self.text}")

    def answer(self, key: str, *texts: str) -> None:
        """Press a key of the round; one that came before the bed was shown counts for nothing: again."""
        for _ in range(5):
            self.press(key)
            if self._shows(texts, WAIT_S / 10):
                return
        self.wait(*texts)

    def _shows(self, texts: tuple[str, ...], seconds: float) -> bool:
        ends = time.monotonic() + seconds
        while time.monotonic() < ends:
            shown = self.text
            if all(text in shown for text in texts):
                return True
            time.sleep(0.1)
        return False

    def wait_gone(self) -> None:
        """Wait until the terminal has ended."""
        ends = time.monotonic() + WAIT_S
        while self._tmux("list-sessions") and time.monotonic() < ends:
            time.sleep(0.1)
        assert not self._tmux("list-sessions"), self.text

    def close(self) -> None:
        self._tmux("kill-server")


@pytest.fixture
def screen(tmp_path: Path) -> Iterator[Screen]:
    made = Screen(tmp_path)
    made.mobicard("demo", "--out", "unit", "--ledger-only", "--now", NOW)
    made.open("--ledger", "unit/demo.sqlite", "--by", "JN")
    yield made
    made.close()


def test_a_whole_shift_change(screen: Screen) -> None:
    """Record, round, fall, print, handoff at one station: each is on the screen, then in the ledger."""
    screen.wait("24 beds", "5N-01")
    _record(screen)
    _round(screen)
    _fall(screen)
    _print(screen)
    _handoff(screen)
    screen.press("C-q")
    screen.wait_gone()
    ledger = Ledger.open(screen.home / "unit" / "demo.sqlite")
    ward = Ward(ledger, Settings.found(config_dir=screen.home / "conf"), Clock.fixed(datetime(2026, 3, 2, 8)))
    beds = {view.bed: view for view in ward.board()}
    assert beds["5N-01"].record.standing is Balance.SUPPORTED
    assert "same" in {entry.kind for entry in ledger.history(beds["5N-01"].stay)}
    assert beds["5N-02"].record.help[Task.CHAIR] is Help.MINIMAL
    assert beds["5N-03"].plan.after_fall.state == "reassess"
    assert beds["5N-03"].record.help[Task.FLOOR] is Help.MAXIMAL
    assert beds["5N-18"].door is Door.CURRENT
    assert [bed for bed, view in beds.items() if "JN" in view.read_by] == ["5N-17"], "the fallen one, first"
    ledger.close()


def _record(screen: Screen) -> None:
    screen.press("0", "1", "Enter")
    screen.wait("Alertness")
    screen.press("B", "Down", "h", "F2")
    screen.wait("Still as recorded")
    screen.press("Enter")
    screen.wait("Saved 5N-01", "24 beds")


def _round(screen: Screen) -> None:
    screen.press("r")
    screen.wait("5N-01 RA", "bed 1 of 6")
    screen.answer("s", "same as before?")
    screen.press("Enter")
    screen.wait("5N-02 EV", "1 of 6 done")
    screen.answer("c", "which fact changed?")
    screen.press("k")
    screen.wait("> Bed to chair and back")
    screen.press("m")
    screen.wait("Still as recorded")
    screen.press("Enter")
    screen.wait("5N-03 TK", "2 of 6 done")
    screen.answer("Escape", "24 beds")


def _fall(screen: Screen) -> None:
    screen.press("Down", "Down")
    screen.wait("5N-03 TK")
    screen.press("f")
    screen.wait("Does the patient answer you?", "DO NOT MOVE")
    for key, follows in (
        ("a", "Did the head hit anything?"),
        ("n", "Does the neck hurt?"),
        ("n", "Did somebody see the fall?"),
        ("y", "Is the patient hurt?"),
        ("n", "blood thinner?"),
        ("n", "When was it?"),
        ("5", "FLAT LIFT ONLY"),
        ("m", "The head?"),
        ("n", "Neck and back?"),
        ("n", "Hips and long bones?"),
        ("n", "How may the patient be brought up?"),
        ("o", "MAY BE HELPED UP"),
        ("m", "Is the patient up?"),
        ("y", "is recorded; the patient is up"),
    ):
        screen.press(key)
        screen.wait(follows)
    screen.press("Escape")
    screen.wait("24 beds", "after fall")


def _print(screen: Screen) -> None:
    screen.press("p")
    screen.wait("to print", "5N-18")
    for says in ("Prints bedside cards, the", "Prints door and bedside cards, the", "Prints door cards"):
        screen.press("c")
        screen.wait(says)
    rows = screen.text.splitlines()
    doors = [row for row in rows if row.startswith("[ ]")]
    place = next(number for number, row in enumerate(doors) if "5N-18" in row)
    screen.press(*["Down"] * place, "Space")
    screen.wait("[x] 5N-18")
    screen.press("p")
    screen.wait("Printed for 1 door", "to hang")
    assert (screen.home / "mobicard-cards" / "door-cards.pdf").read_bytes().startswith(b"%PDF")
    screen.press("u")
    screen.wait("look so now?")
    screen.press("y")
    screen.wait("noted as hung by JN")
    screen.press("Escape")
    screen.wait("24 beds")


def _handoff(screen: Screen) -> None:
    screen.press("h")
    screen.wait("Changed since", "You")
    screen.press("Right")
    screen.wait("bed 1 of 24")
    screen.press("r")
    screen.wait("bed 2 of 24", "read 1 of 24")
    screen.press("Escape")
    screen.wait("Changed since")
    screen.press("Escape")
    screen.wait("24 beds")
