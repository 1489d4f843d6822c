"""Each entry's receipt: when it came in by the ledger's own clock, whatever time the entry tells."""

from __future__ import annotations

import hmac
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy.exc import DBAPIError

from mobicard.ledger import Ledger
from mobicard.ledger.database import migrations
from mobicard.ledger.database.migrations import run_all
from mobicard.ledger.staff.rights import ROLES
from mobicard.ledger.staff.visit_numbers import visit_hider
from tests.ledger.places import Writer

SOON = timedelta(minutes=5)


def test_a_told_time_has_the_true_one_beside_it(ledger: Ledger, write: Writer) -> None:
    """A nurse's own program could tell any time, and nothing said so."""
    write.admit("s1", "4W-1")
    entry = write("s1", "seen", at=datetime(2019, 1, 1, tzinfo=UTC))
    came = ledger.receipts()[entry.seq]
    assert abs(datetime.now(UTC) - came) < SOON
    assert set(ledger.receipts()) == {1, 2}
    assert set(ledger.receipts([2])) == {2}


@pytest.mark.parametrize("statement", ["UPDATE receipt SET at = '2019'", "DELETE FROM receipt"])
def test_a_receipt_is_never_changed(
    ledger: Ledger, write: Writer, sql: Callable[[str], Any], statement: str
) -> None:
    write.admit("s1", "4W-1")
    with pytest.raises(DBAPIError, match="never changed"):
        sql(statement)


def test_one_taken_away_past_the_program_shows(
    ledger: Ledger, write: Writer, sql: Callable[[str], Any]
) -> None:
    write.admit("s1", "4W-1")
    write("s1", "seen")
    if ledger.on_server:
        sql("ALTER TABLE receipt DISABLE TRIGGER ALL")
        sql("DELETE FROM receipt WHERE seq = 2")
        sql("ALTER TABLE receipt ENABLE TRIGGER ALL")
    else:
        (kept,) = sql("SELECT sql FROM sqlite_master WHERE name = 'receipt_never_deleted'")
        sql("DROP TRIGGER receipt_never_deleted")
        sql("DELETE FROM receipt WHERE seq = 2")
        sql(kept[0])
    report = ledger.verify()
    assert "When entry 2 came in was taken away" in report.says
    assert report.broken_seq == 2


def test_receipts_go_with_an_export(ledger: Ledger, write: Writer, tmp_path: Path) -> None:
    write.admit("s1", "4W-1")
    write("s1", "seen")
    ledger.export_jsonl(tmp_path / "all.jsonl")
    with Ledger.open(tmp_path / "there.sqlite") as there:
        there.import_jsonl(tmp_path / "all.jsonl")
        assert there.receipts() == ledger.receipts()
        assert there.verify().ok


@pytest.fixture
def older(url: str, ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> str:
    """The address of a ledger of version 4, with one entry and, on a server, roles that were given then."""
    place = url if ledger.on_server else f"{url}.older"
    if ledger.on_server:
        with ledger.writing() as connection:
            run_all(connection, ("DROP SCHEMA public CASCADE", "CREATE SCHEMA public"))
    with monkeypatch.context() as before:
        before.setattr(migrations, "STEPS", migrations.STEPS[:4])
        before.setattr(migrations, "CURRENT", 4)
        with Ledger.open(place) as made:
            Writer(made).admit("s1", "4W-1")
            if made.on_server:
                with made.writing() as connection:
                    run_all(connection, ROLES_AS_THEY_WERE)
    return place


def test_a_ledger_from_before_is_moved_on(older: str) -> None:
    """Its entries are taken as received when they say they were made; a unit's roles go on as they are."""
    with Ledger.open(older) as moved:
        assert moved.receipts() == {1: moved.history("s1")[0].at}
        assert visit_hider(moved, b"kept here")("4711") == hmac.digest(b"kept here", b"4711", "sha256").hex()
        Writer(moved).admit("s2", "4W-2")
        report = moved.verify()
        assert report.ok, report.says


ROLES_AS_THEY_WERE = (
    *(
        f"DO $$ BEGIN CREATE ROLE mobicard_{role}; EXCEPTION WHEN duplicate_object THEN NULL; END $$"
        for role in ROLES
    ),
    "CREATE POLICY mobicard_entry_read ON entry FOR SELECT TO mobicard_nurse USING (true)",
    "CREATE POLICY mobicard_info_read ON ledger_info FOR SELECT TO mobicard_nurse USING (name <> 'pepper')",
    "GRANT UPDATE (value) ON ledger_info TO mobicard_keeper",
)
