"""The ward: what a nurse, a clerk and a reader can do, each loaded on use. Both front ends call only this."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from mobicard.ward.recording import Recording

if TYPE_CHECKING:
    from mobicard.derive.over_time.handoff_values import Handoff
    from mobicard.ward.brief_desk import BriefDesk
    from mobicard.ward.clerk.doors import Doors
    from mobicard.ward.hands_desk import HandsDesk
    from mobicard.ward.stays import Stays


class Ward(Recording):
    """One station's view of the unit: beds and recording, and beside them the stays, the doors, the hands."""

    @property
    def stays(self) -> Stays:
        """What can happen to a stay besides being assessed."""
        from mobicard.ward.stays import Stays

        return Stays(self)

    @property
    def doors(self) -> Doors:
        """Which doors no longer match, which card goes where."""
        from mobicard.ward.clerk.doors import Doors

        return Doors(self)

    @property
    def hands(self) -> HandsDesk:
        """Who helps whom, when, with which lift."""
        from mobicard.ward.hands_desk import HandsDesk

        return HandsDesk(self)

    @property
    def briefs(self) -> BriefDesk:
        """How one move is done now, and how it went."""
        from mobicard.ward.brief_desk import BriefDesk

        return BriefDesk(self)

    def handoff(self, assignment: str | None = None, since: datetime | None = None) -> Handoff:
        """What the oncoming staff read, changes first; for the unit or one assignment, since any time."""
        from mobicard.ward.reader.reading import handoff_of

        return handoff_of(self, assignment, since)
