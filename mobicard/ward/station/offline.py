"""When the ledger does not answer: go on from what is known, hold what is saved, send it when it is back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from time import monotonic

from mobicard.derive import plan_for
from mobicard.facts import Record
from mobicard.ledger import LedgerError, LedgerUnreachable, NewEntry, NotAllowed
from mobicard.ledger.outbox import Held, Outbox
from mobicard.ward.station.at_station import AtStation
from mobicard.ward.views import BedView

SILENT_S = 60.0
"""Seconds without a sign of the ledger, which gives one every ten, after which the screen says so."""


class Offline:
    """This station's memory of the unit and its outbox."""

    def __init__(self, here: AtStation, outbox: Path | None = None) -> None:
        self._here = here
        self.outbox = Outbox(outbox)
        self.says: str | None = None
        self.refused: list[Held] = []
        self.of_others: list[Held] = []
        self._views: dict[str, BedView] = {}
        self._heard: datetime | None = None
        self._sign = monotonic()

    def heard_now(self) -> None:
        """The ledger gave a sign, whatever it said."""
        self._sign = monotonic()

    @property
    def silence_says(self) -> str:
        """That nothing has come from the ledger for its time, or nothing: a board that only looks alive."""
        silent = monotonic() - self._sign
        if silent < SILENT_S:
            return ""
        return (
            f"Nothing has been heard from the ledger for {int(silent // 60)} min: what stands here may be "
            "old. If it stays so, leave mobicard and open it again."
        )

    def remember(self, views: Sequence[BedView]) -> None:
        """Keep what the ledger said last, and send what was held meanwhile."""
        self._views = {view.stay: view for view in views}
        self._heard = self._here.now
        self.heard_now()
        self.says = None

    def known(self, gone: LedgerUnreachable) -> list[BedView]:
        """The unit as last seen, held saves included, plans as of now. Raises ``gone`` if nothing is."""
        if not self._views:
            raise gone
        self.says = (
            f"The ledger does not answer. This is what was last known, at {self._heard:%H:%M}; what you save "
            "is held on this station and sent when the ledger is back."
        )
        now = self._here.now
        for stay, view in self._views.items():
            plan = plan_for(view.record, self._here.policy, now, self._here.settings.inventory)
            self._views[stay] = replace(view, plan=plan)
        return list(self._views.values())

    def hold(self, entries: Sequence[NewEntry], stay: str, record: Record) -> BedView:
        """Keep a save on this station's disk. Raises LedgerError when the disk does not take it either."""
        self.outbox.hold(entries)
        view = self._views[stay]
        plan = plan_for(record, self._here.policy, self._here.now, self._here.settings.inventory)
        held = replace(
            view,
            record=record,
            plan=plan,
            recorded_at=self._here.now,
            recorded_by=self._here.by,
            due_says="held on this station",
            unseen_since=view.unseen_since if record.assessed_at == view.record.assessed_at else frozenset(),
            pending=True,
        )
        self._views[stay] = held
        return held

    def knows(self, stay: str) -> bool:
        """Whether this station has seen the stay."""
        return stay in self._views

    def send(self) -> int:
        """Send what was held. What the ledger refuses (somebody saved meanwhile) waits in ``refused``.

        What another person entered before signing off waits in ``of_others`` until that person is back.
        """
        try:
            if not self.outbox.held():
                self.refused, self.of_others = [], []
                return 0
            here = self._here
            saved, left = self.outbox.replay(here.ledger, here.person, here.clock.utc())
        except LedgerError as stays:
            self.says = stays.says
            return 0
        left = [one for one in left if any(entry.kind != "seen" for entry in one.entries)]
        self.of_others = [one for one in left if self._is_anothers(one)]
        self.refused = [one for one in left if not self._is_anothers(one)]
        return len(saved)

    def _is_anothers(self, held: Held) -> bool:
        here = self._here.person
        return isinstance(held.refused, NotAllowed) and (here is None or held.entries[0].by != here.initials)

    def settle(self, held: Held) -> None:
        """A person has dealt with a refused save (merged, or let go). Raises LedgerError if it stays."""
        self.outbox.drop([held.name])
        self.refused = [one for one in self.refused if one.name != held.name]
