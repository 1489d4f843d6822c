"""Three years of forty beds, then kills of client and server: nothing lost, the check clean. By hand.

python tests/bench/long_run.py [--years 3] [--kills 50] [--engine sqlite|postgresql]

Each shift every bed is looked at, a stay lasts five days, its door is printed and hung; the times are told,
so that three years take minutes. Then stations are killed in mid-save, on PostgreSQL the server as well.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from threading import Thread
from time import monotonic, sleep

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from mobicard.ledger import Ledger, NewEntry  # noqa: E402 - run as a script, from the checkout
from tests.ledger import test_kills as kills  # noqa: E402
from tests.ledger.places import START, Server, postgres_binaries  # noqa: E402
from tests.records import assessed  # noqa: E402

BEDS = 40
SHIFT = timedelta(hours=8)
DAYS = 5
"""Of one stay; but the first bed's, who stays all the years."""


def shifts(years: int) -> Iterator[list[NewEntry]]:
    """What is saved in each shift, in order: who comes and goes, every look, the doors."""
    here = {number: f"s{number}" for number in range(BEDS)}
    for shift in range(years * 365 * 3):
        at = START + shift * SHIFT
        entries: list[NewEntry] = []
        for number in range(BEDS):
            bed, day = f"4W-{number}", shift // 3
            leaves = number != 1 and day and shift % 3 == 0 and (day + number) % DAYS == 0
            if leaves:
                entries.append(NewEntry(here[number], "discharge", at, "CL", {"bed": bed}))
                here[number] = f"s{number}-{shift}"
            if leaves or not shift:
                entries.append(NewEntry(here[number], "admit", at, "CL", {"bed": bed, "label": "RT"}))
            entries += looked(here[number], bed, at, shift, number)
        yield entries


def looked(stay: str, bed: str, at: datetime, shift: int, number: int) -> Iterator[NewEntry]:
    """One look, the next card now and then, and who read it."""
    seen = assessed(bed, weight_kg=60 + number, assessed_at=at.replace(tzinfo=None), assessed_by="JN")
    yield NewEntry(stay, "record", at, "JN", {"record": seen.as_json()})
    if (shift + number) % 9 == 0:
        yield NewEntry(stay, "prepared", at, "CL", {"code": f"C{shift % 1000}"})
        yield NewEntry(stay, "hung", at, "CL", {"code": f"C{shift % 1000}"})


def lived(url: str, years: int) -> int:
    """The years into the ledger, each shift in one save; gives the number of entries."""
    began = monotonic()
    with Ledger.open(url) as ledger:
        count = sum(len(ledger.append(*entries)) for entries in shifts(years))
        took = monotonic() - began
        board = monotonic()
        assert len(ledger.beds()) == BEDS
        print(f"{count} entries in {took:.0f} s; the board in {monotonic() - board:.2f} s", flush=True)
        checked(ledger)
    return count


def checked(ledger: Ledger) -> None:
    began = monotonic()
    report = ledger.verify()
    assert report.ok, report.says
    assert len(ledger.receipts()) == report.checked
    print(f"verify: {report.says} {monotonic() - began:.0f} s", flush=True)


def clients_killed(url: str, times: int) -> None:
    """Stations killed in mid-save: what was acknowledged is there."""
    kills.BEDS = BEDS
    count = kills.kill_writers(url, times)
    print(f"{times} stations killed: {count['acknowledged']} acknowledged, {count['lost']} lost", flush=True)
    assert not count["lost"]


def server_killed(server: Server, url: str, times: int, folder: Path) -> None:
    """The server killed in mid-save: the station holds, replays, and doubles nothing."""
    with Ledger.open(url) as ledger:
        before = list(ledger.entries(kinds={"seen"}))
    stop, lines, dice = folder / "stop", list[str](), Random(18)
    pid, reading = kills.station(kills.holds_and_replays(url, folder, stop))
    listening = Thread(target=lambda: lines.extend(kills.said_by(reading)))
    listening.start()
    for _ in range(times):
        sleep(dice.uniform(0.3, 0.6))
        server.kill()
        sleep(0.2)
        server.start()
    sleep(1)
    stop.touch()
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    listening.join()
    told = {line.partition(" ")[2] for line in lines if line.startswith("ack")}
    with Ledger.open(url) as ledger:
        there = [one.id for one in ledger.entries(kinds={"seen"})][len(before) :]
        print(f"{times} server kills: {len(told)} acknowledged or held, {len(told - set(there))} lost, "
              f"{len(there) - len(set(there))} doubled", flush=True)  # fmt: skip
        assert told <= set(there)
        assert len(there) == len(set(there))
        checked(ledger)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--years", type=int, default=3)
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--engine", choices=["sqlite", "postgresql"], default="sqlite")
    said = asked.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="mobicard-long-"))
    if said.engine == "sqlite":
        lived(f"sqlite:///{folder}/ledger.sqlite", said.years)
        clients_killed(f"sqlite:///{folder}/ledger.sqlite", said.kills)
        return
    binaries = postgres_binaries()
    assert binaries, "no PostgreSQL programs on this machine"
    server = Server(binaries, sync=True, folder="/tmp")
    try:
        url = server.fresh()
        lived(url, said.years)
        clients_killed(url, said.kills)
        server_killed(server, url, said.kills, folder)
    finally:
        server.remove()


if __name__ == "__main__":
    main()
