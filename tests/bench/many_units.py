"""A thousand beds of forty units with years behind them, on PostgreSQL: what each unit's command costs.

    python -m tests.bench.many_units [--days 30 180 1095] [--beds 1000] [--verify]

The entries are numbered and chained as a save's are and go in by COPY, with what the server's triggers would
have kept beside them (by saves it would take hours); ``--verify`` holds all of it against the entries.
A patient comes every five days: admitted, looked at, a card printed, hung and taken down, gone home; on the
last day sixteen looks at the screen and the ticks besides. Each command is a process of its own; processor
seconds are the client's, wall seconds hold the server's too.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, select, text

from mobicard.derive.card_code import short_code
from mobicard.ledger import Ledger, NewEntry
from mobicard.ledger.database.found import TABLES, found_in
from mobicard.ledger.database.schema import chain, entry, receipt, slot
from mobicard.ledger.database.schema import stay as stays
from mobicard.ledger.entry import BODY_SCHEMA, FACT_KINDS, body_text, chain_hash, digest_of, time_text
from tests.bench.history import STAY_DAYS, unit_of
from tests.bench.ledger import NOW, seen
from tests.bench.scale import HERE, cost, slope
from tests.ledger.places import Server, postgres_binaries
from tests.records import record_entry


def lives(beds: int, days: int) -> Iterator[NewEntry]:
    """What so many days leave, in the order of time."""
    start, before = NOW - timedelta(days=days), list[tuple[str, str, dict[str, str]]]()
    for period in range(days // STAY_DAYS):
        at = start + timedelta(days=STAY_DAYS * period)
        for stay, bed, card in before:
            yield NewEntry(stay, "taken_down", at, "CL", card)
            yield NewEntry(stay, "discharge", at, "CL", {"bed": bed})
        names = ((f"s{period}x{n}", unit_of(n)) for n in range(beds))
        before = [(s, bed, {"code": short_code(s.encode()), "bed": bed}) for s, bed in names]
        for stay, bed, _ in before:
            yield NewEntry(stay, "admit", at, "CL", {"bed": bed})
        for stay, bed, _ in before:
            yield look(stay, bed, at + timedelta(minutes=30))
        for stay, _, card in before:
            yield NewEntry(stay, "prepared", at + timedelta(hours=1), "CL", {**card, "batch": f"b{period}"})
            yield NewEntry(stay, "hung", at + timedelta(hours=1), "CL", card)
    for hour in range(20):
        at = NOW - timedelta(hours=20 - hour)
        for stay, bed, _ in before:
            kind, body = ("tick", {"task": "chair", "outcome": "done"}) if hour % 5 == 0 else ("seen", {})
            yield look(stay, bed, at) if hour == 12 else NewEntry(stay, kind, at, "JN", body)


@cache
def _seen(bed: str) -> Mapping[str, Any]:
    return record_entry("s", seen(bed, 12), NOW, "JN").body


def look(stay: str, bed: str, at: datetime) -> NewEntry:
    """A look at a bed; the record is made once for each bed, but for its hour."""
    body = _seen(bed)
    ward_time = at.replace(tzinfo=None).isoformat()
    return NewEntry(stay, "record", at, "JN", {"record": {**body["record"], "assessed_at": ward_time}})


def load(ledger: Ledger, entries: Iterator[NewEntry]) -> None:
    """Numbered and chained as by a save, and copied in with what the server's triggers would keep beside."""
    kept, end = Beside(), dict[str, Any]()
    with ledger.writing() as connection:
        connection.execute(text("ALTER TABLE entry DISABLE TRIGGER USER"))
        (last,) = connection.execute(select(chain)).mappings()
        seq, prev = last["seq"], last["hash"]
        while some := list(islice(entries, 10_000)):
            rows = []
            for new in some:
                seq += 1
                rows.append(end := kept.row(new, seq, prev))
                prev = end["hash"]
            copied(connection, entry, rows)
            copied(connection, receipt, rows)
        copied(connection, stays, list(kept.stays.values()))
        copied(connection, slot, [{"stay": s, "slot": k, "seq": n} for (s, k), n in kept.slots.items()])
        connection.execute(chain.update().values(seq=seq, hash=prev))
        connection.execute(text("ALTER TABLE entry ENABLE TRIGGER USER"))
        folded = found_in(connection)
        for one in TABLES:
            connection.execute(one.delete())
            copied(connection, one, [dict(zip(one.c.keys(), row, strict=True)) for row in folded._rows(one)])
        connection.execute(text("ANALYZE"))


class Beside:
    """Each stay's state and its newest entry of each kind, as the triggers keep them for these kinds."""

    def __init__(self) -> None:
        self.stays: dict[str, dict[str, Any]] = {}
        self.slots: dict[tuple[str, str], int] = {}

    def row(self, new: NewEntry, seq: int, prev: str) -> dict[str, Any]:
        """The entry's row; what is kept beside follows it."""
        at, body = time_text(new.at), body_text(new.body)
        fresh = {"stay": new.stay, "version": 0, "fact_version": 0, "bed": new.body.get("bed")}
        state = self.stays.setdefault(new.stay, {**fresh, "opened_at": at, "closed_at": None})
        state["version"] += 1
        if new.kind in FACT_KINDS:
            state["fact_version"] = state["version"]
        if new.kind == "discharge":
            state |= {"bed": None, "closed_at": at}
        self.slots[new.stay, "first" if state["version"] == 1 else new.kind] = seq
        values = (seq, new.id, new.stay, state["version"], new.kind, at, new.by, BODY_SCHEMA, body, prev)
        row = dict(zip(entry.c.keys(), values, strict=False))
        return row | {"hash": chain_hash(row, digest_of(body))}


def copied(connection: Connection, table: Table, rows: list[dict[str, Any]]) -> None:
    """Rows into a table by COPY."""
    names, driver = table.c.keys(), connection.connection.driver_connection
    assert driver is not None
    listed = ", ".join(f'"{name}"' for name in names)
    with driver.cursor() as cursor, cursor.copy(f"COPY {table.name} ({listed}) FROM STDIN") as copy:
        for row in rows:
            copy.write_row([row[name] for name in names])


def questions(url: str, code: str, out: Path) -> dict[str, tuple[str, ...]]:
    """What the station of one unit asks, and the house."""
    at = ("--ledger", url, "--by", "JN", "--unit", "7W")
    return {
        "stay list": (*at, "stay", "list"),
        "check a code": (*at, "check", code),
        "handoff": (*at, "handoff", "--format", "html", "--out", str(out)),
        "cards --changed": (*at, "cards", "--changed", "--format", "html", "--out", str(out)),
        "audit of a bed": (*at, "ledger", "audit", "--bed", "7W-05"),
        "export --lines": (*at, "export", "--lines"),
        "export --fhir": (*at, "export", "--fhir"),
        "house": ("--ledger", url, "--by", "JN", "house"),
    }


def table(beds: int, days: list[int], *, verify: bool = False) -> None:
    """Every command at every size, and its exponent."""
    binaries = postgres_binaries()
    assert binaries, "no PostgreSQL programs on this machine"
    server, entries = Server(binaries), list[int]()
    found: dict[str, list[float]] = {}
    wall: dict[str, float] = {}
    try:
        for number in days:
            url, begun = server.fresh(), time.monotonic()
            with Ledger.open(url) as ledger, tempfile.TemporaryDirectory() as out:
                load(ledger, lives(beds, number))
                entries.append(ledger.change_token())
                print(f"{entries[-1]:,} entries loaded in {time.monotonic() - begun:.0f} s", flush=True)
                if verify:
                    print(ledger.verify().says)
                code = short_code(f"s{number // STAY_DAYS // 2}x155".encode())
                for name, words in questions(url, code, Path(out)).items():
                    begun = time.monotonic()
                    found.setdefault(name, []).append(cost(HERE, *words, times=1).seconds)
                    wall[name] = time.monotonic() - begun
                    print(f"  {name}: {found[name][-1]:.2f} s, wall {wall[name]:.2f} s", flush=True)
        floor = cost(HERE, "--help").seconds
        for name, seconds in found.items():
            told = "  ".join(f"{one:5.2f} s" for one in seconds)
            grows = f"exponent {slope(entries, seconds, floor):5.2f}"
            print(f"{name:16} {told}   wall at last {wall[name]:.2f} s   {grows}", flush=True)
    finally:
        with suppress(OSError):
            server.remove()


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    said.add_argument("--days", type=int, nargs="+", default=[30, 180, 1095])
    said.add_argument("--beds", type=int, default=1000)
    said.add_argument("--verify", action="store_true")
    told = said.parse_args()
    table(told.beds, told.days, verify=told.verify)


if __name__ == "__main__":
    main()
