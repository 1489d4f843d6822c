"""What every ledger does, whichever engine holds it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from threading import Barrier, Thread
from typing import Any

import pytest
from sqlalchemy.exc import DBAPIError

from mobicard.facts import Record
from mobicard.ledger import Entry, Ledger, LedgerRefused, NewEntry, SaveConflict
from mobicard.ledger.entry import body_text
from tests.ledger.places import START, Writer
from tests.records import record_entry


def test_an_entry_comes_back_as_it_was_saved(ledger: Ledger, write: Writer) -> None:
    body = {"bed": "4W-1", "label": "RT", "note": "naïve “quote” 日本 \n line"}
    saved = write("s1", "admit", body)
    (read,) = ledger.history("s1")
    assert read == saved
    assert dict(read.body) == body
    assert (read.seq, read.version, read.at, read.by) == (1, 1, write.now, "JN")


def test_entries_of_a_stay_are_numbered_without_gaps(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.admit("s2", "4W-2")
    write.record("s1", "4W-1")
    write.record("s1", "4W-1")
    assert [one.version for one in ledger.history("s1")] == [1, 2, 3]
    assert [(one.seq, one.stay) for one in ledger.entries()] == [(1, "s1"), (2, "s2"), (3, "s1"), (4, "s1")]


def test_a_retry_with_the_same_id_is_saved_once(ledger: Ledger) -> None:
    new = NewEntry("s1", "admit", START, "JN", {"bed": "4W-1"}, expect=0)
    assert ledger.append(new) == ledger.append(new)
    assert len(ledger.history("s1")) == 1


def test_an_id_used_for_something_else_is_refused(ledger: Ledger) -> None:
    new = NewEntry("s1", "admit", START, "JN", {"bed": "4W-1"})
    ledger.append(new)
    with pytest.raises(LedgerRefused, match="other contents"):
        ledger.append(NewEntry("s1", "assign", START, "JN", {"to": "KL"}, id=new.id))


def test_all_entries_of_one_save_or_none(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    with pytest.raises(LedgerRefused):
        ledger.append(
            NewEntry("s1", "assign", START, "JN", {"to": "KL"}),
            NewEntry("s2", "admit", START, "JN", {"bed": "4W-1"}),
        )
    assert [one.kind for one in ledger.entries()] == ["admit"]


def test_the_second_save_over_unseen_facts_is_told_what_the_first_said(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    seen = ledger.latest("s1")
    assert seen is not None
    write.record("s1", "4W-1", weight_kg=80, by="AB", expect=seen.fact_version)
    with pytest.raises(SaveConflict) as caught:
        write.record("s1", "4W-1", weight_kg=90, expect=seen.fact_version)
    (theirs,) = caught.value.entries_since
    assert (theirs.by, theirs.record and theirs.record.weight_kg) == ("AB", 80)
    assert "AB saved this bed after you opened it" in caught.value.says
    assert [one.kind for one in ledger.history("s1")] == ["admit", "record"]


@pytest.mark.parametrize("kind", ["prepared", "hung", "taken_down", "read", "tick", "seen"])
def test_what_the_desk_does_never_stops_a_nurses_save(ledger: Ledger, write: Writer, kind: str) -> None:
    write.admit("s1", "4W-1")
    write("s1", kind, {"code": "7Q4MKD", "task": "chair"}, by="CL")
    assert write.record("s1", "4W-1", expect=1).version == 3


@pytest.mark.parametrize(
    ("kind", "body"),
    [("assign", {"to": "KL"}), ("procedure", {"what": "x"}), ("move", {"to": "4W-9"}), ("discharge", {})],
)
def test_every_fact_about_the_patient_stops_a_save_that_has_not_seen_it(
    ledger: Ledger, write: Writer, kind: str, body: dict[str, Any]
) -> None:
    write.admit("s1", "4W-1")
    write("s1", kind, body)
    with pytest.raises(SaveConflict):
        write.record("s1", "4W-1", expect=1)


def test_of_two_who_save_at_once_one_wins_and_one_is_told(url: str, ledger: Ledger, write: Writer) -> None:
    """Twenty races on two connections: each has one winner and one clean conflict."""
    write.admit("s1", "4W-1")
    with Ledger.open(url) as other:
        for round_ in range(20):
            expect = ledger.latest("s1").fact_version  # type: ignore[union-attr]
            outcomes: list[object] = []
            start = Barrier(2)

            def save(
                here: Ledger,
                by: str,
                expect: int = expect,
                start: Barrier = start,
                outcomes: list[object] = outcomes,
            ) -> None:
                new = record_entry("s1", Record(bed="4W-1", weight_kg=80), START, by, expect=expect)
                start.wait()
                try:
                    outcomes.append(here.append(new)[0])
                except SaveConflict as conflict:
                    outcomes.append(conflict)

            both = [Thread(target=save, args=(ledger, "AB")), Thread(target=save, args=(other, "CD"))]
            [one.start() for one in both]
            [one.join() for one in both]
            assert sorted(type(one).__name__ for one in outcomes) == ["Entry", "SaveConflict"], round_
    assert len(ledger.history("s1")) == 21


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET body = '{}' WHERE seq = 1",
        "UPDATE entry SET body = '' WHERE seq = 1",
        "UPDATE entry SET \"by\" = 'XX'",
        "DELETE FROM entry WHERE seq = 1",
        "INSERT INTO entry SELECT seq + 7, 'x', stay, version + 1, kind, at, \"by\", schema, body, "
        "hash, hash FROM entry",
        'INSERT INTO entry SELECT seq + 1, id, stay, version + 1, kind, at, "by", schema, body, '
        "hash, hash FROM entry",
        "INSERT INTO entry SELECT seq + 1, 'x', stay, version, kind, at, \"by\", schema, body, "
        "hash, hash FROM entry",
        "INSERT INTO entry SELECT seq + 1, 'x', stay, version + 1, kind, at, \"by\", schema, body, "
        "prev, hash FROM entry",
    ],
)
def test_the_database_itself_refuses_to_change_what_was_said(
    sql: Callable[[str], Any], ledger: Ledger, write: Writer, statement: str
) -> None:
    """Whoever asks, the owner included: no change, no removal, nothing out of order."""
    write.admit("s1", "4W-1")
    before = list(ledger.entries())
    with pytest.raises(DBAPIError, match="mobicard: entr"):
        sql(statement)
    assert list(ledger.entries()) == before


def test_replacing_on_sqlite_is_refused_too(lite: Ledger) -> None:
    """INSERT OR REPLACE removes rows without asking the DELETE trigger; the order trigger refuses it."""
    Writer(lite).admit("s1", "4W-1")
    columns = "seq + 1, id, stay, version + 1, kind, at, \"by\", schema, '{}', hash, hash"
    with pytest.raises(DBAPIError, match="mobicard: entr"), lite._writer.begin() as connection:
        connection.exec_driver_sql(f"INSERT OR REPLACE INTO entry SELECT {columns} FROM entry")
    assert lite.history("s1")[0].body["bed"] == "4W-1"


@pytest.mark.postgres
def test_emptying_the_table_and_a_false_hash_are_refused_on_postgresql(server: Any) -> None:
    with Ledger.open(server.fresh()) as ledger:
        Writer(ledger).admit("s1", "4W-1")
        columns = "seq + 1, 'x', stay, version + 1, kind, at, \"by\", schema, body, hash, repeat('0', 64)"
        for statement in ("TRUNCATE entry", f"INSERT INTO entry SELECT {columns} FROM entry"):
            with pytest.raises(DBAPIError, match="mobicard: entr"), ledger._writer.begin() as connection:
                connection.exec_driver_sql(statement)
        assert len(list(ledger.entries())) == 1


def test_entries_can_be_followed_from_a_place_and_by_kind(ledger: Ledger, write: Writer) -> None:
    write.admit("s1", "4W-1")
    write.record("s1", "4W-1")
    write("s1", "hung", {"code": "7Q4MKD"})
    assert [one.kind for one in ledger.entries(since_seq=1)] == ["record", "hung"]
    assert [one.seq for one in ledger.entries(kinds={"hung", "admit"})] == [1, 3]


def test_pages_of_entries_join_without_a_seam(ledger: Ledger) -> None:
    Writer(ledger).admit("s1", "4W-1")
    ledger.append(*(NewEntry("s1", "seen", START, "JN") for _ in range(2100)))
    assert [one.seq for one in ledger.entries()] == list(range(1, 2102))


def test_the_change_token_grows_with_every_save(ledger: Ledger, write: Writer) -> None:
    tokens = [ledger.change_token()]
    write.admit("s1", "4W-1")
    for number in range(3):
        write("s1", "seen", {"n": number})
        tokens.append(ledger.change_token())
    assert tokens == sorted(set(tokens))


def test_the_order_is_the_order_of_saving_whatever_the_clock_says(ledger: Ledger, write: Writer) -> None:
    """A clock set back an hour (as in autumn) does not bring the older record back."""
    write.admit("s1", "4W-1")
    ledger.append(record_entry("s1", Record(bed="4W-1", weight_kg=80), START + timedelta(hours=2), "JN"))
    ledger.append(record_entry("s1", Record(bed="4W-1", weight_kg=81), START + timedelta(hours=1), "JN"))
    (now,) = ledger.beds()
    assert now.record is not None
    assert now.record.weight_kg == 81
    assert [one.version for one in ledger.history("s1")] == [1, 2, 3]


def test_a_time_without_its_zone_is_refused() -> None:
    with pytest.raises(LedgerRefused, match="time zone"):
        NewEntry("s1", "seen", START.replace(tzinfo=None), "JN")


@pytest.mark.parametrize("by", ["", "x" * 65, "J\nN", "J\x00N"])
def test_initials_that_could_upset_the_chain_are_refused(by: str) -> None:
    with pytest.raises(LedgerRefused, match="initials"):
        NewEntry("s1", "seen", START, by)


def test_both_engines_write_the_same_bytes(ledger: Ledger) -> None:
    """The hash of a known entry, computed by hand with hashlib over the documented spelling (FIPS 180-4)."""
    (saved,) = ledger.append(
        NewEntry("s1", "admit", START, "JN", {"label": "RT", "bed": "4W-1"}, id="a" * 32)
    )
    assert body_text(saved.body) == '{"bed":"4W-1","label":"RT"}'
    assert saved.hash == by_hand(saved)


def by_hand(entry: Entry) -> str:
    import hashlib

    body = hashlib.sha256(b'{"bed":"4W-1","label":"RT"}').hexdigest()
    text = "0" * 64 + f"\n1\n{entry.id}\ns1\n1\nadmit\n2026-03-02T07:00:00.000000+00:00\nJN\n1\n{body}"
    return hashlib.sha256(text.encode()).hexdigest()
