"""Several stations on one real PostgreSQL server, through the ward: clash, server gone, roles, audit."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from threading import Event, Thread

import pytest

from mobicard.facts.words import Level
from mobicard.ledger import Ledger, NotAllowed
from mobicard.ledger.staff import people
from mobicard.ledger.staff.people import Staff
from mobicard.ledger.staff.postgres_roles import give_rights, make_login
from mobicard.ward import Clock, SaveRefused, Settings, Ward, WardRefused, merge
from mobicard.ward.reader.audit import audit
from tests.conftest import MORNING
from tests.ledger.places import CHEAP, Server, postgres_binaries
from tests.records import assessed

pytestmark = pytest.mark.postgres

PINS = {"KP": ("keeper", "471100"), "JN": ("nurse", "472201"), "AB": ("nurse", "472202")}
PINS |= {"CL": ("clerk", "472203"), "RD": ("reader", "472204")}

Station = Callable[..., Ward]


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    binaries = postgres_binaries()
    if binaries is None:
        pytest.skip("no PostgreSQL programs on this machine: apt-get install postgresql")
    running = Server(binaries, sync=True)
    yield running
    running.remove()


@pytest.fixture
def station(server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Station]:
    """Opens a station at a login, with somebody of the staff list signed in, over one unit with one bed."""
    monkeypatch.setattr(people, "COST", CHEAP)
    url = server.emptied()
    opened: list[Ledger] = []

    def at(login: str, who: str | None = None, now: datetime = MORNING) -> Ward:
        ledger = Ledger.open(url.replace("owner@", f"{login}@"))
        opened.append(ledger)
        settings = Settings.found(config_dir=tmp_path / "config")
        ward = Ward(ledger, settings, Clock.fixed(now), drafts=tmp_path / f"{len(opened)}")
        if who:
            ward.sign_in(who, PINS[who][1])
        return ward

    owner = at("owner")
    owner.call_me("KP")
    view = owner.stays.admit("5N-01")
    owner.save(view.stay, assessed("5N-01"), view.version)
    for initials, (role, pin) in PINS.items():
        owner.ledger.staff.add(initials, role, pin, by="KP", at=owner.clock.utc())
        if role == "keeper":
            owner.sign_in(initials, pin)
    give_rights(owner.ledger)
    if not server.query("SELECT 1 FROM pg_roles WHERE rolname = 'desk'"):
        make_login(owner.ledger, "desk", "x", "nurse", "clerk", "reader", "keeper")
        make_login(owner.ledger, "corridor", "x", "reader")
    yield at
    for ledger in opened:
        ledger.close()


def test_the_second_nurse_is_told_fact_by_fact_and_puts_both_together(station: Station) -> None:
    """Two stations open one bed; whoever saves second sees both answers and overwrites nothing unseen."""
    one, other = station("desk", "JN"), station("desk", "AB")
    mine, theirs = one.board()[0], other.board()[0]
    one.save(mine.stay, mine.record.changed(standing="supported"), mine.version)
    entered = theirs.record.changed(standing="unable", arms="one")
    with pytest.raises(SaveRefused) as refused:
        other.save(theirs.stay, entered, theirs.version)
    told = {field.field: (field.before, field.mine, field.theirs) for field in refused.value.fields}
    assert told == {"standing": ("steady", "unable", "supported"), "arms": ("both", "one", "both")}
    both = merge(entered, refused.value.fields, refused.value.theirs, frozenset({"standing"}))
    other.save(theirs.stay, both, refused.value.version)
    shown = one.board()[0].record
    assert (shown.standing, shown.arms) == ("supported", "one")


def test_the_server_stops_and_nothing_is_lost(server: Server, station: Station) -> None:
    """Both go on from what is known and hold their saves; back again, one arrives, the other is offered."""
    one, other = station("desk", "JN"), station("desk", "AB")
    mine, theirs = one.board()[0], other.board()[0]
    changed, stop = Event(), Event()
    watching = Thread(target=one.watch, args=(changed.set, stop))
    watching.start()
    try:
        server.stop()
        assert changed.wait(10), "a station that loses its server says so, though nobody does anything"
        assert one.board()[0].bed == "5N-01"
        assert "last known" in (one.offline.says or "")
        held = one.save(mine.stay, mine.record.changed(arms="one"), mine.version)
        again = one.save(mine.stay, held.record.changed(stepping="pivots"), held.version)
        assert (held.pending, again.pending) == (True, True)
        assert other.board()
        other.save(theirs.stay, theirs.record.changed(standing="unable"), theirs.version)
        one.seen(mine.stay)
        changed.clear()
    finally:
        server.start()
    assert changed.wait(15), "a station whose server is back looks at once"
    stop.set()
    watching.join()
    shown = one.board()[0]
    assert (shown.record.arms, shown.record.stepping, shown.pending) == ("one", "pivots", False)
    assert (one.offline.says, one.offline.refused, one.offline.outbox.held()) == (None, [], [])
    assert other.board()[0].record.standing == "steady"
    (waits,) = other.offline.refused
    assert waits.entries[0].body["record"]["standing"] == "unable"
    assert "saw" in [line.did for line in audit(one, "5N-01") if line.by == "JN"]


def test_a_held_save_waits_for_whoever_entered_it(server: Server, station: Station) -> None:
    """JN's save is never sent in AB's name: it waits until JN is back at this station."""
    ward = station("desk", "JN")
    view = ward.board()[0]
    try:
        server.stop()
        ward.save(view.stay, view.record.changed(arms="one"), view.version)
    finally:
        server.start()
    ward.sign_in("AB", PINS["AB"][1])
    assert ward.board()[0].record.arms == "both"
    assert [held.entries[0].by for held in ward.offline.of_others] == ["JN"]
    ward.sign_in("JN", PINS["JN"][1])
    assert ward.board()[0].record.arms == "one"
    assert ward.offline.of_others == []


@pytest.mark.parametrize("login", ["desk", "corridor"])
def test_nobody_reads_before_signing_in(station: Station, login: str) -> None:
    """Whoever walks past, at any station, with any program over this login, gets no row."""
    ward = station(login)
    assert ward.needs_sign_in
    with pytest.raises(NotAllowed):
        ward.board()
    with ward.ledger.looking() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM entry").scalar() == 0


@pytest.mark.parametrize(
    ("login", "who", "does"),
    [
        ("desk", "CL", "record"),
        ("desk", "RD", "record"),
        ("desk", "RD", "print"),
        ("desk", "KP", "record"),
        ("corridor", "JN", "record"),
    ],
)
def test_the_server_itself_refuses(
    station: Station, monkeypatch: pytest.MonkeyPatch, login: str, who: str, does: str
) -> None:
    """With mobicard's own check taken out, as another program would: the server still says no."""
    ward = station(login, who)
    view = ward.board()[0]
    before = ward.ledger.change_token()
    monkeypatch.setattr(Staff, "check", lambda *_: None)
    jobs = ward.doors.jobs(changed_only=False)
    acts = {
        "record": lambda: ward.save(view.stay, view.record.changed(arms="one"), view.version),
        "print": lambda: ward.doors.prepare(jobs),
    }
    with pytest.raises(NotAllowed, match="server does not allow"):
        acts[does]()
    assert ward.ledger.change_token() == before


def test_the_audit_says_who_saw_recorded_overrode_and_printed(station: Station) -> None:
    """In the order it was done, without a fact about the patient; the office's entries are the keeper's."""
    nurse, clerk, reader = station("desk", "JN"), station("desk", "CL"), station("corridor", "RD")
    view = nurse.board()[0]
    nurse.seen(view.stay)
    saved = nurse.save(view.stay, view.record.changed(standing="supported"), view.version)
    nurse.override(saved, Level.HOIST, "knees gave way")
    clerk.doors.prepare(clerk.doors.jobs())
    reader.mark_read(view.stay)
    done = [(line.by, line.did) for line in audit(reader, "5N-01")][2:]
    assert done == [
        ("JN", "saw"),
        ("JN", "recorded"),
        ("JN", "overrode"),
        ("CL", "printed"),
        ("RD", "took over"),
    ]
    assert not [line for line in audit(reader) if line.did == "signed in" and line.by != "RD"]
    assert [line for line in audit(station("desk", "KP")) if line.did == "signed in" and line.by == "JN"]
    with pytest.raises(WardRefused, match="no stay was ever in 9X-99"):
        audit(nurse, "9X-99")
