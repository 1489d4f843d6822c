"""Signing in by initials and PIN, and what each role may do, on both engines."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from mobicard.ledger import KINDS, Ledger, LedgerRefused, NewEntry, NotAllowed, Person, SignInRefused
from mobicard.ledger.staff.people import COST, proof_of
from mobicard.ledger.staff.rights import ROLE_KINDS
from mobicard.rules.policy import Policy
from tests.ledger.places import START, Writer

PINS = {"KEEP": "8402", "JN": "7193", "CL": "5086", "RD": "9047"}


@pytest.fixture
def staffed(ledger: Ledger) -> Ledger:
    """A ledger with one of each role; nobody signed in; one patient admitted before there was a list."""
    Writer(ledger).admit("s1", "4W-1")
    ledger.staff.add("KEEP", "keeper", PINS["KEEP"], "KEEP", START)
    ledger.sign_in("KEEP", PINS["KEEP"], START)
    for initials, role in (("JN", "nurse"), ("CL", "clerk"), ("RD", "reader")):
        ledger.staff.add(initials, role, PINS[initials], "KEEP", START)
    ledger.sign_out()
    return ledger


def record(by: str) -> NewEntry:
    return NewEntry("s1", "record", START, by, {"record": {"bed": "4W-1"}})


def test_without_a_staff_list_nobody_need_sign_in(ledger: Ledger, write: Writer) -> None:
    assert not ledger.has_people()
    assert write.admit("s1", "4W-1").by == "JN"


def test_the_right_pin_signs_in(staffed: Ledger) -> None:
    person = staffed.sign_in("jn", PINS["JN"], START)
    assert (person.initials, person.role) == ("JN", "nurse")
    assert staffed.append(record("JN"))[0].by == "JN"


@pytest.mark.parametrize(("who", "pin"), [("JN", "0000"), ("JN", ""), ("NOONE", "7193"), ("JN", "5086")])
def test_a_wrong_pin_or_an_unknown_name_gets_the_same_refusal(staffed: Ledger, who: str, pin: str) -> None:
    with pytest.raises(SignInRefused, match="do not go together"):
        staffed.sign_in(who, pin, START)
    with pytest.raises(NotAllowed, match="Sign in first"):
        staffed.append(record("JN"))


def test_after_five_wrong_tries_even_the_right_pin_waits(staffed: Ledger) -> None:
    """Five tries, five minutes: the policy's defaults. The wait ends by itself."""
    access = Policy().access
    for _ in range(access.attempts):
        with pytest.raises(SignInRefused, match="do not go together"):
            staffed.sign_in("JN", "0000", START)
    with pytest.raises(SignInRefused, match="Too many tries"):
        staffed.sign_in("JN", PINS["JN"], START + timedelta(minutes=access.pause_min - 1))
    assert staffed.sign_in("CL", PINS["CL"], START).role == "clerk", "others are not held up"
    later = START + timedelta(minutes=access.pause_min, seconds=1)
    assert staffed.sign_in("JN", PINS["JN"], later).role == "nurse"


def test_four_wrong_tries_and_a_right_one_begin_again(staffed: Ledger) -> None:
    for _ in range(2):
        for _ in range(Policy().access.attempts - 1):
            with pytest.raises(SignInRefused):
                staffed.sign_in("JN", "0000", START)
        staffed.sign_in("JN", PINS["JN"], START)


def test_a_clock_set_back_does_not_lengthen_the_wait_without_end(staffed: Ledger) -> None:
    for _ in range(5):
        with pytest.raises(SignInRefused):
            staffed.sign_in("JN", "0000", START)
    assert staffed.sign_in("JN", PINS["JN"], START - timedelta(hours=1)).role == "nurse"


def test_the_audit_says_who_signed_in_and_who_was_refused(staffed: Ledger) -> None:
    with pytest.raises(SignInRefused):
        staffed.sign_in("JN", "0000", START)
    staffed.sign_in("JN", PINS["JN"], START)
    kinds = [(one.kind, one.by) for one in staffed.entries(kinds={"sign_in", "sign_in_refused"})]
    assert kinds[-2:] == [("sign_in_refused", "JN"), ("sign_in", "JN")]
    assert staffed.verify().ok


@pytest.mark.parametrize("initials", ["JN", "CL", "RD", "KEEP"])
def test_each_role_may_append_its_kinds_and_no_other(staffed: Ledger, initials: str) -> None:
    person = staffed.sign_in(initials, PINS[initials], START)
    refused = set()
    for kind in KINDS:
        try:
            staffed.staff.check([NewEntry("s1", kind, START, initials)], person)
        except NotAllowed:
            refused.add(kind)
    assert refused == set(KINDS) - ROLE_KINDS[person.role]


@pytest.mark.parametrize("kind", ["record", "same", "correct", "fall", "procedure", "merge"])
def test_a_clerk_changes_no_facts_and_a_reader_nothing_at_all(staffed: Ledger, kind: str) -> None:
    body = {"record": {"bed": "4W-1"}, "corrects": 1}
    for initials in ("CL", "RD"):
        staffed.sign_in(initials, PINS[initials], START)
        with pytest.raises(NotAllowed, match="may not save this"):
            staffed.append(NewEntry("s1", kind, START, initials, body))
    assert [one.kind for one in staffed.history("s1")] == ["admit"]


@pytest.mark.parametrize("kind", ["prepared", "hung", "taken_down", "admit", "move", "tick", "assign"])
def test_a_reader_neither_prints_nor_changes(staffed: Ledger, kind: str) -> None:
    person = staffed.sign_in("RD", PINS["RD"], START)
    assert not person.may("prepared")
    with pytest.raises(NotAllowed):
        staffed.append(NewEntry("s1", kind, START, "RD", {"bed": "4W-2", "code": "7Q4MKD"}))
    assert staffed.append(NewEntry("s1", "read", START, "RD"))


def test_nobody_signs_for_another(staffed: Ledger) -> None:
    staffed.sign_in("CL", PINS["CL"], START)
    with pytest.raises(NotAllowed, match="signed in as CL"):
        staffed.append(record("JN"))


def test_a_person_made_up_in_the_program_is_not_signed_in(staffed: Ledger) -> None:
    """Passing a Person of one's own making, with or without a token, gets nobody in."""
    for person in (Person("JN", "nurse"), Person("JN", "nurse", token="a" * 64)):
        with pytest.raises(NotAllowed, match="Sign in first"):
            staffed.append(record("JN"), person=person)


def test_after_signing_out_the_old_person_is_of_no_use(staffed: Ledger) -> None:
    person = staffed.sign_in("JN", PINS["JN"], START)
    staffed.sign_out()
    with pytest.raises(NotAllowed, match="Sign in first"):
        staffed.append(record("JN"), person=person)


def test_someone_made_inactive_is_out_at_once(url: str, staffed: Ledger) -> None:
    with Ledger.open(url) as station:
        station.sign_in("JN", PINS["JN"], START)
        staffed.sign_in("KEEP", PINS["KEEP"], START)
        staffed.staff.change("JN", "KEEP", START, active=False)
        with pytest.raises(NotAllowed):
            station.append(record("JN"))
        with pytest.raises(SignInRefused):
            station.sign_in("JN", PINS["JN"], START)


def test_someone_made_a_reader_records_no_more_from_the_next_entry_on(url: str, staffed: Ledger) -> None:
    """Signed in as a nurse, made a reader elsewhere: what was signed in as no longer counts."""
    with Ledger.open(url) as station:
        station.sign_in("JN", PINS["JN"], START)
        station.append(record("JN"))
        staffed.sign_in("KEEP", PINS["KEEP"], START)
        staffed.staff.change("JN", "KEEP", START, role="reader")
        with pytest.raises(NotAllowed):
            station.append(record("JN"))


def test_a_new_pin_replaces_the_old_one(staffed: Ledger) -> None:
    staffed.sign_in("KEEP", PINS["KEEP"], START)
    staffed.staff.change("JN", "KEEP", START, pin="2685")
    with pytest.raises(SignInRefused):
        staffed.sign_in("JN", PINS["JN"], START)
    assert staffed.sign_in("JN", "2685", START).role == "nurse"
    assert staffed.verify().ok


@pytest.mark.parametrize("initials", ["JN", "CL", "RD", None])
def test_only_a_keeper_changes_the_staff_list(staffed: Ledger, initials: str | None) -> None:
    if initials:
        staffed.sign_in(initials, PINS[initials], START)
    for by in ("KEEP", initials or "KEEP"):
        with pytest.raises(NotAllowed, match="keeper"):
            staffed.staff.add("NEW", "nurse", "2685", by, START)
        with pytest.raises(NotAllowed, match="keeper"):
            staffed.staff.change("JN", by, START, role="keeper")
        with pytest.raises(NotAllowed, match="keeper"):
            staffed.staff.keep_access(Policy().access, by, START)


def test_the_last_keeper_stays(staffed: Ledger) -> None:
    staffed.sign_in("KEEP", PINS["KEEP"], START)
    with pytest.raises(LedgerRefused, match="Someone must stay keeper"):
        staffed.staff.change("KEEP", "KEEP", START, active=False)
    assert staffed.sign_in("KEEP", PINS["KEEP"], START).active


def test_the_first_person_must_be_a_keeper(ledger: Ledger) -> None:
    with pytest.raises(LedgerRefused, match="must be a keeper"):
        ledger.staff.add("JN", "nurse", "7193", "JN", START)
    assert not ledger.has_people()


@pytest.mark.parametrize("pin", ["", "123", "1234", "9876", "7777", "12a4", "１２５９", "1234567890123"])
def test_a_pin_that_is_no_secret_is_refused(ledger: Ledger, pin: str) -> None:
    with pytest.raises(LedgerRefused, match="PIN"):
        ledger.staff.add("KEEP", "keeper", pin, "KEEP", START)


@pytest.mark.parametrize(
    ("initials", "role"), [("", "keeper"), ("J N", "keeper"), ("J" * 13, "keeper"), ("JN", "boss")]
)
def test_initials_and_roles_that_will_not_do_are_refused(ledger: Ledger, initials: str, role: str) -> None:
    with pytest.raises(LedgerRefused):
        ledger.staff.add(initials, role, "8402", "KEEP", START)


def test_the_pin_is_kept_nowhere(staffed: Ledger, sql: Callable[[str], Any]) -> None:
    held = str(sql("SELECT * FROM person")) + str([dict(one.body) for one in staffed.entries()])
    whole = "|".join(rf"(?<![0-9a-f]){pin}(?![0-9a-f])" for pin in PINS.values())
    assert not any(re.search(whole, str(one.body)) for one in staffed.entries()), "digits of a digest aside"
    assert "verifier" not in str([dict(one.body) for one in staffed.entries()])
    assert all(f"'{pin}'" not in held for pin in PINS.values())


def test_the_policys_tries_count_once_the_keeper_took_them_in(staffed: Ledger) -> None:
    staffed.sign_in("KEEP", PINS["KEEP"], START)
    staffed.staff.keep_access(Policy(access={"attempts": 2}).access, "KEEP", START)
    for _ in range(2):
        with pytest.raises(SignInRefused, match="do not go together"):
            staffed.sign_in("JN", "0000", START)
    with pytest.raises(SignInRefused, match="Too many tries"):
        staffed.sign_in("JN", PINS["JN"], START)


def test_limits_that_no_keeper_set_show(staffed: Ledger, sql: Callable[[str], Any]) -> None:
    """A thousand tries at a PIN of four figures are as good as none to stop them."""
    sql("UPDATE ledger_info SET value = '1000' WHERE name = 'attempts'")
    assert "The limits of sign-in are not as a keeper set them" in staffed.verify().says
    sql("UPDATE ledger_info SET value = '5' WHERE name = 'attempts'")
    staffed.sign_in("KEEP", PINS["KEEP"], START)
    staffed.staff.keep_access(Policy(access={"attempts": 3}).access, "KEEP", START)
    assert staffed.verify().ok
    (said,) = staffed.entries(kinds={"limits"})
    assert (said.by, said.body["attempts"]) == ("KEEP", 3)
    sql("UPDATE ledger_info SET value = '5' WHERE name = 'attempts'")
    assert "The limits of sign-in" in staffed.verify().says


def test_a_new_pin_ends_what_the_old_one_began(url: str, staffed: Ledger) -> None:
    """Also where no server ends it: whoever knew the old one saves no more."""
    with Ledger.open(url) as station:
        station.sign_in("JN", PINS["JN"], START)
        station.append(NewEntry("s1", "seen", START, "JN"))
        staffed.sign_in("KEEP", PINS["KEEP"], START)
        staffed.staff.change("JN", "KEEP", START, pin="2685")
        with pytest.raises(NotAllowed, match="new PIN since"):
            station.append(NewEntry("s1", "seen", START, "JN"))


def test_argon2id_gives_what_the_library_gives() -> None:
    """Against argon2-cffi's own high-level hasher with the same parameters (RFC 9106 argon2id)."""
    from argon2 import PasswordHasher, Type

    hasher = PasswordHasher(time_cost=3, memory_cost=65536, parallelism=1, hash_len=32, type=Type.ID)
    encoded = hasher.hash("7193", salt=bytes(range(16)))
    import base64

    raw = base64.b64decode(encoded.rsplit("$", 1)[1] + "=").hex()
    assert proof_of("7193", bytes(range(16)).hex(), COST) == raw


def test_a_staff_list_changed_past_the_program_shows(staffed: Ledger, sql: Callable[[str], Any]) -> None:
    """A clerk made nurse with a database tool, or a nurse's PIN replaced by one's own."""
    sql("UPDATE person SET role = 'nurse' WHERE initials = 'CL'")
    report = staffed.verify()
    assert not report.ok
    assert "CL on the staff list is not as the keeper's entries say" in report.says


def test_who_left_the_staff_list_may_nothing() -> None:
    assert Person("JN", "nurse").may("record")
    assert not Person("JN", "nurse", active=False).may("record")
