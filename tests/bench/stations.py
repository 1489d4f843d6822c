"""Twenty stations of five units save on one PostgreSQL server: all of it there, how long, and who wakes.

    python -m tests.bench.stations [--minutes 10] [--stations 20] [--units 5] [--saves 2] [--idle 30]

Each station is a process with a watcher and a Board of its unit, as the terminal has: it reads its Board when
it is told of a save, and saves at the its share of the rate asked for, beds of its unit at random. The
server writes through to the disk. At the end every acknowledged save is looked for, and the chain verified.
The machine may be shared: the figures are of that hour.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from threading import Event, Thread
from typing import Any

from mobicard.ledger import Ledger, LedgerError, NewEntry
from mobicard.ward import Clock, Settings, Ward
from tests.bench.ledger import NOW, seen
from tests.ledger.places import Server, postgres_binaries
from tests.records import record_entry

BEDS = 25
AT = NOW.replace(tzinfo=None)


@dataclass(frozen=True)
class Told:
    """What a station says at its end."""

    took: list[float]
    ids: list[str]
    refused: int
    woken: int
    idle_s: float
    busy_s: float
    idle_switches: float
    mb_first: float
    mb_last: float


def made(url: str, units: int) -> None:
    """Every bed occupied and looked at."""
    with Ledger.open(url) as ledger:
        for unit in range(units):
            beds = [(f"s{unit}x{n}", f"{unit + 1}W-{n + 1:02}") for n in range(BEDS)]
            ledger.append(*(NewEntry(stay, "admit", NOW, "CL", {"bed": bed}) for stay, bed in beds))
            ledger.append(*(record_entry(stay, seen(bed, 1), NOW, "JN") for stay, bed in beds))


def station(
    url: str, number: int, unit: str, a_second: float, minutes: float, idle_s: float, gate: Any
) -> Told:
    """One station's life: some time idle, then saving."""
    with TemporaryDirectory() as folder, Ledger.open(url) as ledger:
        settings = Settings.found(config_dir=Path(folder))
        ward = Ward(ledger, settings, Clock.fixed(AT), by=f"N{number}", unit=unit, drafts=Path(folder))
        views, stop, woken = ward.board(), Event(), [0]

        def told_of_a_save() -> None:
            woken[0] += 1
            ward.board()

        watcher = Thread(target=ward.watch, args=(told_of_a_save, stop))
        watcher.start()
        gate.wait()
        time.sleep(2)
        begun, before = used(), switches()
        time.sleep(idle_s)
        idle, idle_switches, mb = used() - begun, (switches() - before) / idle_s, memory()
        gate.wait()
        begun, woken[0] = used(), 0
        took, ids, refused = saving(ward, [view.stay for view in views], a_second, minutes * 60, number)
        busy = used() - begun
        stop.set()
        watcher.join()
        return Told(took, ids, refused, woken[0], idle, busy, idle_switches, mb, memory())


def saving(
    ward: Ward, stays: list[str], a_second: float, seconds: float, number: int
) -> tuple[list[float], list[str], int]:
    """Saves at random moments, so many a second in the mean; how long each took, and its id."""
    dice, took, ids, refused = Random(number), list[float](), list[str](), 0
    end, due = time.monotonic() + seconds, time.monotonic()
    while (due := due + dice.expovariate(a_second)) < end:
        time.sleep(max(due - time.monotonic(), 0))
        try:
            state = ward.ledger.latest(dice.choice(stays))
            assert state is not None
            record = seen(state.bed, dice.randrange(60))
            new = record_entry(state.stay, record, NOW, ward.by, expect=state.fact_version)
            begun = time.perf_counter()
            ward.append(new)
            took.append(time.perf_counter() - begun)
            ids.append(new.id)
        except LedgerError as refusal:
            refused += 1
            print(f"{ward.by}: {refusal}", flush=True)
    return took, ids, refused


def used() -> float:
    told = resource.getrusage(resource.RUSAGE_SELF)
    return told.ru_utime + told.ru_stime


def switches() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_nvcsw


def memory() -> float:
    """Resident now, MB (Linux)."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 2**20


def says(found: list[Told], minutes: float, idle_s: float) -> str:
    took = sorted(second for one in found for second in one.took)
    p99 = took[max(int(len(took) * 0.99) - 1, 0)] * 1000
    woken = sum(one.woken for one in found) / len(found) / (minutes * 60)
    switched = statistics.fmean(one.idle_switches for one in found)
    idle = sum(one.idle_s for one in found) / idle_s
    busy = sum(one.busy_s for one in found) / minutes / 60
    return "\n".join(
        (
            f"{len(found)} stations, {len(took)} saves in {minutes:g} min "
            f"({len(took) / minutes / 60:.1f} a second), "
            f"{sum(one.refused for one in found)} refused",
            f"a save: median {statistics.median(took) * 1000:.0f} ms, p99 {p99:.0f} ms, "
            f"worst {took[-1] * 1000:.0f} ms",
            f"idle: all stations {idle:.3f} cores, each {switched:.1f} wake-ups a second",
            f"busy: all stations {busy:.2f} cores, each told of saves {woken:.2f} times a second",
            f"memory of a station: {statistics.fmean(one.mb_first for one in found):.0f} MB at first, "
            f"{max(one.mb_last for one in found):.0f} MB at most at the end",
        )
    )


def checked(url: str, found: list[Told]) -> str:
    """Every acknowledged save once, no other, the chain whole."""
    with Ledger.open(url) as ledger:
        there = [one.id for one in ledger.entries(kinds={"record"})]
        report = ledger.verify()
    told = {id_ for one in found for id_ in one.ids}
    return (
        f"{len(told)} acknowledged, {len(told - set(there))} lost, {len(there) - len(set(there))} doubled; "
        f"{report.says}"
    )


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--minutes", type=float, default=10)
    asked.add_argument("--stations", type=int, default=20)
    asked.add_argument("--units", type=int, default=5)
    asked.add_argument("--saves", type=float, default=2, help="a second, over all stations")
    asked.add_argument("--idle", type=float, default=30, help="seconds idle before")
    said = asked.parse_args()
    binaries = postgres_binaries()
    assert binaries, "no PostgreSQL programs on this machine"
    server = Server(binaries, sync=True, folder="/tmp", connections=100)  # the server's own default
    try:
        url = server.fresh()
        made(url, said.units)
        context = get_context("spawn")
        with context.Manager() as shared, context.Pool(said.stations) as pool:
            gate = shared.Barrier(said.stations)
            words = [
                (url, n, f"{n % said.units + 1}W", said.saves / said.stations, said.minutes, said.idle, gate)
                for n in range(said.stations)
            ]
            found = pool.starmap(station, words, chunksize=1)
        print(says(found, said.minutes, said.idle))
        print(checked(url, found))
    finally:
        server.remove()


if __name__ == "__main__":
    main()
