"""The ward: what a nurse, a clerk and a reader can do. Terminal and cli call only this."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from mobicard.derive.over_time.handoff_values import Handoff
from mobicard.ledger import Ledger
from mobicard.ward.clerk.doors import Doors
from mobicard.ward.hands_desk import HandsDesk
from mobicard.ward.reader.reading import handoff_of
from mobicard.ward.recording import Recording
from mobicard.ward.station.clock import Clock
from mobicard.ward.station.settings import Settings
from mobicard.ward.stays import Stays


class Ward(Recording):
    """One station's view of the unit: beds and recording, and beside them the stays, the doors, the hands."""

    def __init__(
        self,
        ledger: Ledger,
        settings: Settings,
        clock: Clock | None = None,
        *,
        by: str | None = None,
        demo: bool = False,
        drafts: Path | None = None,
    ) -> None:
        super().__init__(ledger, settings, clock, by=by, demo=demo, drafts=drafts)
        self.stays = Stays(self)
        self.doors = Doors(self)

    @property
    def hands(self) -> HandsDesk:
        """Who helps whom, when, with which lift."""
        return HandsDesk(self)

    def handoff(self, assignment: str | None = None, since: datetime | None = None) -> Handoff:
        """What the oncoming staff read, changes first; for the unit or one assignment, since any time."""
        return handoff_of(self, assignment, since)
