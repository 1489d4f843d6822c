"""When the ledger does not answer: go on from what is known, hold what is saved, send it when it is back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from mobicard.derive import plan_for
from mobicard.facts import Record
from mobicard.ledger import LedgerError, LedgerUnreachable, NewEntry
from mobicard.ledger.outbox import Held, Outbox
from mobicard.ward.views import BedView

if TYPE_CHECKING:
    from mobicard.ward.ward import Ward


class Offline:
    """This station's memory of the unit and its outbox."""

    def __init__(self, ward: Ward, outbox: Path | None = None) -> None:
        self._ward = ward
        self.outbox = Outbox(outbox)
        self.says: str | None = None
        self.refused: list[Held] = []
        self._views: dict[str, BedView] = {}

    def remember(self, views: Sequence[BedView]) -> None:
        """Keep what the ledger said last, and send what was held meanwhile."""
        self._views = {view.stay: view for view in views}
        self.says = None

    def known(self, gone: LedgerUnreachable) -> list[BedView]:
        """The unit as last seen, held saves included, plans as of now. Raises ``gone`` if nothing is."""
        if not self._views:
            raise gone
        self.says = (
            f"{gone.says} Showing what was last known; what you save is held on this station and sent later."
        )
        now = self._ward.now
        for stay, view in self._views.items():
            plan = plan_for(view.record, self._ward.policy, now, self._ward.settings.inventory)
            self._views[stay] = replace(view, plan=plan)
        return list(self._views.values())

    def hold(self, entries: Sequence[NewEntry], stay: str, record: Record) -> BedView:
        """Keep a save on this station's disk. Raises LedgerError when the disk does not take it either."""
        self.outbox.hold(entries)
        view = self._views[stay]
        plan = plan_for(record, self._ward.policy, self._ward.now, self._ward.settings.inventory)
        held = replace(
            view,
            record=record,
            plan=plan,
            recorded_at=self._ward.now,
            recorded_by=self._ward.by,
            due_says="held on this station",
            pending=True,
        )
        self._views[stay] = held
        return held

    def knows(self, stay: str) -> bool:
        """Whether this station has seen the stay."""
        return stay in self._views

    def send(self) -> int:
        """Send what was held; what the ledger refuses (somebody saved meanwhile) waits in ``refused``."""
        try:
            waiting = self.outbox.held()
        except LedgerError as damaged:
            self.says = damaged.says
            return 0
        if not waiting:
            return 0
        saved, self.refused = self.outbox.replay(self._ward.ledger, self._ward.person)
        return len(saved)

    def settle(self, held: Held) -> None:
        """A person has dealt with a refused save (merged it, or let it go)."""
        self.outbox.drop([held.name])
        self.refused = [one for one in self.refused if one.name != held.name]
