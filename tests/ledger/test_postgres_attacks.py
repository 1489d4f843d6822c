"""PostgreSQL under attack by somebody with a station's login and psql, and a PIN of a lesser role."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import psycopg
import pytest

from mobicard.facts import FallEvent
from mobicard.ledger import Ledger, NewEntry, NotAllowed, SignInRefused
from mobicard.ledger.staff import people
from mobicard.ledger.staff.people import proof_of
from mobicard.ledger.staff.postgres_roles import MOST_CONNECTIONS
from mobicard.rules.policy import Policy
from mobicard.ward import Clock, Settings, Ward
from mobicard.ward.live.feed import Feed
from tests.feed.sender import adt
from tests.ledger.places import START, Server, Writer
from tests.ledger.test_live import Watching, until_told
from tests.ledger.test_postgres_roles import PINS, Unit, answer_of, attempt_of, forged

pytestmark = pytest.mark.postgres
MORNING = datetime(2026, 3, 2, 8, 0)


@pytest.fixture(scope="module")
def unit(server: Server) -> Iterator[Unit]:
    dear = people.COST
    made = Unit(server)
    people.COST = dear
    yield made
    made.owner.close()


@pytest.fixture
def raw(unit: Unit) -> Iterator[psycopg.Connection[object]]:
    """A connection by hand at the corridor's station; afterwards nobody's tries are counted any more."""
    with psycopg.connect(
        host=str(unit.server.folder), dbname=unit.name, user=unit.logins["reader"]
    ) as connection:
        yield connection
        connection.rollback()
    unit.server.query("UPDATE person SET tries = 0, tried_at = NULL", unit.name)


def proof(raw: psycopg.Connection[object], who: str, pin: str) -> str:
    row = raw.execute("SELECT salt, cost FROM mobicard_salt(%s)", (who,)).fetchone()
    raw.commit()
    return proof_of(pin, *row)  # type: ignore[misc]


def refusals(unit: Unit, who: str) -> int:
    return sum(one.by == who for one in unit.owner.entries(kinds={"sign_in_refused"}))


# -- tries at a PIN ----------------------------------------------------------------------------------


@pytest.mark.parametrize("pin", ["0000", PINS["JN"]])
def test_a_try_that_is_taken_back_is_answered_to_nobody(
    unit: Unit, raw: psycopg.Connection[object], pin: str
) -> None:
    """So a PIN of four figures fell on the 162nd try with nothing in the audit."""
    said = proof(raw, "JN", pin)
    tried = raw.execute("SELECT attempt FROM mobicard_try('JN', %s, 'now')", (said,)).fetchone()
    within = raw.execute("SELECT outcome, token FROM mobicard_answer(%s)", tried).fetchone()
    raw.rollback()
    after = raw.execute("SELECT outcome, token FROM mobicard_answer(%s)", tried).fetchone()
    assert within == after == ("wrong", None)


def test_no_savepoint_takes_it_back_either(unit: Unit, raw: psycopg.Connection[object]) -> None:
    said = proof(raw, "JN", PINS["JN"])
    raw.execute("SAVEPOINT one")
    tried = raw.execute("SELECT attempt FROM mobicard_try('JN', %s, 'now')", (said,)).fetchone()
    raw.execute("ROLLBACK TO SAVEPOINT one")
    raw.commit()
    assert raw.execute("SELECT outcome FROM mobicard_answer(%s)", tried).fetchone() == ("wrong",)


def test_how_many_tries_are_left_tells_nothing_of_a_try_taken_back(
    unit: Unit, raw: psycopg.Connection[object]
) -> None:
    """A right PIN must not set the count back before its answer, or the pause would tell it."""
    right, wrong = proof(raw, "JN", PINS["JN"]), proof(raw, "JN", "0000")
    seen = []
    for first in (right, wrong):
        outcomes = [
            raw.execute("SELECT outcome FROM mobicard_try('JN', %s, 'now')", (said,)).fetchone()
            for said in (first, *[wrong] * 6)
        ]
        raw.rollback()
        seen.append(outcomes)
    assert seen[0] == seen[1]
    assert ("paused",) in seen[0]


def test_an_answer_taken_back_counts_all_the_same(unit: Unit, raw: psycopg.Connection[object]) -> None:
    before = refusals(unit, "JN")
    for _ in range(5):
        attempt = attempt_of(raw, "JN", proof(raw, "JN", "0000"))
        raw.execute("SELECT mobicard_answer(%s)", (attempt,))
        raw.rollback()
    paused = raw.execute("SELECT outcome FROM mobicard_try('JN', 'x', 'now')").fetchone()
    assert paused == ("paused",)
    assert refusals(unit, "JN") == before + 5


def test_an_answer_is_given_once(unit: Unit, raw: psycopg.Connection[object]) -> None:
    attempt = attempt_of(raw, "JN", proof(raw, "JN", PINS["JN"]))
    assert answer_of(raw, attempt)
    assert answer_of(raw, attempt) is None


def test_the_old_way_to_sign_in_is_gone(unit: Unit, raw: psycopg.Connection[object]) -> None:
    with pytest.raises(psycopg.errors.UndefinedFunction):
        raw.execute("SELECT mobicard_sign_in('JN', 'x', 'now')")


def test_a_token_ends_with_a_new_pin(unit: Unit) -> None:
    """Whoever knew the old one is out at once, not after the shift."""
    with unit.signed_in("clerk", "CL") as station:
        assert station.beds()
        unit.owner.sign_in("KEEP", PINS["KEEP"], START)
        unit.owner.staff.change("CL", "KEEP", START, pin="6042")
        with pytest.raises(NotAllowed, match="Sign in first"):
            station.beds()
        unit.owner.staff.change("CL", "KEEP", START, pin=PINS["CL"])


def test_a_token_ends_after_idling(unit: Unit, monkeypatch: pytest.MonkeyPatch) -> None:
    """A station that was killed or left had it for the rest of fourteen hours."""
    idle = "UPDATE session SET used_at = used_at - interval '{} minutes'"
    with unit.signed_in("clerk", "CL") as station:
        unit.server.query(idle.format(4), unit.name)
        assert station.beds()
        monkeypatch.setattr(people, "TELL_S", 0.0)
        station.staff.sign_of_life()
        unit.server.query(idle.format(4), unit.name)
        assert station.beds(), "a sign of life begins the time anew"
        station.append(NewEntry("s1", "seen", START, "CL"))
        unit.server.query(idle.format(4), unit.name)
        assert station.beds(), "and so does a save"
        unit.server.query(idle.format(2), unit.name)
        for late in (station.beds, station.staff.sign_of_life):
            with pytest.raises(NotAllowed, match="sign-in has run out"):
                late()
        with pytest.raises(NotAllowed, match="sign-in has run out"):
            station.append(NewEntry("s1", "seen", START, "CL"))


def test_a_feed_signs_in_again_after_a_night_without_a_message(
    unit: Unit, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever sends is told AA or to send again; nothing is put aside for a sign-in that has run out."""
    monkeypatch.setattr(people, "TELL_S", 0.0)
    with unit.signed_in("clerk", "CL") as station:
        ward = Ward(station, Settings.found(config_dir=tmp_path), Clock.fixed(MORNING), drafts=tmp_path / "d")
        ward.person = station.staff.person
        pins = [PINS["CL"]]
        feed = Feed(ward, tmp_path / "held", sign_in=lambda: ward.sign_in("CL", pins[0]))
        answers = (("A01", b"|AA|"), ("A03", b"|AA|"), ("A01", b"send it again"))
        for number, (event, said) in enumerate(answers):
            pins[0] = PINS["CL"] if said == b"|AA|" else "0000"
            assert said in feed.take(adt(event, f"V{number // 2}", f"8W^{number // 2}^A").encode()), event
            unit.server.query("UPDATE session SET used_at = used_at - interval '8 hours'", unit.name)
        assert not (tmp_path / "held").exists()


def test_limits_are_set_by_the_servers_function_alone(unit: Unit) -> None:
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("keeper", "UPDATE ledger_info SET value = '1000' WHERE name = 'attempts'", who="KEEP")
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("nurse", "SELECT mobicard_put_limits(20, 1, 240)", who="JN")
    with pytest.raises(psycopg.Error, match="makes no sense"):
        unit.psql("keeper", "SELECT mobicard_put_limits(1000, 1, 240)", who="KEEP")
    with unit.signed_in("keeper", "KEEP") as station:
        station.staff.keep_access(Policy(access={"pause_min": 14}).access, "KEEP", START)
    last = list(unit.owner.entries(kinds={"limits"}))[-1]
    assert (last.by, last.body) == ("KEEP", {"attempts": 5, "pause_min": 14, "idle_min": 5})
    assert unit.owner.verify().ok


# -- what an entry says ------------------------------------------------------------------------------

DEEP = '{"a":' * 3000 + "1" + "}" * 3000


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        ("assign", '{"to":"CL","record":{"bed":"4W-1","standing":"steady"}}'),  # it changed the level
        ("hung", '{"code":"7Q4MKD","record":{"bed":"4W-1"}}'),
        ("seen", '{"into":"s9"}'),
        ("assign", '{"corrects":2}'),
        ("hung", ""),
        ("hung", "[]"),
        ("hung", '"x"'),
        ("hung", "null"),
        ("hung", "no JSON"),
        ("hung", '{"code":7}'),
        ("hung", DEEP),
        ("hung", f'{{"code":"7Q4MKD","a":"{"x" * 5_000_000}"}}'),
        ("move", "{}"),
        ("move", '{"to":["4W-2"]}'),
        ("move", '{"to":"a bed with far too long a name"}'),
        ("move", '{"to":"4W\\u001b[31m"}'),
    ],
    ids=range(16),
)
def test_what_makes_no_sense_is_refused_by_the_server(unit: Unit, kind: str, body: str) -> None:
    """A clerk's login, a clerk's PIN, an insert that fits the chain."""
    before = list(unit.owner.entries())[-1].seq
    with pytest.raises(psycopg.Error, match="makes no sense"):
        unit.psql("clerk", forged(kind, "CL", body.replace("%", "%%")), who="CL")
    assert {one.kind for one in unit.owner.entries(since_seq=before)} <= {"sign_in"}
    assert unit.owner.beds()


@pytest.mark.parametrize("at", ["2026-03-02T23:zz:00.000000+00:00", "now", "", f"2026-99-02T09:{'0' * 20}"])
def test_a_time_that_is_none_is_refused_by_the_server(unit: Unit, at: str) -> None:
    insert = forged("seen", "CL").replace("2026-03-02T09:00:00.000000+00:00", at)
    with pytest.raises(psycopg.Error, match="makes no sense"):
        unit.psql("clerk", insert, who="CL")
    assert unit.owner.beds()


def test_the_program_says_it_in_words(unit: Unit) -> None:
    from mobicard.ledger import LedgerRefused

    with unit.signed_in("clerk", "CL") as station, pytest.raises(LedgerRefused, match="not what mobicard"):
        station.append(NewEntry("s1", "assign", START, "CL", {"record": {"bed": "4W-1"}}))


def test_everything_the_program_itself_writes_is_taken(unit: Unit, tmp_path: Path) -> None:
    """A nurse's shift at a station's login, each kind of entry once."""
    with unit.signed_in("nurse", "JN") as station:
        ward = Ward(station, Settings.found(config_dir=tmp_path), Clock.fixed(MORNING), drafts=tmp_path / "d")
        ward.person = station.staff.person
        one, two, double = (ward.stays.admit(bed, "RT") for bed in ("7W-1", "7W-2", "7W-3"))
        seen = ward.save(one.stay, one.record.changed(standing="steady"), ward.fact_version(one.stay))
        ward.same_as_before(ward.bed(one.stay)) if not ward.why_not_same(seen) else None
        ward.stays.move(ward.bed(one.stay), "7W-4")
        ward.stays.swap(ward.bed(one.stay), ward.bed(two.stay))
        ward.stays.merge_double(ward.bed(two.stay), ward.bed(double.stay))
        ward.procedure(two.stay, "hip nailing")
        ward.fell(two.stay, FallEvent(at=MORNING), ward.fact_version(two.stay))
        ward.assign([one.stay], "JN")
        ward.doors.confirm_hung(ward.doors.jobs(changed_only=False))
        ward.mark_read(one.stay)
        ward.tick(one.stay, {"task": "chair", "outcome": "reached"})
        last = ward.fact_version(two.stay)
        ward.correct(two.stay, last, ward.bed(two.stay).record, "wrong bed", last)
        ward.stays.discharge(ward.bed(one.stay))
        ward.stays.readmit(one.stay, "7W-5")
    kinds = {one.kind for one in unit.owner.entries() if one.by == "JN"}
    assert kinds >= {"admit", "record", "move", "merge", "procedure", "fall", "assign", "hung", "correct"}
    assert kinds >= {"discharge", "readmit", "read", "tick", "sign_in"}
    assert unit.owner.verify().ok


RECORD = '{"record":{"bed":"4W-1","assessed_at":"2026-03-02T08:00:00",%s}}'


def told(kind: str, facts: str) -> str:
    return forged(kind, "JN", RECORD % facts)


@pytest.mark.parametrize(
    "facts",
    [
        '"assessed_by":"DR"',
        '"assessed_by":"JN","override":{"level":"SELF","by":"DR","reason":"no"}',
    ],
)
@pytest.mark.parametrize("name", ["record", "late"])
def test_a_nurse_signs_no_look_or_judgement_with_anothers_name(unit: Unit, name: str, facts: str) -> None:
    """A card prints who looked and who judged; the entry's own author it does not."""
    insert = told("record", facts).replace('"record":', f'"{name}":')
    with pytest.raises(psycopg.Error, match="entry by another"):
        unit.psql("nurse", insert, who="JN")


def test_what_another_said_before_may_be_said_again(unit: Unit) -> None:
    """A judgement over another's look keeps both names; the same look of another hour is a new one."""
    unit.psql("nurse", told("record", '"assessed_by":"JN"'), who="JN")
    with unit.owner.writing() as connection:
        connection.exec_driver_sql(forged("record", "RN", RECORD % '"assessed_by":"RN"').replace("%", "%%"))
    unit.psql("nurse", told("record", '"assessed_by":"RN","standing":"unable"'), who="JN")
    later = told("record", '"assessed_by":"RN"').replace("2026-03-02T08:00:00", "2026-03-02T08:30:00")
    with pytest.raises(psycopg.Error, match="entry by another"):
        unit.psql("nurse", later, who="JN")


def test_no_station_writes_a_receipt(unit: Unit) -> None:
    for statement in ("INSERT INTO receipt VALUES (99, '2019')", "UPDATE receipt SET at = '2019'"):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            unit.psql("keeper", statement, who="KEEP")
    assert unit.psql("reader", "SELECT * FROM receipt") == [], "not without signing in"
    assert unit.psql("reader", "SELECT * FROM receipt", who="RD")


# -- names that nobody has ---------------------------------------------------------------------------


def test_a_name_nobody_has_is_counted_and_noted_like_one_that_somebody_has(ledger: Ledger) -> None:
    """On both engines; else the pause tells who works here, and guessing leaves no trace."""
    ledger.staff.add("KEEP", "keeper", "8402", "KEEP", START)
    for who in ("KEEP", "NOONE"):
        for _ in range(5):
            with pytest.raises(SignInRefused, match="do not go together"):
                ledger.sign_in(who, "0000", START)
        with pytest.raises(SignInRefused, match="Too many tries"):
            ledger.sign_in(who, "0000", START)
    noted = [one.by for one in ledger.entries(kinds={"sign_in_refused"})]
    assert noted == ["KEEP"] * 5 + ["NOONE"] * 5
    assert ledger.verify().ok


# -- the staff list ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE person SET verifier = '00' WHERE initials = 'JN'",
        "UPDATE person SET role = 'nurse' WHERE initials = 'KEEP'",
        "UPDATE person SET tries = 0",
        "INSERT INTO person VALUES ('EVIL', 'nurse', true, '00', 't=1,m=8,p=1', '00', 0, NULL)",
        forged("person", "KEEP", '{"initials":"JN","role":"keeper"}'),
    ],
    ids=["verifier", "role", "tries", "new", "entry"],
)
def test_a_keeper_at_a_station_writes_no_staff_list_by_hand(unit: Unit, statement: str) -> None:
    """Who writes a verifier is a nurse with a PIN of his own, and nothing says so."""
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql("keeper", statement, who="KEEP")


def test_a_change_of_the_list_by_the_servers_function_leaves_its_entry(unit: Unit) -> None:
    with unit.signed_in("keeper", "KEEP") as station:
        station.staff.add("ÄÖ", "nurse", "2685", "KEEP", START)
        station.staff.change("ÄÖ", "KEEP", START, pin="6042")
        station.staff.change("ÄÖ", "KEEP", START, active=False)
    said = [one.body for one in unit.owner.entries(kinds={"person"}) if one.body["initials"] == "ÄÖ"]
    assert [(one["active"], one["pin_set"], "secret" in one) for one in said] == [
        (True, True, True),
        (True, True, True),
        (False, False, False),
    ]
    assert unit.owner.verify().ok, "the owner's check compares what PINs were made into as well"


@pytest.mark.parametrize(("login", "who"), [("keeper", None), ("nurse", "JN"), ("keeper", "JN")])
def test_nobody_else_calls_it(unit: Unit, login: str, who: str | None) -> None:
    call = "SELECT mobicard_put_person('EVIL', 'nurse', true, '00', 't=1,m=8,p=1', '00')"
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        unit.psql(login, call, who=who)


def test_a_verifier_written_past_the_functions_shows(unit: Unit) -> None:
    unit.server.query("UPDATE person SET verifier = 'x' || verifier WHERE initials = 'RD'", unit.name)
    assert "RD on the staff list is not as the keeper's entries say" in unit.owner.verify().says
    unit.server.query("UPDATE person SET verifier = substr(verifier, 2) WHERE initials = 'RD'", unit.name)
    assert unit.owner.verify().ok


@pytest.mark.parametrize("name", ["mobicard_role", "mobicard_answer", "mobicard_visit", "entry_checked"])
def test_a_function_that_rights_rest_on_shows_when_changed(unit: Unit, name: str) -> None:
    """The owner's password, or a backup of the server put back with another text in it."""
    made = unit.server.query(f"SELECT pg_get_functiondef('{name}'::regproc)", unit.name)
    unit.server.query(made.replace("$function$", "$function$ /* */", 1), unit.name)
    assert f"({name})" in unit.owner.verify().says
    unit.server.query(made, unit.name)
    assert unit.owner.verify().ok


# -- one frozen station stops nobody -----------------------------------------------------------------


@pytest.mark.parametrize("text", ["no number", "9" * 30, "", "-1"])
def test_a_false_call_neither_ends_nor_deafens_the_watching(server: Server, text: str) -> None:
    """Any login may call; the board that looked alive was deaf from then on."""
    url = server.emptied()
    with Ledger.open(url) as ledger:
        write = Writer(ledger)
        write.admit("s1", "4W-1")
        station = Watching(url)
        try:
            assert until_told(station, lambda: write.record("s1", "4W-1")) == "changed"
            with psycopg.connect(host=str(server.folder), dbname="unit", user="owner") as other:
                other.execute("SELECT pg_notify('mobicard', %s)", (text,))
            assert until_told(station, lambda: write.record("s1", "4W-1")) == "changed"
        finally:
            station.close()


def test_a_stations_login_takes_not_all_connections_and_lets_go_by_itself(unit: Unit) -> None:
    """Whatever program is used under it."""
    known = f"SELECT rolconnlimit FROM pg_roles WHERE rolname = '{unit.logins['reader']}'"
    assert unit.server.query(known, unit.name) == str(MOST_CONNECTIONS)
    for limit in ("lock_timeout", "statement_timeout", "idle_in_transaction_session_timeout"):
        assert unit.psql("reader", f"SHOW {limit}") != [("0",)]
