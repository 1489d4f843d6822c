"""Figures of the terminal: keys, start to first paint, answer to painted card, memory. Run by hand.

    python tests/bench/terminal.py [--beds 24 600] [--rounds 20]

Times are end to end in a real pseudo-terminal: from the key written to the bytes that show its effect. They
are printed as ratios too (over a bare ``import textual``, over 24 beds), since machines differ.
"""

from __future__ import annotations

import argparse
import asyncio
import fcntl
import os
import pty
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from datetime import datetime
from pathlib import Path

from mobicard.demo import unit
from mobicard.ledger import Ledger, NewEntry
from mobicard.ward import Clock, Settings, Ward

NOW = datetime(2026, 3, 2, 8, 0)

RUN = """
import sys
from datetime import datetime
from pathlib import Path
home = Path(sys.argv[1])
from mobicard.terminal.app import MobicardApp
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward
ward = Ward(Ledger.open(home / "ledger.sqlite"), Settings.found(config_dir=home / "config"),
            Clock.fixed(datetime(2026, 3, 2, 8, 0)), by="JN", demo=True, drafts=home / "drafts")
from mobicard.terminal.at_station.running import run_to_its_end
run_to_its_end(MobicardApp(ward))
"""


class Window:
    """A pseudo-terminal with a program in it."""

    def __init__(self, *command: str, size: tuple[int, int] = (80, 24)) -> None:
        self.master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", size[1], size[0], 0, 0))
        environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        self.started = time.perf_counter()
        self.program = subprocess.Popen(
            [sys.executable, *command],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            start_new_session=True,
            env=environment,
        )
        os.close(slave)

    def until(self, text: str, limit: float = 60) -> float:
        """Seconds from now until the program writes a text to its window."""
        begun, shown = time.perf_counter(), b""
        while time.perf_counter() - begun < limit:
            if select.select([self.master], [], [], 0.5)[0]:
                shown += os.read(self.master, 65536)
                if text.encode() in shown:
                    return time.perf_counter() - begun
        raise SystemExit(f"{text!r} never came")

    def press(self, keys: str) -> None:
        os.write(self.master, keys.encode())

    def drain(self) -> None:
        """Read until nothing comes for a tenth of a second."""
        while select.select([self.master], [], [], 0.1)[0]:
            os.read(self.master, 65536)

    @property
    def memory_mb(self) -> float:
        """Resident memory of the program, MB (Linux)."""
        status = Path(f"/proc/{self.program.pid}/status").read_text()
        return int(next(line for line in status.splitlines() if line.startswith("VmRSS")).split()[1]) / 1024

    def end(self) -> None:
        self.program.kill()
        self.program.wait()
        os.close(self.master)


def fill(home: Path, beds: int) -> None:
    """A ledger with so many beds: the demo's 24, then copies of their records under other names."""
    ledger = Ledger.open(home / "ledger.sqlite")
    ward = Ward(ledger, Settings.found(config_dir=home / "config"), Clock.fixed(NOW), demo=True)
    unit.fill(ward, NOW)
    models = [view.record for view in ward.board() if view.assessed]
    at, entries = Clock.fixed(NOW).utc(), []
    for number in range(24, beds):
        bed = f"{number // 60 + 6}N-{number % 60:02d}"
        record = models[number % len(models)].changed(bed=bed)
        entries.append(NewEntry(f"stay{number}", "admit", at, "LW", {"bed": bed}))
        entries.append(NewEntry(f"stay{number}", "record", at, "LW", {"record": record.as_json()}))
    if entries:
        ledger.append(*entries)
    ledger.close()


def bare(code: str) -> float:
    """Seconds of a Python that only does ``code``; the best of three."""
    times = []
    for _ in range(3):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        times.append(time.perf_counter() - begun)
    return min(times)


def save_elsewhere(home: Path, window: Window) -> float:
    """Milliseconds from another station's acknowledged save to its showing on the Board."""
    ledger = Ledger.open(home / "ledger.sqlite")
    ward = Ward(ledger, Settings.found(config_dir=home / "config"), Clock.fixed(NOW), by="PK", demo=True)
    view = ward.find("5N-01")
    assert view is not None
    ward.save(view.stay, ward.assessed_now(view.record.changed(alertness="unresponsive")), view.version)
    took = window.until("REMAIN") * 1000
    ledger.close()
    window.drain()
    return took


def measure(beds: int, rounds: int) -> dict[str, float]:
    """First paint, full Board, key to painted card, key to moved mark, memory, for a number of beds."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        fill(home, beds)
        window = Window("-c", RUN, str(home))
        figures = {"first paint s": window.until("Reading the beds")}
        figures["all beds s"] = figures["first paint s"] + window.until("5N-01")
        time.sleep(1)
        window.drain()
        figures["another's save shown ms"] = save_elsewhere(home, window)
        window.press("04\r")
        figures["bed opened ms"] = window.until("Alertness") * 1000
        time.sleep(1)
        window.drain()
        times = []
        for number in range(rounds):
            window.press("ua"[number % 2])
            times.append(window.until(("REMAIN", "TEAM")[number % 2]) * 1000)
            window.drain()
            window.press("\x1b[A")
            window.drain()
        figures["answer to card, median ms"] = statistics.median(times)
        figures["answer to card, worst ms"] = max(times)
        figures["memory MB"] = window.memory_mb
        window.end()
        return figures


FIRST_RECORD = (
    *"arcsspb",  # awake, directions, behavior, sitting, standing, stepping, arms
    *"bcmmn",  # help with turning, sitting up, standing, the chair, walking
    *("W", *"82k"),
    *("L", *"p50", "percent_sign", "w"),  # left leg half of body weight, right leg as tolerated
    *("P", "s"),
    *("T", *"cl"),  # chest tube, left
    *("O", "enter", *"bf"),  # gait belt, front-wheeled walker
    *("V", *"1287680", "enter", *"1047098"),  # lying, then standing at one minute
    *("F", *"nywyin"),  # the six Morse items
    "ctrl+s",
)
"""A first full record: deciding facts, five observed moves, weight, orders, lines, pressures, fall risk."""


async def count_keys() -> dict[str, int]:
    """Keys for the four efforts, each checked in the ledger afterwards (AssertionError if one fails)."""
    from mobicard.terminal.app import MobicardApp

    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        fill(home, 24)
        settings = Settings.found(config_dir=home / "config")
        ward = Ward(
            Ledger.open(home / "ledger.sqlite"),
            settings,
            Clock.fixed(NOW),
            by="JN",
            demo=True,
            drafts=home / "d",
        )
        app = MobicardApp(ward)
        keys: dict[str, int] = {}
        async with app.run_test(size=(80, 24)) as pilot:

            async def press(what: str, *names: str) -> None:
                await pilot.press(*names)
                await pilot.pause(0.5)
                keys[what] = len(names)

            await pilot.pause(1)
            await press("find and open a bed", "0", "4", "enter")
            await press("one changed fact", "B", "down", "u", "ctrl+s", "enter")
            changed = ward.find("5N-04")
            assert changed is not None
            assert changed.record.standing == "unable"
            await press("(into the round)", "r")
            await press("unchanged patient", "s", "enter")
            same = ward.find("5N-01")
            assert same is not None
            assert ward.ledger.history(same.stay)[-1].kind == "same"
            await press("(new bed)", "escape", "n", *"99", "enter", "enter")
            await press("first full assessment", *FIRST_RECORD)
            first = ward.find("99")
            assert first is not None
            assert first.record.fall_risk
            assert first.record.vitals
            assert first.record.help
        ward.ledger.close()
        return {what: number for what, number in keys.items() if not what.startswith("(")}


def main() -> None:
    """Print every figure, then the ratios."""
    for what, number in asyncio.run(count_keys()).items():
        print(f"keys, {what:28} {number}")
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--beds", type=int, nargs="+", default=[24, 600])
    asked.add_argument("--rounds", type=int, default=20)
    options = asked.parse_args()
    textual = bare("import textual.app, textual.widgets")
    found = {beds: measure(beds, options.rounds) for beds in options.beds}
    print(f"bare import of textual: {textual:.2f} s")
    for name in next(iter(found.values())):
        row = "  ".join(f"{beds} beds: {figures[name]:8.2f}" for beds, figures in found.items())
        print(f"{name:28} {row}")
    first, last = found[options.beds[0]], found[options.beds[-1]]
    print(f"first paint / bare import: {first['first paint s'] / textual:.1f}")
    print(f"{options.beds[-1]} beds / {options.beds[0]} beds:")
    for name, value in first.items():
        print(f"  {name:28} {last[name] / value:.2f}")


if __name__ == "__main__":
    main()
