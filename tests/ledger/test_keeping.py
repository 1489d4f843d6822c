"""Backup, restore, export, import, and the end of retention."""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pytest
from sqlalchemy.exc import DBAPIError

from mobicard.ledger import (
    Ledger,
    LedgerDamaged,
    LedgerError,
    LedgerRefused,
    NewEntry,
    NotAllowed,
    SignInRefused,
)
from mobicard.ledger.keeping import retention
from mobicard.ledger.keeping.restoring import restore
from mobicard.ledger.keeping.retention import expired_stays, purge
from mobicard.ledger.keeping.verify import rebuild
from mobicard.rules.policy import Policy
from tests.ledger.places import START, Server, Writer


@pytest.fixture
def filled(ledger: Ledger, write: Writer) -> Ledger:
    for number in range(1, 5):
        write.admit(f"s{number}", f"4W-{number}")
        write.record(f"s{number}", f"4W-{number}", weight_kg=60 + number)
        write(f"s{number}", "hung", {"code": "7Q4MKD", "note": "日本"})
    write("s4", "discharge")
    ledger.staff.add("KEEP", "keeper", "8402", "KEEP", START)
    ledger.sign_in("KEEP", "8402", START)
    return ledger


def private(path: Path) -> bool:
    return stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_backup_opens_as_an_equal_ledger(filled: Ledger, tmp_path: Path) -> None:
    copy = filled.backup(tmp_path / "safe" / "copy")
    assert private(copy)
    with restore(copy, tmp_path / "again.sqlite") as again:
        assert list(again.entries()) == list(filled.entries())
        assert again.beds() == filled.beds()
        assert again.sign_in("KEEP", "8402", START).role == "keeper"


def test_a_restore_overwrites_nothing_and_says_what_is_not_there(filled: Ledger, tmp_path: Path) -> None:
    copy = filled.backup(tmp_path / "copy")
    (tmp_path / "mine.sqlite").write_text("mine")
    with pytest.raises(LedgerError):
        restore(copy, f"sqlite:///{tmp_path}/mine.sqlite")
    assert (tmp_path / "mine.sqlite").read_text() == "mine"
    with pytest.raises(LedgerError, match="cannot be read"):
        restore(tmp_path / "none", tmp_path / "new.sqlite")


def test_a_damaged_backup_is_not_restored_in_silence(lite: Ledger, tmp_path: Path) -> None:
    """One letter of one body changed in the copy."""
    Writer(lite).admit("s1", "4W-1", label="RT")
    copy = lite.backup(tmp_path / "copy")
    copy.write_bytes(copy.read_bytes().replace(b'"RT"', b'"RX"'))
    with pytest.raises(LedgerDamaged, match="does not check out"):
        restore(copy, tmp_path / "again.sqlite")


def test_a_backup_while_others_save_is_whole(url: str, ledger: Ledger, write: Writer, tmp_path: Path) -> None:
    write.admit("s1", "4W-1")
    stop = Event()

    def keep_saving() -> None:
        with Ledger.open(url) as station:
            while not stop.is_set():
                station.append(NewEntry("s1", "assign", START, "JN", {"to": "JN" * 20}))

    busy = Thread(target=keep_saving)
    busy.start()
    try:
        copies = [ledger.backup(tmp_path / f"copy{number}") for number in range(3)]
    finally:
        stop.set()
        busy.join()
    whole = [one.hash for one in ledger.entries()]
    for number, copy in enumerate(copies):
        with restore(copy, tmp_path / f"again{number}.sqlite") as again:
            hashes = [one.hash for one in again.entries()]
            assert hashes
            assert hashes == whole[: len(hashes)]


def test_export_and_import_give_an_equal_ledger_and_the_same_export(filled: Ledger, tmp_path: Path) -> None:
    first, second = tmp_path / "one.jsonl", tmp_path / "two.jsonl"
    count = filled.export_jsonl(first, secrets=True)
    assert private(first)
    with Ledger.open(tmp_path / "other.sqlite") as other:
        assert other.import_jsonl(first) == count == len(list(filled.entries()))
        assert list(other.entries()) == list(filled.entries())
        other.sign_in("KEEP", "8402", START)
        other.export_jsonl(second, secrets=True)
    there = second.read_bytes().splitlines()
    assert there[1:-1] == first.read_bytes().splitlines()[1:], "but for signing in there, and what counts it"


@pytest.mark.postgres
def test_a_ledger_moves_from_sqlite_to_postgresql_and_back(
    lite: Ledger, server: Server, tmp_path: Path
) -> None:
    write = Writer(lite)
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1", weight_kg=82.5)
    lite.export_jsonl(tmp_path / "a")
    with Ledger.open(server.emptied()) as there:
        there.import_jsonl(tmp_path / "a")
        assert there.beds() == lite.beds()
        there.export_jsonl(tmp_path / "b")
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_an_import_into_a_ledger_that_is_not_empty_is_refused(filled: Ledger, tmp_path: Path) -> None:
    filled.export_jsonl(tmp_path / "one.jsonl")
    before = list(filled.entries())
    with pytest.raises(LedgerRefused, match="not empty"):
        filled.import_jsonl(tmp_path / "one.jsonl")
    assert list(filled.entries()) == before


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda lines: lines[:-1], "ends too early"),
        (lambda lines: lines[:3] + lines[4:], "does not fit"),
        (lambda lines: [one.replace("63.0", "73.0") for one in lines], "does(n't| not) (fit|check out)"),
        (lambda lines: [*lines[:5], "{scribble", *lines[6:]], "Line 6 .* cannot be read"),
        (lambda lines: ['{"format": "other"}', *lines[1:]], "not an export"),
        (lambda lines: [], "cannot be read"),
    ],
)
def test_an_export_that_was_changed_is_refused_whole(
    url: str, lite: Ledger, tmp_path: Path, spoil: Callable[[list[str]], list[str]], says: str
) -> None:
    path, spoiled = tmp_path / "one.jsonl", tmp_path / "spoiled.jsonl"
    write = Writer(lite)
    for number in range(5):
        write.record(f"s{number}", f"4W-{number}", weight_kg=60 + number)
    lite.export_jsonl(path)
    spoiled.write_text("\n".join(spoil(path.read_text().splitlines())) + "\n")
    target = url.replace("ledger.sqlite", "other.sqlite")
    with Ledger.open(target) as other:
        with pytest.raises(LedgerDamaged, match=says):
            other.import_jsonl(spoiled)
        assert list(other.entries()) == []


def test_nothing_is_overwritten(filled: Ledger, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("mine")
    for act in (filled.backup, filled.export_jsonl):
        with pytest.raises(LedgerRefused, match="there already"):
            act(tmp_path / "there")
    assert (tmp_path / "there").read_text() == "mine"


@pytest.mark.parametrize("who", ["JN", None])
def test_the_ledger_itself_gives_everything_to_a_keeper_alone(
    filled: Ledger, tmp_path: Path, who: str | None
) -> None:
    """Whichever command asks, and also where none thought of it."""
    nurse_there(filled)
    if who is None:
        filled.sign_out()
    for act in (filled.backup, filled.export_jsonl, lambda _path: rebuild(filled)):
        with pytest.raises(NotAllowed, match="Only the ledger's keeper"):
            act(tmp_path / "all")
    assert list(tmp_path.glob("all*")) == []


def test_secrets_leave_only_when_asked_for(filled: Ledger, tmp_path: Path) -> None:
    filled.export_jsonl(tmp_path / "one")
    said = (tmp_path / "one").read_text()
    assert not [name for name in ("verifier", "salt", "visit_key", "pepper") if name in said]


def test_a_failed_restore_leaves_nothing(url: str, lite: Ledger, server: Server, tmp_path: Path) -> None:
    """Neither a file nor one table; a half would be taken for the whole."""
    Writer(lite).admit("s1", "4W-1", label="RT")
    export = tmp_path / "export.jsonl"
    lite.export_jsonl(export)
    export.write_text(export.read_text().replace('\\"RT\\"', '\\"RX\\"'))
    there = url if url.startswith("postgresql") else str(tmp_path / "again.sqlite")
    with pytest.raises(LedgerDamaged):
        restore(export, there)
    if url.startswith("postgresql"):
        left = "SELECT relname FROM pg_class WHERE relnamespace = 'public'::regnamespace UNION ALL "
        left += "SELECT proname FROM pg_proc WHERE pronamespace = 'public'::regnamespace"
        assert server.query(left, "unit") == ""
    else:
        assert list(tmp_path.glob("again*")) == []


def test_nothing_is_made_through_a_link_to_nothing(filled: Ledger, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    copy = filled.backup(tmp_path / "copy")
    for act in (filled.backup, filled.export_jsonl, lambda path: restore(copy, path)):
        with pytest.raises(LedgerRefused, match="there already"):
            act(tmp_path / "link")
    assert not (tmp_path / "elsewhere").exists()


# -- the end of retention ----------------------------------------------------------------------------

LATER = START + timedelta(days=Policy().retention.days_after_discharge + 1)


KEPT = Policy().retention
AS_TOLD = "UPDATE receipt SET at = (SELECT at FROM entry WHERE entry.seq = receipt.seq)"


@pytest.fixture
def aged(filled: Ledger, sql: Callable[[str], Any], monkeypatch: pytest.MonkeyPatch) -> Ledger:
    """As if each entry had come in when it says it was made, and all the years had passed since."""
    if filled.on_server:
        for statement in ("DISABLE TRIGGER USER", AS_TOLD, "ENABLE TRIGGER USER"):
            sql(statement if statement == AS_TOLD else f"ALTER TABLE receipt {statement}")
    else:
        ((kept,),) = sql("SELECT sql FROM sqlite_master WHERE name = 'receipt_never_updated'")
        for statement in ("DROP TRIGGER receipt_never_updated", AS_TOLD, kept):
            sql(statement)
    monkeypatch.setattr(retention, "machine_now", lambda _connection: LATER)
    return filled


def test_a_stay_expires_the_policys_days_after_discharge_and_not_before(aged: Ledger) -> None:
    gone = next(one.at for one in aged.history("s4") if one.kind == "discharge")
    limit = gone + timedelta(days=KEPT.days_after_discharge)
    assert expired_stays(aged, KEPT, limit) == []
    assert expired_stays(aged, KEPT, limit + timedelta(seconds=1)) == ["s4"]


def test_no_told_time_ends_a_stay_early(filled: Ledger) -> None:
    """Neither a discharge told as years ago nor a keeper who tells the year after next."""
    assert expired_stays(filled, KEPT, datetime.now(UTC)) == [], "told as of March, come in just now"
    assert expired_stays(filled, KEPT, LATER + timedelta(days=9000)) == []


def nurse_there(ledger: Ledger) -> None:
    """JN signs in, put on the list by the keeper who was there."""
    ledger.staff.add("JN", "nurse", "7193", "KEEP", START)
    ledger.sign_in("JN", "7193", START)


def test_what_a_present_patient_was_merged_from_is_kept(aged: Ledger, write: Writer, tmp_path: Path) -> None:
    """Also through a second merge, and in both directions: each says what the other stands on."""
    nurse_there(aged)
    write("s3", "merge", {"into": "s2"})
    write("s2", "merge", {"into": "s1"})
    assert expired_stays(aged, KEPT, LATER) == ["s4"]
    aged.sign_in("KEEP", "8402", START)
    for stay in ("s2", "s3"):
        with pytest.raises(LedgerRefused, match="merged with one that has not ended"):
            purge(aged, ["s4", stay], tmp_path / "gone.jsonl", "KEEP", LATER)
    aged.sign_in("JN", "7193", START)
    write("s1", "discharge")
    aged.sign_in("KEEP", "8402", START)
    assert purge(aged, ["s2", "s3", "s1"], tmp_path / "gone.jsonl", "KEEP", LATER)
    assert aged.verify().ok


def test_stays_merged_expire_together(aged: Ledger, write: Writer) -> None:
    nurse_there(aged)
    write("s3", "merge", {"into": "s4"})
    assert expired_stays(aged, KEPT, LATER) == [], "the merge came in just now"


def test_a_purge_writes_the_export_first_and_leaves_a_chain_that_checks(
    filled: Ledger, tmp_path: Path
) -> None:
    entries = [(one.seq, one.hash) for one in filled.entries()]
    export = tmp_path / "gone.jsonl"
    said = purge(filled, ["s4"], export, "KEEP", LATER)
    assert said is not None
    assert said.body["sha256"] == hashlib.sha256(export.read_bytes()).hexdigest()
    assert private(export)
    assert [json.loads(line)["kind"] for line in export.read_text().splitlines()] == [
        "admit",
        "record",
        "hung",
        "discharge",
    ]
    assert [dict(one.body) for one in filled.history("s4")] == [{}] * 4
    assert filled.latest("s4") is None
    assert [(one.seq, one.hash) for one in filled.entries()][:-1] == entries
    assert filled.verify().ok


def test_after_a_purge_nothing_of_the_patient_is_left_in_the_file(lite: Ledger, tmp_path: Path) -> None:
    write = Writer(lite)
    write.admit("s1", "4W-1", label="ZQXJ")
    write("s1", "discharge")
    purge(lite, ["s1"], tmp_path / "gone.jsonl", "JN", LATER)
    lite.close()
    for name in ("ledger.sqlite", "ledger.sqlite-wal"):
        path = tmp_path / name
        assert not path.exists() or b"ZQXJ" not in path.read_bytes(), name


def test_a_purged_ledger_exports_and_imports_equal(filled: Ledger, tmp_path: Path) -> None:
    purge(filled, ["s4"], tmp_path / "gone.jsonl", "KEEP", LATER)
    filled.export_jsonl(tmp_path / "one.jsonl", secrets=True)
    with Ledger.open(tmp_path / "other.sqlite") as other:
        other.import_jsonl(tmp_path / "one.jsonl")
        assert other.verify().ok
        assert other.beds() == filled.beds()


@pytest.mark.parametrize("stay", ["s1", "unknown", "*office"])
def test_a_stay_that_has_not_ended_is_not_purged(filled: Ledger, tmp_path: Path, stay: str) -> None:
    with pytest.raises(LedgerRefused, match="has not ended"):
        purge(filled, ["s4", stay], tmp_path / "gone.jsonl", "KEEP", LATER)
    assert filled.history("s4")[0].body["bed"] == "4W-4"


def test_without_room_for_the_export_nothing_is_purged(filled: Ledger) -> None:
    with pytest.raises(LedgerError, match="Nothing was purged"):
        purge(filled, ["s4"], Path("/dev/full/gone.jsonl"), "KEEP", LATER)
    assert filled.history("s4")[0].body["bed"] == "4W-4"


def test_only_a_keeper_purges(filled: Ledger, tmp_path: Path) -> None:
    filled.staff.add("JN", "nurse", "7193", "KEEP", START)
    filled.sign_in("JN", "7193", START)
    with pytest.raises(NotAllowed):
        purge(filled, ["s4"], tmp_path / "gone.jsonl", "JN", LATER)
    assert not (tmp_path / "gone.jsonl").exists()


def test_the_one_hole_in_never_changed_is_as_narrow_as_said(
    filled: Ledger, sql: Callable[[str], Any]
) -> None:
    """A kept digest lets a body be emptied, never replaced, and nothing else of the entry changes."""
    sql("INSERT INTO purged VALUES (1, 'x')")
    for change in ("body = '{}'", "body = '', kind = 'seen'", "body = '', \"by\" = 'XX'", "hash = ''"):
        with pytest.raises(DBAPIError, match="never changed"):
            sql(f"UPDATE entry SET {change} WHERE seq = 1")
    with pytest.raises(DBAPIError, match="never changed"):
        sql("UPDATE entry SET body = '' WHERE seq = 2")


def test_an_emptied_body_that_no_purge_names_shows(filled: Ledger, sql: Callable[[str], Any]) -> None:
    """Someone uses the hole by hand, keeping the true digest: the chain has no purge that names the stay."""
    body = sql("SELECT body FROM entry WHERE seq = 1")[0][0]
    sql(f"INSERT INTO purged VALUES (1, '{hashlib.sha256(body.encode()).hexdigest()}')")
    sql("UPDATE entry SET body = '' WHERE seq = 1")
    report = filled.verify()
    assert not report.ok
    assert report.broken_seq == 1


def test_a_wrong_pin_is_still_wrong_in_the_restored_ledger(filled: Ledger, tmp_path: Path) -> None:
    with restore(filled.backup(tmp_path / "copy"), tmp_path / "again.sqlite") as again:
        with pytest.raises(SignInRefused):
            again.sign_in("KEEP", "0000", START)
        with pytest.raises(NotAllowed):
            again.append(NewEntry("s1", "seen", START, "KEEP"))


@pytest.mark.parametrize("spoil", ["cut", "changed"])
@pytest.mark.parametrize("how", ["backup", "export"])
def test_a_restore_that_fails_leaves_nothing(lite: Ledger, tmp_path: Path, how: str, spoil: str) -> None:
    """Half a ledger, or an empty one, would be taken for the whole the next day."""
    write = Writer(lite)
    write.admit("s1", "4W-1", label="RT")
    write.record("s1", "4W-1", weight_kg=71)
    copy = tmp_path / "copy"
    lite.backup(copy) if how == "backup" else lite.export_jsonl(copy)
    data = copy.read_bytes()
    copy.write_bytes(data[: len(data) // 2] if spoil == "cut" else data.replace(b"71.0", b"17.0"))
    with pytest.raises(LedgerError):
        restore(copy, tmp_path / "again.sqlite")
    assert list(tmp_path.glob("again*")) == []
