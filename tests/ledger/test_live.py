"""Live: a save at one station is told at the others; a station without its server keeps what is entered."""

from __future__ import annotations

import json
import stat
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from queue import Empty, Queue
from threading import Event, Thread

import pytest

from mobicard.ledger import Ledger, LedgerDamaged, LedgerUnreachable, NewEntry, SaveConflict, live
from mobicard.ledger.outbox import Outbox
from mobicard.terminal.place import LOOK_S
from tests.ledger.places import START, Server, Writer, postgres_binaries

LONG_ENOUGH = 20.0  # seconds before a test gives up; a told save takes well under one


class Watching:
    """A station that watches, as the terminal does."""

    def __init__(self, url: str) -> None:
        self.ledger = Ledger.open(url)
        self.told: Queue[str] = Queue()
        self.stop = Event()
        self.thread = Thread(
            target=self.ledger.watch,
            args=(lambda: self.told.put("changed"), self.stop, self.told.put, lambda: self.told.put("back")),
            daemon=True,
        )
        self.thread.start()

    def next(self) -> str:
        return self.told.get(timeout=LONG_ENOUGH)

    def close(self) -> None:
        self.stop.set()
        self.thread.join(LONG_ENOUGH)
        self.ledger.close()
        assert not self.thread.is_alive(), "a watcher ends when it is told to"


@pytest.fixture
def watching(url: str, ledger: Ledger) -> Iterator[Watching]:
    Writer(ledger).admit("s1", "4W-1")
    station = Watching(url)
    yield station
    station.close()


def until_told(station: Watching, save: Callable[[], object]) -> str:
    """Save until told: the watcher may not have begun to look at the first save."""
    for _ in range(40):
        save()
        try:
            return station.told.get(timeout=0.5)
        except Exception:
            continue
    raise AssertionError("never told")


def test_a_save_elsewhere_is_told(watching: Watching, write: Writer) -> None:
    assert until_told(watching, lambda: write.record("s1", "4W-1")) == "changed"


def test_what_another_process_saves_is_told(watching: Watching, url: str) -> None:
    """Not only what this process's own connections saw."""
    import subprocess
    import sys

    code = (
        "import sys; from datetime import datetime, UTC; from mobicard.ledger import Ledger, NewEntry\n"
        "Ledger.open(sys.argv[1]).append(NewEntry('s1', 'seen', datetime.now(UTC), 'KL'))"
    )
    save = lambda: subprocess.run([sys.executable, "-c", code, url], check=True)  # noqa: E731
    assert until_told(watching, save) == "changed"


def test_a_watcher_outlives_what_it_calls(url: str, ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """One call that stumbled ended the watching without a word; the board looked alive from then on."""
    monkeypatch.setattr(live, "RETRY_S", 0.1)
    write, told, stop = Writer(ledger), Queue[str](), Event()
    write.admit("s1", "4W-1")

    def stumbles() -> None:
        told.put("changed")
        raise RuntimeError("the screen was closing")

    with Ledger.open(url) as station:
        watcher = Thread(target=station.watch, args=(stumbles, stop, told.put), daemon=True)
        watcher.start()
        said = set()
        for _ in range(40):
            write("s1", "seen")
            with suppress(Empty):
                said.add(told.get(timeout=0.5))
            if {"changed"} < said and told.qsize():
                break
        assert watcher.is_alive()
        stop.set()
        watcher.join(LONG_ENOUGH)
    assert {one for one in said if "stumbled (RuntimeError)" in one}


def test_signs_of_life_are_told_though_nothing_changes(
    url: str, ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "QUIET_S", 0.0)
    signs, stop = Queue[int](), Event()
    with Ledger.open(url) as station:
        watcher = Thread(
            target=station.watch, args=(lambda: None, stop), kwargs={"on_heard": lambda: signs.put(1)}
        )
        watcher.start()
        assert [signs.get(timeout=LONG_ENOUGH) for _ in range(4)]
        stop.set()
        watcher.join(LONG_ENOUGH)


def test_the_counter_is_looked_at_less_than_once_a_second() -> None:
    """With the clock an idle station wakes once a second at most; a save shows elsewhere within two."""
    assert 1 / live.EVERY_S + 2 / LOOK_S <= 1
    assert live.EVERY_S < 2


@pytest.fixture
def own_server() -> Iterator[Server]:
    """A server these tests may kill."""
    binaries = postgres_binaries()
    if binaries is None:
        pytest.skip("no PostgreSQL programs on this machine: apt-get install postgresql")
    running = Server(binaries)
    yield running
    running.remove()


@pytest.mark.postgres
def test_a_server_that_dies_is_said_once_and_its_return_is_told(
    own_server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "RETRY_S", 0.2)
    url = own_server.fresh()
    with Ledger.open(url) as ledger:
        write = Writer(ledger)
        write.admit("s1", "4W-1")
        station = Watching(url)
        assert until_told(station, lambda: write("s1", "seen")) == "changed"
        own_server.kill()
        said = next(one for one in iter(station.next, "") if one != "changed")
        assert "does not answer" in said
        with pytest.raises(LedgerUnreachable, match="still here"):
            write("s1", "seen")
        own_server.start()
        assert station.next() == "back"
        assert until_told(station, lambda: write("s1", "seen")) == "changed"
        station.close()
        assert ledger.verify().ok


@pytest.mark.postgres
def test_what_is_entered_while_the_server_is_gone_is_kept_and_saved_on_its_return(
    own_server: Server, tmp_path: Path
) -> None:
    """Two held saves: one goes in, the other meets what somebody saved meanwhile and stays as a conflict."""
    outbox = Outbox(tmp_path / "outbox.jsonl")
    url = own_server.fresh()
    with Ledger.open(url) as ledger, Ledger.open(url) as other:
        write = Writer(ledger)
        write.admit("s1", "4W-1")
        write.admit("s2", "4W-2")
        own_server.kill()
        mine = [
            NewEntry(s, "record", START, "JN", {"record": {"bed": b}}, 1)
            for s, b in (("s1", "4W-1"), ("s2", "4W-2"))
        ]
        assert [outbox.save(ledger, one) for one in mine] == [None, None]
        assert stat.S_IMODE(outbox.path.stat().st_mode) == 0o600
        assert outbox.replay(ledger) == ([], [])
        assert len(outbox.held()) == 2
        own_server.start()
        for _ in range(2):
            try:
                other.append(
                    NewEntry("s2", "record", START, "AB", {"record": {"bed": "4W-2", "weight_kg": 70}}, 1)
                )
                break
            except LedgerUnreachable:
                continue  # the first try finds the connection dead, the second makes a new one
        saved, refused = outbox.replay(ledger)
        assert [one.id for one in saved] == [mine[0].id]
        (held,) = refused
        assert held.entries == (mine[1],)
        assert isinstance(held.refused, SaveConflict)
        assert held.refused.entries_since[0].by == "AB"
        assert [one.entries for one in outbox.held()] == [held.entries]
        outbox.drop([held.name])
        assert not outbox.path.exists()


def held(number: int) -> NewEntry:
    return NewEntry("s1", "record", START, "JN", {"record": {"bed": "4W-1", "weight_kg": 60 + number}}, 1)


def test_a_held_save_comes_back_as_it_was(tmp_path: Path) -> None:
    outbox = Outbox(tmp_path / "deep" / "outbox.jsonl")
    entries = (held(1), NewEntry("s1", "assign", START, "JN", {"to": "ÄÖ 日本"}))
    outbox.hold(entries)
    assert [one.entries for one in outbox.held()] == [entries]


def test_a_save_that_went_in_before_the_line_broke_is_not_doubled(
    ledger: Ledger, write: Writer, tmp_path: Path
) -> None:
    """The server had saved it, only the answer was lost: the replay finds it there by its id."""
    write.admit("s1", "4W-1")
    outbox = Outbox(tmp_path / "outbox.jsonl")
    outbox.hold([held(1)])
    ledger.append(held_as := outbox.held()[0].entries[0])
    saved, refused = outbox.replay(ledger)
    assert ([one.id for one in saved], refused) == ([held_as.id], [])
    assert len(ledger.history("s1")) == 2


@pytest.mark.parametrize("cut", [1, 10, 100])
def test_a_line_torn_by_a_power_cut_hides_none_before_or_after(tmp_path: Path, cut: int) -> None:
    outbox = Outbox(tmp_path / "outbox.jsonl")
    outbox.hold([held(1)])
    outbox.hold([held(2)])
    outbox.path.write_bytes(outbox.path.read_bytes()[:-cut])
    kept = [one.entries[0].body["record"]["weight_kg"] for one in outbox.held()]
    assert kept == ([61, 62] if cut == 1 else [61])
    outbox.hold([held(3)])
    assert [one.entries[0].body["record"]["weight_kg"] for one in outbox.held()] == [*kept, 63]


def test_a_line_scribbled_over_in_the_middle_is_said_and_the_file_kept(tmp_path: Path) -> None:
    outbox = Outbox(tmp_path / "outbox.jsonl")
    outbox.hold([held(1)])
    outbox.hold([held(2)])
    scribbled = outbox.path.read_bytes().replace(b'"name"', b"\x00\x00name", 1)
    outbox.path.write_bytes(scribbled)
    with pytest.raises(LedgerDamaged, match="Line 1 "):
        outbox.held()
    assert outbox.path.read_bytes() == scribbled


def test_an_outbox_line_is_plain_json(tmp_path: Path) -> None:
    """So that it can be read by eye when all else fails."""
    outbox = Outbox(tmp_path / "outbox.jsonl")
    outbox.hold([held(1)])
    line = json.loads(outbox.path.read_text())
    assert line["entries"][0]["body"]["record"]["weight_kg"] == 61


def test_holding_and_dropping_at_once_loses_no_held_save(tmp_path: Path) -> None:
    """Two programs of one station on one outbox: one holds, the other drops what it knows."""
    path = tmp_path / "outbox.jsonl"
    first = Outbox(path).hold([held(0)])

    def hold_many() -> None:
        for number in range(1, 41):
            Outbox(path).hold([held(number)])

    def drop_often() -> None:
        for _ in range(40):
            Outbox(path).drop([first.name, "unknown"])

    both = [Thread(target=hold_many), Thread(target=drop_often)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    kept = [one.entries[0].body["record"]["weight_kg"] for one in Outbox(path).held()]
    assert kept == [60 + number for number in range(1, 41)]


@pytest.mark.postgres
def test_a_station_of_one_unit_is_not_woken_by_another(server: Server) -> None:
    """Nor by who looks at a bed; it is by a bed of its own, by one that leaves it, and by a day plan."""
    from mobicard.ledger.entry import OFFICE

    url = server.fresh()
    with Ledger.open(url) as ledger, Ledger.open(url) as station:
        write, stop, told = Writer(ledger), Event(), Queue[str]()
        for stay, bed in (("s1", "4W-1"), ("s2", "5N-1")):
            write.admit(stay, bed)
        heard: list[str] = []
        watcher = Thread(
            target=station.watch, args=(lambda: told.put("told"), stop), kwargs={"unit": "5n"}, daemon=True
        )
        watcher.start()
        while told.empty():
            write("s2", "fall")
            with suppress(Empty):
                heard.append(told.get(timeout=1.5))
                break
        with suppress(Empty):
            while True:
                told.get(timeout=2.5)
        write("s1", "fall")
        write("s2", "seen")
        with pytest.raises(Empty):
            told.get(timeout=3)
        for save in (
            lambda: write("s2", "move", {"from": "5N-1", "to": "4W-2"}),
            lambda: write("s1", "move", {"from": "4W-1", "to": "5N-3"}),
            lambda: write(OFFICE, "day_plan", {}),
        ):
            save()
            assert told.get(timeout=LONG_ENOUGH) == "told"
            with suppress(Empty):
                told.get(timeout=2.5)
        stop.set()
        watcher.join(LONG_ENOUGH)


def test_units_that_are_no_plain_word_listen_to_every_save() -> None:
    assert live.channels_of("5N") == live.channels_of("5n North") == ("mobicard_5n", "mobicard_*")
    assert live.channels_of('x"; DROP') == ("mobicard_x", "mobicard_*")
    assert live.channels_of(None) == live.channels_of("Ä4") == live.channels_of('"') == ("mobicard",)
