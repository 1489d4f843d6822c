"""The key that hides visit numbers: the ledger's own, one for all its stations, never a clerk's to read."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from mobicard.ledger import Ledger, NotAllowed
from mobicard.ledger.staff import people
from mobicard.ledger.staff.visit_numbers import visit_hider
from mobicard.ward import Clock, Settings, Ward
from mobicard.ward.census import census_apply, census_preview
from tests.conftest import MORNING
from tests.ledger.places import Server
from tests.ledger.test_postgres_roles import Unit

LIST = b"Bed,Initials,Visit No\n5N-01,RA,4711\n"
MOVED = b"Bed,Initials,Visit No\n5N-02,RA,4711\n"


def station(url: str, folder: Path) -> Ward:
    """A clerk's station with a folder of its own for the facility's files."""
    return Ward(Ledger.open(url), Settings.found(config_dir=folder), Clock.fixed(MORNING), by="CL")


def test_a_patient_is_found_again_from_another_station(url: str, tmp_path: Path) -> None:
    """Each station made a key of its own: the list read elsewhere admitted the patient a second time."""
    one, two = station(url, tmp_path / "one"), station(url, tmp_path / "two")
    census_apply(one, census_preview(one, LIST))
    seen = census_preview(two, MOVED)
    assert [(step.from_bed, step.bed) for step in seen.move] == [("5N-01", "5N-02")]
    assert not list(tmp_path.rglob("*.key")), "no key lies beside the clerk"
    one.ledger.close()
    two.ledger.close()


def test_an_older_ledger_takes_the_key_its_station_brings(url: str, ledger: Ledger, tmp_path: Path) -> None:
    with ledger.writing() as connection:
        connection.exec_driver_sql("UPDATE ledger_info SET value = '' WHERE name = 'visit_key'")
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "census.key").write_bytes(b"kept here till now")
    old, new = station(url, tmp_path / "old"), station(url, tmp_path / "new")
    census_apply(old, census_preview(old, LIST))
    (one,) = ledger.beds()
    known = hmac.new(b"kept here till now", b"4711", hashlib.sha256).hexdigest()[:20]
    assert one.stay == f"visit-{known}"
    assert census_preview(new, MOVED).move
    old.ledger.close()
    new.ledger.close()


@pytest.mark.parametrize("visit", ["4711", "ä\x00\udcff", "x" * 300])
@pytest.mark.parametrize("key", ["k", "k" * 64, "k" * 65])
def test_it_is_the_published_keyed_hash_on_both_engines(ledger: Ledger, visit: str, key: str) -> None:
    with ledger.writing() as connection:
        connection.exec_driver_sql(f"UPDATE ledger_info SET value = '{key}' WHERE name = 'visit_key'")
    by_standard = hmac.new(key.encode(), visit.encode("utf-8", "replace"), hashlib.sha256).hexdigest()
    assert visit_hider(ledger)(visit) == by_standard


def test_it_goes_with_a_copy_and_not_with_an_export_without_secrets(url: str, tmp_path: Path) -> None:
    here = station(url, tmp_path / "c")
    census_apply(here, census_preview(here, LIST))
    here.ledger.export_jsonl(tmp_path / "plain.jsonl", secrets=False)
    here.ledger.export_jsonl(tmp_path / "whole.jsonl", secrets=True)
    assert "visit_key" not in (tmp_path / "plain.jsonl").read_text()
    here.ledger.close()
    there = station(f"sqlite:///{tmp_path / 'there.sqlite'}", tmp_path / "c")
    there.ledger.import_jsonl(tmp_path / "whole.jsonl")
    assert census_preview(there, MOVED).move
    there.ledger.close()


@pytest.fixture(scope="module")
def unit(server: Server) -> Iterator[Unit]:
    dear = people.COST
    made = Unit(server)
    people.COST = dear
    yield made
    made.owner.close()


@pytest.mark.postgres
def test_no_station_reads_it(unit: Unit) -> None:
    for login, who in (("clerk", "CL"), ("nurse", "JN"), ("keeper", "KEEP"), ("reader", "RD")):
        rows = unit.psql(login, "SELECT value FROM ledger_info WHERE name = 'visit_key'", who=who)
        assert rows == [], login


@pytest.mark.postgres
@pytest.mark.parametrize(("login", "who"), [("reader", "RD"), ("keeper", "KEEP"), ("clerk", None)])
def test_nobody_asks_for_stays_by_number_who_admits_nobody(unit: Unit, login: str, who: str | None) -> None:
    """Else a corridor's station could try every number until it met somebody it knows."""
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql(login, "SELECT mobicard_visit('4711'::bytea, '')", who=who)


@pytest.mark.postgres
def test_a_clerk_asks_by_name(unit: Unit) -> None:
    with unit.signed_in("clerk", "CL") as clerk:
        assert len(visit_hider(clerk)("4711")) == 64
        clerk.sign_out()
        with pytest.raises(NotAllowed):
            visit_hider(clerk)("4711")
