"""PostgreSQL's own roles, tried by hand as someone who has a station's login and psql instead of mobicard."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
import pytest

from mobicard.ledger import Ledger, LedgerError, LedgerRefused, NewEntry, NotAllowed, SignInRefused
from mobicard.ledger.staff import people
from mobicard.ledger.staff.people import COST, proof_of
from mobicard.ledger.staff.postgres_roles import give_rights, make_login
from mobicard.ledger.staff.rights import ROLES
from tests.ledger.places import CHEAP, START, Server, Writer

pytestmark = pytest.mark.postgres
PINS = {"KEEP": "8402", "JN": "7193", "CL": "5086", "RD": "9047"}
_numbers = count(1)


class Unit:
    """A ledger with rights given, one login per role and one for all, and one person per role."""

    def __init__(self, server: Server) -> None:
        self.server = server
        people.COST = CHEAP
        self.url = server.fresh()
        self.name = self.url.split("@/")[1].split("?")[0]
        self.owner = Ledger.open(self.url)
        write = Writer(self.owner)
        write.admit("s1", "4W-1")
        write.record("s1", "4W-1", weight_kg=80)
        self.owner.staff.add("KEEP", "keeper", PINS["KEEP"], "KEEP", START)
        self.owner.sign_in("KEEP", PINS["KEEP"], START)
        for initials, role in (("JN", "nurse"), ("CL", "clerk"), ("RD", "reader")):
            self.owner.staff.add(initials, role, PINS[initials], "KEEP", START)
        give_rights(self.owner)
        number = next(_numbers)
        self.logins = {role: f"{role}_station_{number}" for role in ROLES} | {"any": f"station_{number}"}
        for role in ROLES:
            make_login(self.owner, self.logins[role], "secret", role)
        make_login(self.owner, self.logins["any"], "secret", "nurse", "clerk", "reader")

    def station(self, login: str) -> Ledger:
        return Ledger.open(self.server.url(self.name, self.logins[login]))

    def signed_in(self, login: str, who: str) -> Ledger:
        station = self.station(login)
        station.sign_in(who, PINS[who], START)
        return station

    def psql(self, login: str, *statements: str, who: str | None = None) -> list[tuple[object, ...]]:
        """Statements in one transaction as a station's login, optionally after a real sign-in's proof."""
        with psycopg.connect(host=str(self.server.folder), dbname=self.name, user=self.logins[login]) as raw:
            if who:
                salt, cost = raw.execute("SELECT * FROM mobicard_salt(%s)", (who,)).fetchone()  # type: ignore[misc]
                proof = proof_of(PINS[who], salt, cost)
                token = answer_of(raw, attempt_of(raw, who, proof))
                raw.execute("SELECT set_config('mobicard.token', %s, true)", (token,))
            result: list[tuple[object, ...]] = []
            for statement in statements:
                cursor = raw.execute(statement)
                result = cursor.fetchall() if cursor.description else []
            return result


def attempt_of(raw: psycopg.Connection[Any], who: str, proof: str) -> str:
    """The first step of signing in, committed."""
    row = raw.execute("SELECT attempt FROM mobicard_try(%s, %s, '2026-03-02')", (who, proof)).fetchone()
    raw.commit()
    assert row is not None
    return str(row[0])


def answer_of(raw: psycopg.Connection[Any], attempt: str) -> str | None:
    """The second step's token, committed; None when the PIN was wrong."""
    row = raw.execute("SELECT token FROM mobicard_answer(%s)", (attempt,)).fetchone()
    raw.commit()
    assert row is not None
    return row[0]  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def unit(server: Server) -> Iterator[Unit]:
    dear = people.COST
    made = Unit(server)
    people.COST = dear
    yield made
    made.owner.close()


def forged(kind: str, by: str, body: str = "{}") -> str:
    """An INSERT that fits the chain perfectly: numbering, the hash before, the hash itself."""
    return f"""
    INSERT INTO entry (seq, id, stay, version, kind, at, "by", schema, body, prev, hash)
    SELECT c.seq + 1, i, 's1', s.version + 1, '{kind}', t, '{by}', 1, '{body}', c.hash,
      encode(sha256(convert_to(concat_ws(E'\\n', c.hash, c.seq + 1, i, 's1', s.version + 1,
          '{kind}', t, '{by}', 1,
        encode(sha256(convert_to('{body}', 'UTF8')), 'hex')), 'UTF8')), 'hex')
    FROM chain c, stay s, (SELECT md5(random()::text) AS i, '2026-03-02T09:00:00.000000+00:00' AS t) x
    WHERE s.stay = 's1'"""


# -- without a PIN -----------------------------------------------------------------------------------


@pytest.mark.parametrize("login", [*ROLES, "any"])
def test_without_signing_in_not_one_row_can_be_read(unit: Unit, login: str) -> None:
    for table in ("entry", "stay", "slot", "person"):
        columns = "initials" if table == "person" else "*"
        assert unit.psql(login, f"SELECT {columns} FROM {table}") == [], table


@pytest.mark.parametrize("login", [*ROLES, "any"])
def test_without_signing_in_nothing_can_be_written(unit: Unit, login: str) -> None:
    statement = """INSERT INTO entry SELECT c.seq + 1, 'x', 'new', 1, 'admit', 't', 'JN', 1, '{"bed": "9"}',
      c.hash,
      encode(sha256(convert_to(concat_ws(E'\\n', c.hash, c.seq + 1, 'x', 'new', 1, 'admit', 't', 'JN', 1,
      encode(sha256(convert_to('{"bed": "9"}', 'UTF8')), 'hex')), 'UTF8')), 'hex') FROM chain c"""
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql(login, statement)


def test_the_program_says_sign_in_instead_of_showing_an_empty_ward(unit: Unit) -> None:
    """An empty board would look like a ward without patients."""
    with unit.station("reader") as station:
        for ask in (station.beds, lambda: station.history("s1"), lambda: list(station.entries())):
            with pytest.raises(NotAllowed, match="Sign in first"):
                ask()


def test_a_made_up_token_opens_nothing(unit: Unit) -> None:
    assert (
        unit.psql("any", "SELECT set_config('mobicard.token', repeat('a', 64), true)", "SELECT * FROM entry")
        == []
    )
    assert unit.psql("any", "SELECT set_config('mobicard.token', '', true)", "SELECT * FROM entry") == []


def test_a_session_ends_with_sign_out(unit: Unit) -> None:
    station = unit.signed_in("nurse", "JN")
    token = station.staff.person.token  # type: ignore[union-attr]
    assert station.beds()
    station.sign_out()
    assert (
        unit.psql("nurse", f"SELECT set_config('mobicard.token', '{token}', true)", "SELECT * FROM entry")
        == []
    )
    station.close()


# -- as the wrong person -----------------------------------------------------------------------------


def test_each_signs_in_and_reads_at_their_own_station(unit: Unit) -> None:
    for login, who in (("nurse", "JN"), ("clerk", "CL"), ("reader", "RD"), ("any", "RD")):
        with unit.signed_in(login, who) as station:
            assert [state.bed for state in station.beds()] == ["4W-1"]


def test_a_nurse_records_and_a_clerk_hangs_through_the_servers_rights(unit: Unit) -> None:
    with unit.signed_in("nurse", "JN") as station:
        assert station.append(NewEntry("s1", "assign", START, "JN", {"to": "JN"}))
    with unit.signed_in("any", "CL") as station:
        assert station.append(NewEntry("s1", "hung", START, "CL", {"code": "7Q4MKD"}))
    assert unit.owner.verify().ok


def test_a_well_formed_insert_by_hand_is_taken_from_a_nurse(unit: Unit) -> None:
    """So that the refusals below are refusals of the person and not of the statement."""
    unit.psql("nurse", forged("seen", "JN"), who="JN")
    assert unit.owner.history("s1")[-1].kind == "seen"
    assert unit.owner.verify().ok


@pytest.mark.parametrize(
    ("login", "who", "kind", "by"),
    [
        ("clerk", "CL", "record", "CL"),  # a clerk changes facts
        ("clerk", "CL", "fall", "CL"),
        ("any", "CL", "record", "CL"),  # a clerk at a station that nurses use too
        ("any", "CL", "record", "JN"),  # ... in a nurse's name
        ("any", "CL", "hung", "JN"),
        ("clerk", "JN", "record", "JN"),  # a nurse's PIN at the clerk's station
        ("reader", "JN", "record", "JN"),  # a nurse's PIN at the corridor's station
        ("reader", "RD", "hung", "RD"),  # a reader prints
        ("reader", "RD", "record", "RD"),
        ("any", "RD", "prepared", "RD"),
        ("nurse", "RD", "record", "RD"),  # a reader at the nurse's station
        ("nurse", "JN", "purge", "JN"),  # a nurse does the keeper's acts
        ("nurse", "JN", "person", "JN"),
        ("keeper", "KEEP", "record", "KEEP"),  # a keeper touches no patient
        ("nurse", "JN", "record", "KEEP"),
    ],
)
def test_the_wrong_person_is_refused_by_the_server_itself(
    unit: Unit, login: str, who: str, kind: str, by: str
) -> None:
    before = len(list(unit.owner.entries(kinds={kind})))
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="row-level security"):
        unit.psql(login, forged(kind, by), who=who)
    assert len(list(unit.owner.entries(kinds={kind}))) == before


@pytest.mark.parametrize(
    "statement",
    [
        "SELECT verifier FROM person",
        "SELECT salt FROM person",
        "SELECT * FROM person",
        "SELECT * FROM session",
        "UPDATE person SET role = 'nurse' WHERE initials = 'CL'",
        "UPDATE person SET tries = 0",
        "INSERT INTO person VALUES ('EVIL', 'nurse', true, '00', 't=1,m=8,p=1', '00', 0, NULL)",
        "INSERT INTO session VALUES ('00', 'JN', '2999-01-01')",
        "DELETE FROM entry",
        "UPDATE entry SET body = '{}'",
        "TRUNCATE entry",
        "UPDATE chain SET seq = 0",
        "UPDATE stay SET bed = NULL",
        "DELETE FROM slot",
        "INSERT INTO purged VALUES (1, '00')",
        "UPDATE ledger_info SET value = '1000' WHERE name = 'attempts'",
        "DROP TRIGGER entry_never ON entry",
        "ALTER TABLE entry DISABLE ROW LEVEL SECURITY",
        "CREATE FUNCTION sha256(text) RETURNS bytea LANGUAGE sql AS 'SELECT ''x''::bytea'",
        "SET ROLE mobicard_keeper",
        "SET ROLE owner",
        "SET SESSION AUTHORIZATION owner",
        "SELECT mobicard_note('record', 'JN', '2026-03-02')",
        "SELECT mobicard_person()",
    ],
)
@pytest.mark.parametrize(("login", "who"), [("nurse", "JN"), ("any", "CL"), ("reader", "RD")])
def test_no_one_at_a_station_reaches_past_the_entries(
    unit: Unit, login: str, who: str, statement: str
) -> None:
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql(login, statement, who=who)


def test_a_reader_may_not_become_a_nurse_but_a_shared_station_gains_nothing_by_it(unit: Unit) -> None:
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("reader", "SET ROLE mobicard_nurse", who="RD")
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="row-level security"):
        unit.psql("any", "SET ROLE mobicard_nurse", forged("record", "JN"), who="CL")


def test_a_keeper_without_a_pin_changes_no_staff_list(unit: Unit) -> None:
    insert = "INSERT INTO person VALUES ('EVIL', 'nurse', true, '00', 't=1,m=8,p=1', '00', 0, NULL)"
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("keeper", insert)
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("keeper", "UPDATE person SET role = 'keeper' RETURNING initials")


def test_nobody_but_the_keeper_reads_who_else_signed_in(unit: Unit) -> None:
    office = "SELECT DISTINCT \"by\" FROM entry WHERE stay = '*office'"
    assert unit.psql("nurse", office, who="JN") == [("JN",)]
    assert len(unit.psql("keeper", office, who="KEEP")) > 1


def test_the_days_plan_is_for_everyone_signed_in(unit: Unit) -> None:
    with unit.signed_in("clerk", "CL") as station:
        station.append(NewEntry("*office", "day_plan", START, "CL", {"plan": []}))
    with unit.signed_in("reader", "RD") as station:
        assert [one.by for one in station.entries(kinds={"day_plan"})] == ["CL"]


def test_tries_are_counted_by_the_server_and_by_its_own_clock(unit: Unit) -> None:
    """A station that names a later time at each try gains nothing."""
    with unit.station("reader") as station:
        for day in range(1, 6):
            with pytest.raises(SignInRefused, match="do not go together"):
                station.sign_in("RD", "0000", START.replace(day=day))
        with pytest.raises(SignInRefused, match="Too many tries"):
            station.sign_in("RD", PINS["RD"], START.replace(year=2030))
    unit.server.query("UPDATE person SET tries = 0, tried_at = NULL", unit.name)


def test_an_unknown_name_gets_a_salt_like_any_other(unit: Unit) -> None:
    """Asking for a salt does not tell who works here."""
    unknown, again = (unit.psql("reader", "SELECT * FROM mobicard_salt('NOBODY')")[0] for _ in range(2))
    known = unit.psql("reader", "SELECT * FROM mobicard_salt('JN')")[0]
    assert unknown == again
    assert unknown[1] == COST
    assert len(str(unknown[0])) == len(str(known[0]))


def test_the_keeper_works_from_a_station_of_the_keepers_own(unit: Unit) -> None:
    with unit.signed_in("keeper", "KEEP") as station:
        station.staff.add("NW", "nurse", "2685", "KEEP", START)
        station.staff.change("NW", "KEEP", START, active=False)
        assert station.verify().ok
        with pytest.raises(NotAllowed, match="owns the ledger"):
            station.export_jsonl(Path("/tmp/never-written.jsonl"))
    assert unit.owner.verify().ok


def test_checking_the_ledger_is_for_the_keeper(unit: Unit) -> None:
    with unit.signed_in("nurse", "JN") as station, pytest.raises(NotAllowed, match="keeper"):
        station.verify()


def test_giving_rights_again_changes_nothing(unit: Unit) -> None:
    give_rights(unit.owner)
    with unit.signed_in("nurse", "JN") as station:
        assert station.beds()


@pytest.mark.parametrize("name", ["Station", "x; DROP TABLE entry", "", "1a"])
def test_a_login_that_will_not_do_is_refused(unit: Unit, name: str) -> None:
    with pytest.raises(LedgerRefused):
        make_login(unit.owner, name, "secret", "nurse")


def test_on_sqlite_there_are_no_roles_to_give(lite: Ledger) -> None:
    with pytest.raises(LedgerError, match="SQLite has no roles"):
        give_rights(lite)
