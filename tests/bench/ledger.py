"""How fast the ledger saves and the board loads, on both engines; run by hand: python -m tests.bench.ledger.

Trust the ratios: absolute figures are this machine's. PostgreSQL runs from a folder of its own, writing
through to the disk as in use. ``--quick`` takes a tenth of the time.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from multiprocessing import get_context
from pathlib import Path
from random import Random
from time import perf_counter
from typing import Any

from mobicard.facts import Record
from mobicard.ledger import Ledger, LedgerBusy, NewEntry, SaveConflict
from mobicard.ledger.database.engine import ledger_url
from mobicard.ledger.database.queries import entry_of, of_stays
from tests.ledger.places import Server, postgres_binaries
from tests.records import record_entry

NOW = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
SEEN: dict[str, Any] = {
    "weight_kg": 82.0,
    "height_cm": 175,
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "supported",
    "stepping": "pivots",
    "arms": "both",
    "help": {"turn": "independent", "sit_up": "minimal", "stand": "contact_guard", "chair": "minimal"},
    "weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}, "right_leg": {"status": "WBAT"}},
    "precautions": ["spinal"],
    "lines": [{"kind": "chest tube", "side": "left", "note": "keep below chest"}],
    "aids": ["gait_belt", "front_wheeled_walker"],
    "fall_risk": {"instrument": "morse", "answers": {"history": True, "aid": "walker", "gait": "weak"}},
}


def seen(bed: str, number: int) -> Record:
    return Record.model_validate({**SEEN, "bed": bed, "weight_kg": 60.0 + number % 60})


def shift_of(stay: str, bed: str, at: datetime, number: int) -> list[NewEntry]:
    """What one bed's shift leaves: a record, a card printed and hung, a read, three looks, two ticks."""
    some = [record_entry(stay, seen(bed, number), at, "JN")]
    code = {"code": f"{number:06}", "bed": bed}
    some += [NewEntry(stay, kind, at + timedelta(minutes=5), "CL", code) for kind in ("prepared", "hung")]
    some += [NewEntry(stay, "read", at + timedelta(minutes=6), "RD")]
    some += [NewEntry(stay, "seen", at + timedelta(minutes=7 + n), "JN") for n in range(3)]
    return some + [NewEntry(stay, "tick", at + timedelta(hours=n), "JN", {"task": "chair"}) for n in (2, 4)]


def fill(ledger: Ledger, beds: int, days: int) -> None:
    """Beds with so many days of two shifts behind them, up to NOW."""
    names = [f"{number // 25 + 1}W-{number % 25 + 1}" for number in range(beds)]
    start = NOW - timedelta(days=days)
    ledger.append(*(NewEntry(f"s{n}", "admit", start, "CL", {"bed": bed}) for n, bed in enumerate(names)))
    for shift in range(days * 2):
        at = start + timedelta(hours=12 * shift, minutes=30)
        for first in range(0, beds, 100):
            few = list(enumerate(names))[first : first + 100]
            ledger.append(*(one for n, bed in few for one in shift_of(f"s{n}", bed, at, n + shift)))


@contextmanager
def places() -> Iterator[dict[str, Any]]:
    """A function per engine that gives the address of an empty place."""
    folder = Path(tempfile.mkdtemp(prefix="mobicard-bench-", dir="/tmp"))
    made: dict[str, Any] = {"sqlite": lambda name: str(folder / f"{name}.sqlite")}
    binaries = postgres_binaries()
    server = Server(binaries, sync=True, folder="/tmp") if binaries else None
    if server:
        made["postgresql"] = lambda _name: server.fresh()
    try:
        yield made
    finally:
        if server:
            server.remove()
        shutil.rmtree(folder)


def one_station(url: str, number: int, saves: int, told: Any) -> None:
    """Look and save, beds at random, as a station does; gives each save's seconds and the refusals."""
    ledger, random = Ledger.open(url), Random(number)
    took, refused = [], 0
    told.put("ready")
    while len(took) < saves:
        state = ledger.latest(f"s{random.randrange(24)}")
        assert state is not None
        new = record_entry(state.stay, seen(state.bed, number), NOW, f"N{number}", expect=state.fact_version)
        begun = perf_counter()
        try:
            ledger.append(new)
            took.append(perf_counter() - begun)
        except (SaveConflict, LedgerBusy):
            refused += 1
    told.put((took, refused))


def saves(url: str, stations: int, each: int) -> str:
    with Ledger.open(url) as ledger:
        fill(ledger, 24, 0)
    context = get_context("fork")
    told = context.Queue()
    running = [context.Process(target=one_station, args=(url, n, each, told)) for n in range(stations)]
    for one in running:
        one.start()
    for _ in running:
        told.get()
    begun = perf_counter()
    results = [told.get() for _ in running]
    whole = perf_counter() - begun
    for one in running:
        one.join()
    took = sorted(second for some, _ in results for second in some)
    refused = sum(number for _, number in results)
    p99 = took[int(len(took) * 0.99) - 1]
    return (
        f"{len(took) / whole:7.0f} saves/s   median {statistics.median(took) * 1e3:7.1f} ms   "
        f"p99 {p99 * 1e3:7.1f} ms   refused and done again {refused}"
    )


def median_ms(act: Any, times: int = 5) -> float:
    took = []
    for _ in range(times):
        begun = perf_counter()
        act()
        took.append(perf_counter() - begun)
    return statistics.median(took) * 1e3


def board(url: str, beds: int, days: int) -> str:
    with Ledger.open(url) as ledger:
        fill(ledger, beds, days)
        count = ledger.change_token()
        now = median_ms(ledger.beds)
        then = median_ms(lambda: ledger.beds(at=NOW - timedelta(hours=5)))
        early = median_ms(lambda: ledger.beds(at=NOW - timedelta(days=days) + timedelta(hours=1)), 3)
        assert len(ledger.beds()) == beds == len(ledger.beds(at=NOW - timedelta(hours=5)))
        one_by_one = median_ms(lambda: [whole_history(ledger, f"s{n}") for n in range(min(beds, 24))], 3)
        size = room(ledger) / count
        checked = median_ms(ledger.verify, 1)
    naive = one_by_one * beds / min(beds, 24)
    return (
        f"{count:8,} entries   now {now:6.0f} ms   last shift {then:6.0f} ms   first day {early:6.0f} ms   "
        f"every history read instead {naive:7.0f} ms ({naive / now:.0f} x)   {size:5.0f} bytes/entry   "
        f"verify {checked / 1e3:.1f} s"
    )


def whole_history(ledger: Ledger, stay: str) -> list[object]:
    with ledger.looking() as connection:
        return [entry_of(row) for row in connection.execute(of_stays([stay]))]


def room(ledger: Ledger) -> int:
    """Bytes on disk, indexes and log included."""
    with ledger.looking() as connection:
        if ledger.on_server:
            return int(
                connection.exec_driver_sql("SELECT pg_database_size(current_database())").scalar() or 0
            )
    path = str(ledger_url(ledger.url.database).database)
    return sum(os.path.getsize(path + end) for end in ("", "-wal") if os.path.exists(path + end))


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--quick", action="store_true")
    quick = said.parse_args().quick
    with places() as made:
        for engine, place in made.items():
            print(f"\n{engine}: saving, each a look at the bed first")
            for stations in (1, 5, 20):
                each = (30 if quick else 300) // (1 if stations == 1 else 2 if stations == 5 else 4)
                print(f"  {stations:2} stations {saves(place(f'save{stations}'), stations, each)}")
            print(f"{engine}: the board, nine entries a bed and shift")
            for beds, days in ((24, 1), (24, 30), (240, 30), (1000, 3 if quick else 30)):
                print(
                    f"  {beds:4} beds {days:2} days {board(place(f'board{beds}x{days}'), beds, days)}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
