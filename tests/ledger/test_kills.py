"""Writers and servers killed at random, many stations at once: every acknowledged entry is there after.

The short runs are part of every test run; ``pytest -m long`` does the numbers a release is judged by.
"""

from __future__ import annotations

import os
import signal
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from threading import Thread
from time import monotonic, sleep

import pytest

from mobicard.facts import Record
from mobicard.ledger import (
    Ledger,
    LedgerBusy,
    LedgerFull,
    LedgerUnreachable,
    NewEntry,
    SaveConflict,
    new_id,
)
from mobicard.ledger.outbox import Outbox
from tests.ledger.places import START, Server, Writer, postgres_binaries
from tests.records import record_entry

LONG = pytest.mark.long
BEDS = 24


@pytest.fixture
def ready(url: str) -> str:
    """A ledger with a patient in each of 24 beds."""
    with Ledger.open(url) as ledger:
        write = Writer(ledger)
        for number in range(BEDS):
            write.admit(f"s{number}", f"4W-{number}")
    return url


def station(work: Callable[[Callable[[str], None]], None]) -> tuple[int, int]:
    """A process of its own; what it says line by line can be read from the pipe even once it is dead."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid:
        os.close(writing)
        return pid, reading
    status = 1
    try:
        os.close(reading)
        work(lambda line: os.write(writing, (line + "\n").encode()) and None)
        status = 0
    finally:
        os._exit(status)


def said_by(reading: int, data: bytes = b"") -> list[str]:
    """Every whole line, to the end of the pipe, after what was read of it already."""
    while chunk := os.read(reading, 65536):
        data += chunk
    os.close(reading)
    return data.decode().split("\n")[:-1]


def saves_without_end(url: str) -> Callable[[Callable[[str], None]], None]:
    def work(say: Callable[[str], None]) -> None:
        ledger = Ledger.open(url)
        while True:
            new = record_entry("s1", Record(bed="4W-1", weight_kg=80), START, "JN")
            say(f"try {new.id}")
            ledger.append(new)
            say(f"ack {new.id}")

    return work


def kill_writers(url: str, times: int) -> Counter[str]:
    """Start a writer, kill it in the midst, again and again; gives how many acknowledged, lost and unsaid."""
    random = Random(7)
    tried: set[str] = set()
    acknowledged: set[str] = set()
    for _ in range(times):
        pid, reading = station(saves_without_end(url))
        begun = b""
        for _ in range(random.randint(2, 8)):  # some lines of "try" and "ack" first
            begun += os.read(reading, 37)
        sleep(random.uniform(0.0, 0.008))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        for line in said_by(reading, begun):
            (tried if line.startswith("try") else acknowledged).add(line.partition(" ")[2])
    with Ledger.open(url) as ledger:
        held = {one.id for one in ledger.entries(kinds={"record"})}
        assert ledger.verify().ok
        assert len(ledger.beds()) == BEDS
    return Counter(
        acknowledged=len(acknowledged),
        lost=len(acknowledged - held),
        unsaid=len(held - acknowledged),
        odd=len(held - tried),
    )


@pytest.mark.parametrize("times", [8, pytest.param(500, marks=LONG)])
def test_a_killed_writer_loses_nothing_it_was_told_is_saved(ready: str, times: int) -> None:
    count = kill_writers(ready, times)
    print(f"{times} kills: {dict(count)}")
    assert count["acknowledged"] >= times // 2, "the kills fell in the midst of the work"
    assert (count["lost"], count["odd"]) == (0, 0)


@pytest.fixture
def own_server() -> Iterator[Server]:
    """A server these tests may kill, that writes through to the disk as in use."""
    binaries = postgres_binaries()
    if binaries is None:
        pytest.skip("no PostgreSQL programs on this machine: apt-get install postgresql")
    running = Server(binaries, sync=True)
    yield running
    running.remove()


def holds_and_replays(url: str, folder: Path, stop: Path) -> Callable[[Callable[[str], None]], None]:
    """A station as the terminal is: save, or hold while the server is gone and replay when it is back."""

    def work(say: Callable[[str], None]) -> None:
        outbox = Outbox(folder / "outbox.jsonl")
        ledger = Ledger.open(url)
        while not stop.exists() or outbox.held():
            try:
                outbox.replay(ledger)
                new = NewEntry("s1", "seen", START, "JN")
                outbox.save(ledger, new)
                say(f"ack {new.id}")
            except LedgerBusy:
                continue
            except LedgerUnreachable:
                say("gone")
            sleep(0.005)

    return work


@pytest.mark.postgres
@pytest.mark.parametrize("times", [2, pytest.param(50, marks=LONG)])
def test_a_killed_server_loses_nothing_acknowledged_or_held(
    own_server: Server, tmp_path: Path, times: int
) -> None:
    """Killed in mid-save, restarted; the station holds, replays, and doubles nothing."""
    url = own_server.fresh()
    with Ledger.open(url) as ledger:
        Writer(ledger).admit("s1", "4W-1")
    stop = tmp_path / "stop"
    pid, reading = station(holds_and_replays(url, tmp_path, stop))
    lines: list[str] = []
    listening = Thread(
        target=lambda: lines.extend(said_by(reading))
    )  # else a full pipe would stop the station
    listening.start()
    random = Random(7)
    for _ in range(times):
        sleep(random.uniform(0.3, 0.6))
        own_server.kill()
        sleep(0.2)
        own_server.start()
    sleep(0.5)
    stop.touch()
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    listening.join()
    acknowledged = [line.partition(" ")[2] for line in lines if line.startswith("ack")]
    with Ledger.open(url) as ledger:
        held = [one.id for one in ledger.entries(kinds={"seen"})]
        assert ledger.verify().ok
    print(
        f"{times} server kills: {len(acknowledged)} acknowledged or held, "
        f"{len(set(acknowledged) - set(held))} lost"
    )
    assert len(held) == len(set(held))
    assert set(acknowledged) <= set(held)


def records_for(url: str, number: int, saves: int, seconds: float) -> Callable[[Callable[[str], None]], None]:
    """A nurse's station: look at a bed, record it, and on a conflict look again."""

    def work(say: Callable[[str], None]) -> None:
        ledger, random, done = Ledger.open(url), Random(number), 0
        end = monotonic() + seconds
        while done < saves or monotonic() < end:
            which = random.randrange(BEDS)
            seen = ledger.latest(f"s{which}")
            assert seen is not None
            new = record_entry(
                seen.stay,
                Record(bed=seen.bed, weight_kg=60 + number),
                START,
                f"N{number}",
                expect=seen.fact_version,
            )
            try:
                ledger.append(new)
                say(f"ack {new.id}")
                done += 1
            except SaveConflict as conflict:
                say("conflict" if conflict.entries_since else "conflict that names nothing")
            except LedgerBusy:
                say("busy")

    return work


@pytest.mark.parametrize(
    ("stations", "saves", "seconds"),
    [(4, 10, 0.0), pytest.param(20, 0, 60.0, marks=LONG)],
    ids=["short", "long"],
)
def test_many_stations_at_once_lose_nothing_and_overwrite_nothing(
    ready: str, stations: int, saves: int, seconds: float
) -> None:
    running = [station(records_for(ready, number, saves, seconds)) for number in range(stations)]
    lines: list[str] = []
    listening = [Thread(target=lambda end=reading: lines.extend(said_by(end))) for _, reading in running]
    for one in listening:
        one.start()
    for one in listening:
        one.join()
    assert [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid, _ in running] == [0] * stations
    acknowledged = {line.partition(" ")[2] for line in lines if line.startswith("ack")}
    with Ledger.open(ready) as ledger:
        records = list(ledger.entries(kinds={"record"}))
        assert ledger.verify().ok
    told = Counter(line for line in lines if not line.startswith("ack"))
    print(f"{stations} stations: {len(acknowledged)} acknowledged, {dict(told)}")
    assert {one.id for one in records} == acknowledged
    assert set(told) <= {"conflict", "busy"}


def test_a_retry_after_a_lost_answer_is_recognised(ready: str) -> None:
    """The same id twice from two processes: one entry, both told it is saved."""
    shared = new_id()

    def work(say: Callable[[str], None]) -> None:
        with Ledger.open(ready) as ledger:
            (saved,) = ledger.append(NewEntry("s1", "assign", START, "JN", {"to": "JN"}, expect=1, id=shared))
            say(f"{saved.seq}")

    running = [station(work) for _ in range(2)]
    told = [line for _, reading in running for line in said_by(reading)]
    for pid, _ in running:
        os.waitpid(pid, 0)
    assert len(told) == 2
    assert len(set(told)) == 1


@LONG
def test_a_disk_that_fills_up_and_is_cleared(tmp_path: Path) -> None:
    """A real small file system, where the machine lets us mount one: full, said, cleared, nothing lost."""
    import subprocess

    place = tmp_path / "small"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(place)], check=False
    ).returncode
    if mounted:
        pytest.skip("this machine does not let us mount a small file system")
    try:
        ledger = Ledger.open(place / "ledger.sqlite")
        Writer(ledger).admit("s1", "4W-1")
        (place / "ballast").write_bytes(b"x" * 400_000)
        saved: list[str] = []
        says = ""
        while not says:
            try:
                saved.append(ledger.append(NewEntry("s1", "seen", START, "JN", {"note": "x" * 2000}))[0].id)
            except LedgerFull as full:
                says = full.says
        print(f"{len(saved)} saved before the disk was full: {says}")
        (place / "ballast").unlink()
        ledger.append(NewEntry("s1", "seen", START, "JN"))
        assert [one.id for one in ledger.entries(kinds={"seen"})][: len(saved)] == saved
        assert ledger.verify().ok
        ledger.close()
    finally:
        subprocess.run(["umount", str(place)], check=False)
