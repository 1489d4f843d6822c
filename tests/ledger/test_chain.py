"""The chain: any change made past the program shows, and the first broken entry is named."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from mobicard.ledger import Ledger, LedgerDamaged
from mobicard.ledger.entry import chain_hash, digest_of
from mobicard.ledger.keeping.verify import rebuild
from tests.ledger.places import Writer

OPEN_SQLITE = (
    "DROP TRIGGER entry_never_changed; DROP TRIGGER entry_never_deleted; DROP TRIGGER entry_in_order;"
)


@pytest.fixture
def filled(ledger: Ledger, write: Writer) -> Ledger:
    for number in range(1, 6):
        write.admit(f"s{number}", f"4W-{number}")
        write.record(f"s{number}", f"4W-{number}", weight_kg=60 + number)
    return ledger


@pytest.fixture
def tamper(filled: Ledger, sql: Callable[[str], Any]) -> Callable[[str], Any]:
    """What someone does who first takes the guards off, as the owner of file or database can."""
    if filled.on_server:
        sql("ALTER TABLE entry DISABLE TRIGGER ALL")
    else:
        for one in OPEN_SQLITE.split(";"):
            if one.strip():
                sql(one)
    return sql


@pytest.fixture
def guards_back(filled: Ledger, sql: Callable[[str], Any]) -> Callable[[], None]:
    """What someone does afterwards who knows that the guards are looked at too."""
    if filled.on_server:
        return lambda: sql("ALTER TABLE entry ENABLE TRIGGER ALL")
    made = sql("SELECT sql FROM sqlite_master WHERE type = 'trigger'")

    def put_back() -> None:
        there = {one for (one,) in sql("SELECT sql FROM sqlite_master WHERE type = 'trigger'")}
        for (one,) in made:
            if one not in there:
                sql(one)

    return put_back


def test_an_honest_ledger_checks_out(filled: Ledger) -> None:
    report = filled.verify()
    assert report.ok
    assert (report.checked, report.seq, report.broken_seq) == (10, 10, None)
    assert report.hash == list(filled.entries())[-1].hash


def test_an_empty_ledger_checks_out(ledger: Ledger) -> None:
    assert ledger.verify().ok


@pytest.mark.parametrize(
    ("change", "broken"),
    [
        ("UPDATE entry SET body = replace(body, '63', '73') WHERE seq = 6", 6),
        ("UPDATE entry SET \"by\" = 'XX' WHERE seq = 4", 4),
        ("UPDATE entry SET at = replace(at, '2026', '2025') WHERE seq = 7", 7),
        ("UPDATE entry SET kind = 'same' WHERE seq = 2", 2),
        ("UPDATE entry SET stay = 's9' WHERE seq = 3", 3),
        ("UPDATE entry SET body = '' WHERE seq = 8", 8),
        ("UPDATE entry SET hash = prev WHERE seq = 5", 5),
        ("DELETE FROM entry WHERE seq = 4", 5),
        ("DELETE FROM entry WHERE seq BETWEEN 1 AND 3", 4),
        ("UPDATE entry SET seq = 99 WHERE seq = 9", 10),
    ],
)
def test_the_first_entry_that_does_not_fit_is_named(
    filled: Ledger, tamper: Callable[[str], Any], change: str, broken: int
) -> None:
    tamper(change)
    report = filled.verify()
    assert not report.ok
    assert report.broken_seq == broken
    assert f"Entry {broken} " in report.says


def test_a_tail_cut_off_shows_by_the_chains_end(filled: Ledger, tamper: Callable[[str], Any]) -> None:
    tamper("DELETE FROM entry WHERE seq > 7")
    report = filled.verify()
    assert not report.ok
    assert "The last 3 entries are missing" in report.says


def test_a_tail_cut_off_with_the_chains_end_shows_only_against_what_was_noted(
    filled: Ledger, guards_back: Callable[[], None], tamper: Callable[[str], Any]
) -> None:
    """What the file alone cannot show: this is why a report's seq and hash are worth writing down."""
    noted = filled.verify()
    tamper("DELETE FROM entry WHERE seq > 8")
    tamper("UPDATE chain SET seq = 8, hash = (SELECT hash FROM entry WHERE seq = 8)")
    for beside in ("slot", "stay", "found", "hanging"):
        tamper(f"DELETE FROM {beside} WHERE stay = 's5'")
    tamper("UPDATE set_back SET newest = (SELECT max(at) FROM entry)")
    guards_back()
    assert filled.verify().ok
    against = filled.verify(known=(noted.seq, noted.hash))
    assert not against.ok
    assert "rewritten" in against.says


def test_a_whole_rewrite_shows_only_against_what_was_noted(
    filled: Ledger, guards_back: Callable[[], None], tamper: Callable[[str], Any]
) -> None:
    noted = filled.verify()
    rows = [row._asdict() for row in tamper("SELECT * FROM entry ORDER BY seq")]
    prev = "0" * 64
    for row in rows:
        row["body"] = row["body"].replace("63", "73")
        row["prev"] = prev
        row["hash"] = prev = chain_hash(row, digest_of(row["body"]))
        tamper(
            f"UPDATE entry SET body = '{row['body']}', prev = '{row['prev']}', hash = '{prev}' "
            f"WHERE seq = {row['seq']}"
        )
    tamper(f"UPDATE chain SET hash = '{prev}'")
    guards_back()
    assert filled.verify().ok
    assert not filled.verify(known=(noted.seq, noted.hash)).ok


def test_what_was_noted_still_holds_after_more_was_saved(filled: Ledger, write: Writer) -> None:
    noted = filled.verify()
    write.record("s1", "4W-1", weight_kg=99)
    assert filled.verify(known=(noted.seq, noted.hash)).ok


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE stay SET bed = NULL WHERE stay = 's2'",
        "UPDATE stay SET bed = '9Z-9' WHERE stay = 's2'",
        "UPDATE stay SET version = 1, fact_version = 1 WHERE stay = 's2'",
        "DELETE FROM stay WHERE stay = 's2'",
        "DELETE FROM slot WHERE stay = 's2'",
        "UPDATE slot SET seq = 3 WHERE seq = 4",
    ],
)
def test_a_board_table_that_disagrees_is_told_and_rebuilt(
    filled: Ledger, sql: Callable[[str], Any], change: str
) -> None:
    """The tables beside the entries are never believed over them, and lose nothing when they are wrong."""
    before = filled.beds()
    sql(change)
    report = filled.verify()
    assert not report.ok
    assert "No entry is lost" in report.says
    assert rebuild(filled) == 5
    assert filled.verify().ok
    assert filled.beds() == before


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE slot SET seq = 1 WHERE stay = 's2'",
        "UPDATE slot SET seq = 3 WHERE stay = 's2' AND slot = 'record'",
        "DELETE FROM slot WHERE stay = 's2' AND slot = 'first'",
        "UPDATE stay SET closed_at = '2020-01-01T00:00:00.000000+00:00' WHERE stay = 's2'",
        "UPDATE stay SET opened_at = '2020-01-01T00:00:00.000000+00:00' WHERE stay = 's2'",
    ],
)
def test_what_the_board_and_retention_stand_on_is_compared(
    filled: Ledger, sql: Callable[[str], Any], change: str
) -> None:
    """An older record shown as the newest; a stay that looks long ended, and would be purged."""
    sql(change)
    report = filled.verify()
    assert not report.ok
    assert "The board's table" in report.says


def test_an_index_that_leads_past_an_entry_shows(tmp_path: Path) -> None:
    """One flipped byte in an index: every entry is whole, and the board reads another."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path) as ledger:
        write = Writer(ledger)
        write.admit("s2", "4W-2")
        write.admit("s3", "4W-3")
        write.record("s3", "4W-3")
    data = path.read_bytes()
    assert data.count(b"s3record\2") == 1, "stay, kind and version in a row: the index alone"
    path.write_bytes(data.replace(b"s3record\2", b"s3reford\2"))
    with closing(sqlite3.connect(path)) as raw:
        assert raw.execute("PRAGMA quick_check").fetchall() == [("ok",)]
    with Ledger.open(path) as ledger, pytest.raises(LedgerDamaged, match="damaged"):
        ledger.verify()


def test_a_guard_taken_off_shows_though_nothing_was_changed_yet(
    filled: Ledger, tamper: Callable[[str], Any]
) -> None:
    report = filled.verify()
    assert not report.ok
    assert "What guards the entries was changed" in report.says
    assert "entry_never" in report.says


def test_a_guard_that_does_nothing_shows(filled: Ledger, sql: Callable[[str], Any]) -> None:
    """There by its name, and switched on; its text is another."""
    if filled.on_server:
        sql(
            "CREATE OR REPLACE FUNCTION entry_never() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RETURN NEW; END $$"
        )
    else:
        sql("DROP TRIGGER entry_never_deleted")
        sql("CREATE TRIGGER entry_never_deleted BEFORE DELETE ON entry BEGIN SELECT 1; END")
    assert "entry_never" in filled.verify().says


def test_a_trigger_added_past_the_program_shows(lite: Ledger) -> None:
    """It would write beside every save, unseen by the chain."""
    with lite.writing() as connection:
        connection.exec_driver_sql(
            "CREATE TRIGGER mine AFTER INSERT ON entry BEGIN UPDATE stay SET bed = 'X'; END"
        )
    assert "(mine)" in lite.verify().says


@pytest.mark.parametrize("body", ["no JSON", "[1]", "[" * 3000 + "]" * 3000, '"text"'])
def test_a_body_that_is_no_json_is_named(filled: Ledger, sql: Callable[[str], Any], body: str) -> None:
    """With its hash right, as anybody with the file can add it; the check must not break on it."""
    if filled.on_server:
        sql("ALTER TABLE entry DISABLE TRIGGER ALL")
    else:
        for name in ("entry_in_order", "entry_kept", "entry_found"):
            sql(f"DROP TRIGGER {name}")
    last = list(filled.entries())[-1]
    row: dict[str, Any] = {
        **{"seq": last.seq + 1, "id": "f" * 32, "stay": "s5", "version": 3, "kind": "seen"},
        **{
            "at": "2026-03-02T09:00:00.000000+00:00",
            "by": "JN",
            "schema": 1,
            "body": body,
            "prev": last.hash,
        },
    }
    row["hash"] = chain_hash(row, digest_of(body))
    sql(
        "INSERT INTO entry VALUES ({seq}, '{id}', '{stay}', {version}, '{kind}', '{at}', '{by}', {schema}, "
        "'{body}', '{prev}', '{hash}')".format(**row)
    )
    report = filled.verify()
    assert report.broken_seq == 11
    assert "no JSON object" in report.says


def test_changing_the_file_behind_a_closed_ledger_shows(tmp_path: Path) -> None:
    """With any SQLite tool, after the guards are dropped."""
    path = tmp_path / "ledger.sqlite"
    with Ledger.open(path) as ledger:
        Writer(ledger).admit("s1", "4W-1")
    with closing(sqlite3.connect(path)) as raw:
        raw.executescript(OPEN_SQLITE + "UPDATE entry SET body = '{}'; ")
        raw.commit()
    with Ledger.open(path) as ledger:
        assert ledger.verify().broken_seq == 1


def test_what_sqlite_cannot_keep_out_is_known(lite: Ledger, tmp_path: Path) -> None:
    """With the file in hand one can read it all, and add an entry in anyone's name that fits the chain.

    This is the limit the program states. On PostgreSQL the same is refused (test_postgres_roles).
    """
    write = Writer(lite)
    write.admit("s1", "4W-1", label="RT")
    last = write.record("s1", "4W-1")
    lite.close()
    forged = {
        **{"seq": last.seq + 1, "id": "f" * 32, "stay": "s1", "version": 3, "kind": "record"},
        **{"at": "2026-03-02T09:00:00.000000+00:00", "by": "ANYONE", "schema": 1},
        **{"body": '{"record":{"bed":"4W-1"}}', "prev": last.hash},
    }
    forged["hash"] = chain_hash(forged, digest_of(str(forged["body"])))
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as raw:
        assert "RT" in raw.execute("SELECT body FROM entry").fetchone()[0]
        raw.execute(f"INSERT INTO entry VALUES ({', '.join('?' * len(forged))})", list(forged.values()))
        raw.commit()
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        assert ledger.verify().ok
        assert ledger.history("s1")[-1].by == "ANYONE"
