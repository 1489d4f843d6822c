"""The ward: what a nurse, a clerk and a reader can do. Terminal and cli call only this."""

from __future__ import annotations

from datetime import datetime

from mobicard.derive.over_time.handoff_values import Handoff
from mobicard.ward.brief_desk import BriefDesk
from mobicard.ward.clerk.doors import Doors
from mobicard.ward.hands_desk import HandsDesk
from mobicard.ward.reader.reading import handoff_of
from mobicard.ward.recording import Recording
from mobicard.ward.stays import Stays


class Ward(Recording):
    """One station's view of the unit: beds and recording, and beside them the stays, the doors, the hands."""

    @property
    def stays(self) -> Stays:
        """What can happen to a stay besides being assessed."""
        return Stays(self)

    @property
    def doors(self) -> Doors:
        """Which doors no longer match, which card goes where."""
        return Doors(self)

    @property
    def hands(self) -> HandsDesk:
        """Who helps whom, when, with which lift."""
        return HandsDesk(self)

    @property
    def briefs(self) -> BriefDesk:
        """How one move is done now, and how it went."""
        return BriefDesk(self)

    def handoff(self, assignment: str | None = None, since: datetime | None = None) -> Handoff:
        """What the oncoming staff read, changes first; for the unit or one assignment, since any time."""
        return handoff_of(self, assignment, since)
