"""A Board while other stations save, and while nobody does: share of a core, memory over time, wake-ups.

    python -m tests.bench.board [--beds 600 2000] [--saves 100] [--seconds 60] [--idle 15]

The Board runs in a pseudo-terminal of its own process; another process saves at the rate asked for, beds at
random, up to ten a commit. Processor time, memory and wake-ups (voluntary switches of all its threads)
are the kernel's figures for the Board's process. Shares are of one core; the machine may be shared.
"""

from __future__ import annotations

import argparse
import os
import select
import tempfile
import time
from collections.abc import Iterator
from multiprocessing import get_context
from pathlib import Path
from random import Random
from threading import Event, Thread
from typing import Any

from mobicard.facts import Record
from mobicard.ledger import Ledger, StayState
from tests.bench.terminal import NOW, RUN, Window, fill
from tests.records import record_entry

TICK = os.sysconf("SC_CLK_TCK")


def used_s(pid: int) -> float:
    """Processor seconds, user and system, of a process so far."""
    told = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / TICK


def wake_ups(pid: int) -> int:
    """Voluntary switches of all its threads so far."""
    lines = (each.read_text() for each in Path(f"/proc/{pid}/task").glob("*/status"))
    return sum(int(text.partition("\nvoluntary_ctxt_switches:")[2].split()[0]) for text in lines)


def saving(home: str, a_second: int, seconds: float, told: Any) -> None:
    """So many saves a second of beds at random; tells how many were made."""
    dice, begun, made = Random(7), time.monotonic(), 0
    with Ledger.open(Path(home) / "ledger.sqlite") as ledger:
        beds = [state for state in ledger.beds() if state.record]
        records = {state.stay: _three(state) for state in beds}
        at = max(state.recorded_at for state in beds if state.recorded_at)
        while (now := time.monotonic() - begun) < seconds:
            if made >= now * a_second:
                time.sleep(0.002)
                continue
            few = min(10, max(1, int(now * a_second) - made))  # a commit each would wait for the disk
            chosen = ((state.stay, dice.choice(records[state.stay])) for state in dice.sample(beds, few))
            ledger.append(*(record_entry(stay, record, at, "PK") for stay, record in chosen))
            made += few
    told.put(made)


def _three(state: StayState) -> list[Record]:
    """The bed's record with three answers."""
    assert state.record is not None
    stands = ("steady", "supported", "unable")
    return [state.record.changed(standing=one, assessed_at=NOW, assessed_by="PK") for one in stands]


def drained(window: Window, stop: Event) -> None:
    """Read what the Board paints, as a terminal does."""
    while not stop.is_set():
        if select.select([window.master], [], [], 0.2)[0]:
            os.read(window.master, 1 << 20)


def told_of(beds: int, a_second: int, seconds: float, idle_s: float) -> Iterator[str]:
    """The figures of a Board of so many beds."""
    with tempfile.TemporaryDirectory() as folder:
        fill(Path(folder), beds)
        window = Window("-c", RUN, folder)
        window.until("5N-01")
        pid, stop = window.program.pid, Event()
        reading = Thread(target=drained, args=(window, stop))
        reading.start()
        time.sleep(4)
        before, woken = used_s(pid), wake_ups(pid)
        time.sleep(idle_s)
        spent, times = used_s(pid) - before, wake_ups(pid) - woken
        yield f"idle: {spent / idle_s:.1%} of a core, {times / idle_s:.1f} wake-ups a second"
        context = get_context("spawn")
        queue = context.Queue()
        others = context.Process(target=saving, args=(folder, a_second, seconds, queue))
        others.start()
        before, begun, memory = used_s(pid), time.monotonic(), [window.memory_mb]
        while others.is_alive():
            time.sleep(min(10, seconds / 6))
            memory.append(window.memory_mb)
        spent, took = used_s(pid) - before, time.monotonic() - begun
        made = queue.get()
        others.join()
        yield f"{made / took:.0f} saves a second for {took:.0f} s: {spent / took:.0%} of a core, " + (
            f"{spent / made * 1000:.1f} ms a save; memory {' '.join(f'{mb:.0f}' for mb in memory)} MB"
        )
        stop.set()
        reading.join()
        window.end()


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    said.add_argument("--beds", type=int, nargs="+", default=[600, 2000])
    said.add_argument("--saves", type=int, default=100)
    said.add_argument("--seconds", type=float, default=60)
    said.add_argument("--idle", type=float, default=15)
    given = said.parse_args()
    for beds in given.beds:
        for line in told_of(beds, given.saves, given.seconds, given.idle):
            print(f"{beds} beds: {line}", flush=True)


if __name__ == "__main__":
    main()
