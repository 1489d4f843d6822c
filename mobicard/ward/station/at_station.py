"""Who is at this station, over which ledger, by which clock and policy: what every use case stands on."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from mobicard.ledger import Ledger, LedgerError, LedgerFull, LedgerReadOnly, NewEntry, Person
from mobicard.ledger.entry import MACHINE_AT, OFFICE, time_text
from mobicard.ward.station.clock import Clock
from mobicard.ward.station.settings import Settings
from mobicard.ward.views import WardRefused

FAR = timedelta(minutes=1)
"""A time that was told and lies further than this from the machine's is kept with the machine's own."""


class AtStation:
    """The ledger, the facility's files, the clock, and whose initials go with what is entered here."""

    def __init__(
        self,
        ledger: Ledger,
        settings: Settings,
        clock: Clock | None = None,
        *,
        by: str | None = None,
        demo: bool = False,
    ) -> None:
        self.ledger = ledger
        self.settings = settings
        self.policy = settings.policy
        self.clock = clock or Clock.for_zone(self.policy.shift.timezone)
        self.person: Person | None = None
        self.demo = demo
        self._by = by

    # -- who ---------------------------------------------------------------------------------------

    @property
    def by(self) -> str:
        """Initials that go with every entry. Raises WardRefused when nobody said who they are."""
        if self.person:
            return self.person.initials
        if self._by:
            return self._by
        raise WardRefused("say who you are first: your initials go with every entry")

    @property
    def knows_who(self) -> bool:
        return bool(self.person or self._by)

    def call_me(self, initials: str) -> None:
        """Take initials without a PIN; only where the ledger has no staff list. Raises WardRefused."""
        if self.needs_sign_in:
            raise WardRefused("this ledger has a staff list: sign in with your initials and PIN")
        initials = initials.strip().upper()
        if not 1 <= len(initials) <= 12 or not initials.isalnum():  # a bed's name typed ahead is nobody
            raise WardRefused("initials are 1 to 12 letters or figures, nothing else")
        self._by = initials

    @property
    def needs_sign_in(self) -> bool:
        """Whether the ledger has a staff list and nobody is signed in."""
        return not self.demo and self.person is None and self.ledger.has_people()

    def sign_in(self, initials: str, pin: str) -> Person:
        """Sign in; raises ledger.SignInRefused with the reason."""
        self.person = self.ledger.sign_in(initials, pin, self.clock.utc())
        return self.person

    def still_here(self) -> None:
        """A sign of life of whoever is signed in, lest a server end the sign-in. Raises LedgerError."""
        self.ledger.staff.sign_of_life()

    def sign_out(self) -> None:
        """Nobody is at this station any more; a server is told as well, so that reading stops."""
        self.person = None
        self.ledger.sign_out()

    def may(self, kind: str) -> bool:
        """Whether the person at this station may make entries of this kind."""
        return self.person is None or self.person.may(kind)

    # -- entries -----------------------------------------------------------------------------------

    @property
    def now(self) -> datetime:
        """Ward time now."""
        return self.clock.now()

    def entry(self, stay: str, kind: str, body: dict[str, Any], expect: int | None = None) -> NewEntry:
        """An entry by whoever is at this station, now; with the machine's time where another was told."""
        at, machine = self.clock.utc(), self.clock.machine
        if machine is not None and abs((true := machine()) - at) > FAR:
            body = {**body, MACHINE_AT: time_text(true)}
        return NewEntry(stay=stay, kind=kind, at=at, by=self.by, body=body, expect=expect)

    def kept(self, what: str, name: str = "") -> None:
        """Note in the audit that a copy of everything leaves here, and by whom where anybody is known.

        A ledger without room for the note may still be copied: then most of all.
        """
        if self.knows_who:
            with suppress(LedgerFull, LedgerReadOnly):
                self.append(self.entry(OFFICE, "backup", {"what": what, "to": name}))

    def looked(self, at_what: str, name: str = "") -> None:
        """Note in the audit that somebody listed or checked more than one bed; never stops the looking."""
        if self.knows_who and not self.demo:
            with suppress(LedgerError):
                self.append(self.entry(OFFICE, "seen", {"what": at_what, "of": name}))

    def append(self, *entries: NewEntry) -> None:
        """Put entries into the ledger, all or none, as this person. Raises LedgerError."""
        self.ledger.append(*entries, person=self.person)
