"""The staff list: who may sign in, with which role, and that each entry is by whoever is signed in.

SQLite cannot enforce any of it: the file's reader sees everything and its writer can write anything, so there
the rights hold only within mobicard. PostgreSQL enforces it itself once postgres_roles.py gave its roles.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from time import monotonic
from typing import Any

from sqlalchemy import Connection, Engine, Executable, event, func, insert, select, text, update

from mobicard.ledger import appending
from mobicard.ledger.database.schema import entry, info, person
from mobicard.ledger.database.store import Store
from mobicard.ledger.entry import OFFICE, NewEntry, digest_of, time_text
from mobicard.ledger.errors import LedgerDamaged, LedgerRefused, NotAllowed, SignInRefused
from mobicard.ledger.staff.rights import LIMITS, ROLES, Person
from mobicard.rules.policy import AccessPolicy, Policy

COST = "t=3,m=65536,p=1"
"""argon2id: passes, KiB of memory, lanes. RFC 9106 section 4, second recommended option, with one lane."""

TELL_S = 20.0
"""Seconds between two signs of life to a server; the shortest idle time that makes sense has three."""

_ENDED = "Sign in first; or your sign-in has run out, then sign in again."
_WRONG = "These initials and this PIN do not go together. Check both and try again."


def proof_of(pin: str, salt: str, cost: str) -> str:
    """What argon2id (RFC 9106) makes of a PIN, as hex; its digest is what the staff list keeps."""
    from argon2.exceptions import HashingError
    from argon2.low_level import Type, hash_secret_raw  # 20 ms that only signing in should cost

    try:
        t, m, p = (int(part.partition("=")[2]) for part in cost.split(","))
        return hash_secret_raw(pin.encode(), bytes.fromhex(salt), t, m, p, 32, Type.ID).hex()
    except (ValueError, TypeError, AttributeError, HashingError):
        raise LedgerDamaged(
            "The staff list's line of these initials is damaged, so the PIN cannot be checked. Ask the "
            "ledger's keeper to give you a new one, and to run `mobicard ledger verify`."
        ) from None


class Staff:
    """The staff list of one ledger, and who is signed in at this station."""

    def __init__(self, ledger: Store) -> None:
        self._ledger = ledger
        self.person: Person | None = None
        self._tokens: set[str] = set()
        self._known = False
        self._secret_then: str | None = None
        self._told = 0.0
        self.bound_by_server = False

    def any(self) -> bool:
        """Whether anyone is on the list; people are never taken off it, only made inactive."""
        if not self._known:
            with self._ledger.looking() as connection:
                if self._ledger.on_server:
                    self._known = bool(connection.scalar(text("SELECT mobicard_has_people()")))
                else:
                    self._known = bool(connection.scalar(select(func.count()).select_from(person)))
        return self._known

    def forget(self) -> None:
        """Look again whether there is a list: everything may have changed by an import."""
        self.sign_out()
        self._known = False

    def everyone(self) -> list[Person]:
        """The whole list, by initials."""
        query = select(person.c.initials, person.c.role, person.c.active).order_by(person.c.initials)
        with self._ledger.looking() as connection:
            return [Person(row.initials, row.role, bool(row.active)) for row in connection.execute(query)]

    # -- changing the list -----------------------------------------------------------------------

    def add(
        self, initials: str, role: str, pin: str, by: str, at: datetime, *, access: AccessPolicy | None = None
    ) -> Person:
        """Put someone on the list. The first must be a keeper; after that only a signed-in keeper may.

        Raises LedgerRefused (initials, role or PIN do not do) or NotAllowed.
        """
        initials = _initials(initials)
        if role not in ROLES:
            raise LedgerRefused(f"“{role}” is not a role; a person is one of {', '.join(ROLES)}.")
        _check_pin(pin, access or Policy().access)
        if self.any():
            self._keeper_only(by)
        elif role != "keeper":
            raise LedgerRefused("The first person on the staff list must be a keeper, who adds the others.")
        row = {
            "initials": initials,
            "role": role,
            "active": True,
            "tries": 0,
            "tried_at": None,
            **_secret(pin),
        }
        with self._ledger.writing() as connection:
            appending.hold_writers(connection)
            if connection.scalar(select(person.c.initials).where(person.c.initials == initials)):
                raise LedgerRefused(f"{initials} is on the staff list already; take other initials.")
            if self.bound_by_server:
                self._put(connection, initials, row)
            else:
                connection.execute(insert(person), row)
                self._note(connection, initials, row, by, at)
        self._known = True
        return Person(initials, role)

    def change(
        self,
        initials: str,
        by: str,
        at: datetime,
        *,
        role: str | None = None,
        pin: str | None = None,
        active: bool | None = None,
        access: AccessPolicy | None = None,
    ) -> Person:
        """Give someone another role or PIN, or let them no longer sign in (active=False). Keepers only.

        Raises LedgerRefused or NotAllowed.
        """
        self._keeper_only(by)
        if role is not None and role not in ROLES:
            raise LedgerRefused(f"“{role}” is not a role; a person is one of {', '.join(ROLES)}.")
        changes: dict[str, Any] = {k: v for k, v in (("role", role), ("active", active)) if v is not None}
        if pin is not None:
            _check_pin(pin, access or Policy().access)
            changes |= {**_secret(pin), "tries": 0, "tried_at": None}
        with self._ledger.writing() as connection:
            appending.hold_writers(connection)
            there = connection.execute(
                select(person.c.role, person.c.active).where(person.c.initials == _initials(initials))
            ).one_or_none()
            if there is None:
                raise LedgerRefused(f"{initials} is not on the staff list.")
            now = {"role": there.role, "active": bool(there.active), **changes}
            if self.bound_by_server:
                self._put(connection, _initials(initials), now)
            else:
                self._update(connection, _initials(initials), changes)
                self._note(connection, _initials(initials), now, by, at)
            keepers = select(func.count()).where(person.c.role == "keeper", person.c.active)
            if not connection.scalar(keepers):
                raise LedgerRefused("Someone must stay keeper; make another one first. Nothing was changed.")
        return Person(_initials(initials), str(now["role"]), bool(now["active"]))

    def keep_access(self, access: AccessPolicy, by: str, at: datetime) -> None:
        """Take the policy's tries, pause and idle minutes into the ledger, for all stations. Keepers only."""
        self._keeper_only(by)
        names = {name: getattr(access, policy) for name, policy in LIMITS.items()}
        with self._ledger.writing() as connection:
            appending.hold_writers(connection)
            if self.bound_by_server:
                call = text("SELECT mobicard_put_limits(:attempts, :pause_min, :idle_min)")
                connection.execute(call, names)
                return
            for name, value in names.items():
                connection.execute(update(info).where(info.c.name == name).values(value=str(value)))
            appending.append(connection, [NewEntry(OFFICE, "limits", at, by, names)])

    def _keeper_only(self, by: str) -> None:
        here = self.person
        if here is None or here.role != "keeper" or here.initials != by or here.token not in self._tokens:
            raise NotAllowed("Only a signed-in keeper may change the staff list. Nothing was changed.")

    def _update(self, connection: Connection, initials: str, changes: Mapping[str, Any]) -> None:
        if changes:
            connection.execute(update(person).where(person.c.initials == initials).values(**changes))

    def _put(self, connection: Connection, initials: str, row: Mapping[str, Any]) -> None:
        """By the server's own function, which notes the change in the same transaction, by its own clock."""
        call = text("SELECT mobicard_put_person(:initials, :role, :active, :salt, :cost, :verifier)")
        secret = {name: row.get(name) for name in ("salt", "cost", "verifier")}
        said = {"initials": initials, "role": row["role"], "active": row["active"], **secret}
        connection.execute(call, said)

    def _note(
        self, connection: Connection, initials: str, row: dict[str, Any], by: str, at: datetime
    ) -> None:
        body = {
            "initials": initials,
            "role": row["role"],
            "active": row["active"],
            "pin_set": "verifier" in row,
        }
        if "verifier" in row:
            body["secret"] = digest_of("\n".join((row["salt"], row["cost"], row["verifier"])))
        appending.append(connection, [NewEntry(OFFICE, "person", at, by, body)])

    # -- signing in ------------------------------------------------------------------------------

    def sign_in(self, initials: str, pin: str, at: datetime) -> Person:
        """Who this is, if initials and PIN go together; the entry of it is in the audit either way.

        Raises SignInRefused, with the same sentence whichever of the two was wrong.
        """
        who = initials.strip().upper()[:12]
        salt, cost = self._salt(who)
        proof = proof_of(pin, salt, cost)
        step = self._sign_in_on_server if self._ledger.on_server else self._sign_in_here
        outcome, role, token = step(who, proof, at)
        if outcome == "paused":
            raise SignInRefused(
                "Too many tries with these initials. Wait some minutes, or ask the ledger's keeper."
            )
        if outcome != "in" or role is None or token is None:
            raise SignInRefused(_WRONG)
        self.sign_out()
        self.person = Person(who, role, token=token)
        self._tokens = {token}
        self._secret_then, self._told = self._secret_of(who), monotonic()
        return self.person

    def sign_out(self) -> None:
        """Nobody is at this station any more; on a server the session ends there too."""
        if self.person and self._ledger.on_server:
            with self._ledger.writing() as connection:
                connection.execute(text("SELECT mobicard_sign_out(:token)"), {"token": self.person.token})
        self.person = None
        self._tokens = set()

    def _salt(self, who: str) -> tuple[str, str]:
        query: Executable = select(person.c.salt, person.c.cost).where(person.c.initials == who)
        if self._ledger.on_server:
            query = text("SELECT salt, cost FROM mobicard_salt(:who)").bindparams(who=who)
        with self._ledger.looking() as connection:
            row = connection.execute(query).one_or_none()
        return (row.salt, row.cost) if row else (digest_of(who)[:32], COST)

    def _sign_in_on_server(self, who: str, proof: str, at: datetime) -> tuple[str, str | None, str | None]:
        """In two transactions: the try is committed before its answer is given; nobody takes it back."""
        call = text("SELECT outcome, attempt FROM mobicard_try(:who, :proof, :at)")
        with self._ledger.writing() as connection:
            tried = connection.execute(call, {"who": who, "proof": proof, "at": time_text(at)}).one()
        if tried.outcome == "paused":
            return "paused", None, None
        ask = text("SELECT outcome, role, token FROM mobicard_answer(:attempt)")
        with self._ledger.writing() as connection:
            row = connection.execute(ask, {"attempt": tried.attempt}).one()
        return row.outcome, row.role, row.token

    def _sign_in_here(self, who: str, proof: str, at: datetime) -> tuple[str, str | None, str | None]:
        with self._ledger.writing() as connection:
            row = connection.execute(select(person).where(person.c.initials == who)).one_or_none()
            limits = {
                one.name: int(one.value) for one in connection.execute(select(info)) if one.value.isdigit()
            }
            if row is None:
                return _stranger(connection, who, at, limits), None, None
            paused = row.tries >= limits["attempts"]
            if paused and _within(at, row.tried_at, limits["pause_min"]):
                return "paused", None, None
            right = row.active and secrets.compare_digest(row.verifier, digest_of(proof))
            tries = 0 if right else (1 if paused else row.tries + 1)
            connection.execute(
                update(person)
                .where(person.c.initials == who)
                .values(tries=tries, tried_at=None if right else time_text(at))
            )
            kind = "sign_in" if right else "sign_in_refused"
            appending.append(connection, [NewEntry(OFFICE, kind, at, who)])
        return ("in", row.role, secrets.token_hex(32)) if right else ("wrong", None, None)

    # -- each entry by whoever is signed in ------------------------------------------------------

    def check(self, entries: Sequence[NewEntry], who: Person | None) -> None:
        """Refuse entries by another than the signed-in person, or of a kind the role does not include.

        Without a staff list everything is allowed. Raises NotAllowed.
        """
        if not self.any():
            return
        who = who or self.person
        if who is None or who.token not in self._tokens:
            raise NotAllowed("Sign in first. Nothing was saved.")
        self._still_on_list(who)
        for new in entries:
            if new.by != who.initials:
                raise NotAllowed(
                    f"You are signed in as {who.initials}; an entry cannot be by {new.by}. Nothing was saved."
                )
            if not who.may(new.kind):
                raise NotAllowed(
                    f"A {who.role} may not save this ({new.kind.replace('_', ' ')}). Nothing was saved."
                )

    def must_keep(self) -> None:
        """Refuse what only a keeper does, where there is a staff list, whichever command asks.

        Raises NotAllowed unless a keeper is signed in.
        """
        here = self.person
        if self.any() and (here is None or here.token not in self._tokens or here.role != "keeper"):
            raise NotAllowed("Only the ledger's keeper may do this; sign in as keeper. Nothing was done.")

    def must_be_in(self, connection: Connection) -> None:
        """On a server whose rows are for signed-in people only: raise NotAllowed unless one is."""
        if self.bound_by_server and connection.scalar(text("SELECT mobicard_role()")) is None:
            raise NotAllowed(_ENDED)

    def sign_of_life(self) -> None:
        """Tell a server that whoever is signed in is still there; it ends what is left idle.

        Raises NotAllowed when it has ended, LedgerError when it does not answer. Elsewhere the screen locks.
        """
        if not (self.bound_by_server and self.person) or monotonic() - self._told < TELL_S:
            return
        with self._ledger.writing() as connection:
            if not connection.scalar(text("SELECT mobicard_still_here()")):
                raise NotAllowed(_ENDED)
        self._told = monotonic()

    def _secret_of(self, who: str) -> str | None:
        """What the PIN was made into, where this login may read it: a new one ends what the old one began."""
        if self.bound_by_server:
            return None
        with self._ledger.looking() as connection:
            return connection.scalar(select(person.c.verifier).where(person.c.initials == who))

    def _still_on_list(self, who: Person) -> None:
        query = select(person.c.role, person.c.active).where(person.c.initials == who.initials)
        if not self.bound_by_server:  # which shows no secrets, and ends such a sign-in itself
            query = query.add_columns(person.c.verifier)
        with self._ledger.looking() as connection:
            row = connection.execute(query).one_or_none()
        if row is None or not row.active or row.role != who.role:
            raise NotAllowed("Your place on the staff list has changed; sign in again. Nothing was saved.")
        if who is self.person and self._secret_then not in (None, row[-1]):
            raise NotAllowed("You have a new PIN since; sign in again with it. Nothing was saved.")

    def begin_with_session(self, engine: Engine) -> None:
        """On a server whose row rights bind this login: tell it, in each transaction, who is signed in."""
        if not self._ledger.on_server:
            return
        with engine.connect() as connection:
            self.bound_by_server = bool(connection.scalar(text("SELECT row_security_active('entry')")))
        if self.bound_by_server:
            event.listen(engine, "begin", self._say_who)

    def _say_who(self, connection: Connection) -> None:
        token = self.person.token if self.person else ""
        connection.exec_driver_sql("SELECT set_config('mobicard.token', %s, true)", (token,))


def _stranger(connection: Connection, who: str, at: datetime, limits: Mapping[str, int]) -> str:
    """Initials that nobody has are counted and noted like those that somebody has."""
    named = who if who.isalnum() else "?"
    pause = timedelta(minutes=limits["pause_min"])
    before = select(func.count()).where(
        entry.c.stay == OFFICE,
        entry.c.kind == "sign_in_refused",
        entry.c.by == named,
        entry.c.at.between(time_text(at - pause), time_text(at + pause)),
    )
    if (connection.scalar(before) or 0) >= limits["attempts"]:
        return "paused"
    appending.append(connection, [NewEntry(OFFICE, "sign_in_refused", at, named)])
    return "wrong"


def _initials(said: str) -> str:
    initials = said.strip().upper()
    if not 1 <= len(initials) <= 12 or not initials.isalnum():
        raise LedgerRefused("Initials are 1 to 12 letters or figures.")
    return initials


def _check_pin(pin: str, access: AccessPolicy) -> None:
    least = access.pin_digits_min
    if not (pin.isascii() and pin.isdigit() and least <= len(pin) <= 12):
        raise LedgerRefused(f"A PIN is {least} to 12 figures.")
    if len(set(pin)) == 1 or pin in "01234567890" or pin in "09876543210":
        raise LedgerRefused("This PIN is too easy to guess: not one figure repeated, nor figures in a row.")


def _secret(pin: str) -> dict[str, str]:
    salt = secrets.token_hex(16)
    return {"salt": salt, "cost": COST, "verifier": digest_of(proof_of(pin, salt, COST))}


def _within(at: datetime, tried_at: str | None, minutes: int) -> bool:
    """Within the pause, on either side: a clock set back does not lengthen it without end."""
    if tried_at is None:
        return False
    return abs(at - datetime.fromisoformat(tried_at)) <= timedelta(minutes=minutes)
