"""Look-ups by index: what a stay is found by, the cards that hang, clocks set back; as the entries say."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from random import Random
from typing import Any

import pytest
from sqlalchemy import event

from mobicard.ledger import Ledger, LedgerError, NewEntry
from mobicard.ledger.database import engine, migrations
from mobicard.ledger.database.engine import ledger_url
from mobicard.ledger.database.found import TABLES
from mobicard.ledger.keeping.verify import rebuild
from tests.ledger.places import START, Server, Writer
from tests.ledger.test_states import random_entry


def hang(write: Writer, stay: str, code: str, bed: str, **more: Any) -> None:
    write(stay, "prepared", {"code": code, "bed": bed, "batch": f"b-{code}", **more})
    write(stay, "hung", {"code": code, "bed": bed, **more})


def test_a_code_a_batch_and_a_bed_lead_to_the_stay(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    hang(write, "s1", "AAAAAA", "4W-1")
    write("s1", "move", {"bed": "4W-2", "from": "4W-1"})
    write.admit("s2", "4W-1")
    assert ledger.stays_of("code", "AAAAAA") == ["s1"]
    assert ledger.stays_of("batch", "b-AAAAAA") == ["s1"]
    assert ledger.stays_of("bed", "4W-1") == ["s1", "s2"]
    assert ledger.stays_of("code", "BBBBBB") == []
    assert ledger.beds_ever() == ["4W-1", "4W-2"]


def test_a_card_hangs_until_it_is_taken_down_through_moves_swaps_and_merges(
    ledger: Ledger, write: Writer
) -> None:
    for number in (1, 2, 3):
        write.admit(f"s{number}", f"4W-{number}")
        hang(write, f"s{number}", f"CARD{number}", f"4W-{number}")
    ledger.append(
        *(
            write_swap(write, one, other, bed)
            for one, other, bed in (("s1", "s2", "4W-2"), ("s2", "s1", "4W-1"))
        )
    )
    write("s3", "merge", {"into": "s1"})
    assert ledger.hanging() == {f"s{n}": (f"CARD{n}", f"4W-{n}") for n in (1, 2, 3)}
    write("s1", "taken_down", {"code": "OTHER", "bed": "4W-1"})
    write("s3", "taken_down", {"code": "CARD3", "bed": "4W-3"})
    assert sorted(ledger.hanging()) == ["s1", "s2"]


def write_swap(write: Writer, one: str, other: str, bed: str) -> NewEntry:
    return NewEntry(one, "move", write.now + timedelta(minutes=1), "JN", {"bed": bed, "swap": other})


def test_a_bedside_page_taken_down_leaves_the_door_as_it_is(ledger: Ledger, write: Writer) -> None:
    """Also where both carry one code."""
    write.admit("s1", "4W-1")
    hang(write, "s1", "DOORDR", "4W-1")
    hang(write, "s1", "DOORDR", "4W-1", page="bedside")
    write("s1", "taken_down", {"code": "DOORDR", "page": "bedside"})
    assert ledger.hanging() == {"s1": ("DOORDR", "4W-1")}


def test_the_newest_entry_that_placed_each_stay(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    moved = write("s1", "move", {"bed": "4W-2"})
    write.record("s1", "4W-2")
    admitted = write.admit("s2", "4W-1")
    assert ledger.newest_of(["s1", "s2", "no"], ("admit", "move")) == {"s1": moved, "s2": admitted}


def test_the_newest_of_a_kind_come_first_however_many(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    looks = [write("s1", "seen") for _ in range(45)]
    assert list(ledger.newest_first("seen")) == looks[::-1]
    assert list(ledger.newest_first("seen", looks[40].at)) == looks[:39:-1]


def test_an_entry_of_an_earlier_minute_is_told_from_what_came_before(ledger: Ledger, write: Writer) -> None:
    last = write.admit("s1", "4W-1")
    back = write("s1", "seen", at=START - timedelta(hours=3))
    told = write("s1", "seen", {"machine_at": "2026-03-02T09:00:00.000000+00:00"}, at=START)
    behind = write("s1", "seen")
    assert ledger.newest_before([last.seq, back.seq, told.seq, behind.seq]) == {
        back.seq: last.at,
        behind.seq: told.machine_at,
    }


def tables(ledger: Ledger) -> list[Any]:
    with ledger.looking() as connection:
        return [sorted(map(tuple, connection.execute(table.select()))) for table in TABLES]


@pytest.mark.parametrize("seed", range(2))
def test_made_anew_from_the_entries_they_say_the_same(ledger: Ledger, seed: int) -> None:
    """The trigger and the fold agree over random lives; verify names the difference, rebuild mends it."""
    random, now = Random(seed), START
    for _ in range(150):
        now += timedelta(minutes=random.choice([1, 30, -90]))
        try:
            ledger.append(random_entry(random, [f"s{n}" for n in range(6)], now))
        except LedgerError:
            continue
    kept = tables(ledger)
    assert all(kept)
    assert ledger.verify().ok
    with ledger.writing() as connection:
        for table in TABLES:
            connection.execute(table.delete())
    assert "rebuild" in ledger.verify().says
    rebuild(ledger)
    assert tables(ledger) == kept


def test_an_interrupted_move_to_the_fifth_schema_goes_on(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A ledger of schema 4 with a life in it; the first try breaks off in the middle, the second ends."""
    with monkeypatch.context() as before:
        before.setattr(migrations, "STEPS", migrations.STEPS[:4])
        before.setattr(migrations, "CURRENT", 4)
        with Ledger(engine.connect(ledger_url(url)), ledger_url(url)) as old:
            migrations.bring_up_to_date(old._engine, old.url)
            write = Writer(old)
            write.admit("s1", "4W-1")
            hang(write, "s1", "AAAAAA", "4W-1")
    with monkeypatch.context() as broken:
        broken.setattr(migrations, "found_in", breaks_off)
        with pytest.raises(KeyboardInterrupt):
            Ledger.open(url)
    with Ledger.open(url) as now:
        assert now.hanging() == {"s1": ("AAAAAA", "4W-1")}
        assert now.stays_of("code", "AAAAAA") == ["s1"]
        assert now.verify().ok


def breaks_off(_connection: object) -> None:
    raise KeyboardInterrupt


LOOK_UPS: dict[str, Callable[[Ledger], Any]] = {
    "code": lambda ledger: ledger.stays_of("code", "AAAAAA"),
    "hanging": lambda ledger: ledger.hanging(),
    "bed": lambda ledger: ledger.beds_ever(),
    "kinds of a stay": lambda ledger: list(ledger.of_kinds(["s1"], ["record"])),
    "newest": lambda ledger: next(ledger.newest_first("seen"), None),
    "person": lambda ledger: ledger.touched_by("JN"),
    "last": lambda ledger: ledger.last_of(["s1"]),
    "board": lambda ledger: ledger.beds(),
    "said since": lambda ledger: ledger.standing(replace(ledger.standing(), seq=0)),
    "taken in since": lambda ledger: ledger.touched(START + timedelta(hours=1)),
    "as of a time": lambda ledger: ledger.beds(at=START + timedelta(hours=1)),
}


def asked_of(ledger: Ledger, ask: Callable[[Ledger], Any]) -> list[tuple[str, Any]]:
    """The statements of one question, each with its values.

    The end of the ledger is asked for by its key, backwards, fifty rows: no walk, so not among them.
    """
    Writer(ledger).admit("s1", "4W-1")
    asked: list[tuple[str, Any]] = []
    event.listen(
        ledger._engine, "before_cursor_execute", lambda _c, _u, sql, said, *_: asked.append((sql, said))
    )
    ask(ledger)
    return [one for one in asked if one[0].startswith("SELECT") and "entry.at \nFROM" not in one[0]]


@pytest.mark.parametrize("ask", LOOK_UPS.values(), ids=LOOK_UPS)
def test_no_look_up_walks_through_all_entries(lite: Ledger, ask: Callable[[Ledger], Any]) -> None:
    """SQLite's own plan of each question names an index or a key, and scans neither entries nor stays."""
    selects = asked_of(lite, ask)
    with lite.looking() as connection:
        plans = [
            row.detail
            for sql, said in selects
            for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}", said)
        ]
    assert plans
    assert not [one for one in plans if WALKS.match(one)]


WALKS = re.compile(
    r"SCAN (entry|stay|slot|found)|SEARCH (entry|stay|slot|found)( USING (COVERING )?INDEX \w+)?$"
)
"""A table read whole; or an index from its start, where only a least or a largest is searched for."""


@pytest.mark.parametrize("ask", LOOK_UPS.values(), ids=LOOK_UPS)
def test_the_server_has_an_index_for_each_look_up(server: Server, ask: Callable[[Ledger], Any]) -> None:
    """PostgreSQL reads a few rows in a row whatever there is: told not to, it finds an index or a key."""
    with Ledger.open(server.emptied()) as ledger:
        selects = asked_of(ledger, ask)
        with ledger.looking() as connection:
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
            plans = [
                str(row[0])
                for sql, said in selects
                for row in connection.exec_driver_sql(f"EXPLAIN {sql}", said)
            ]
    assert plans
    assert not [one for one in plans if re.search(r"Seq Scan on (entry|stay|slot|found)", one)]
