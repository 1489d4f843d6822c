"""Head observations: since when, the last one noted, who stopped them. They do not end with the fall."""

from __future__ import annotations

from datetime import datetime
from typing import Self

from pydantic import model_validator

from mobicard.facts.hazards import Hazard
from mobicard.facts.text import Name, WallTime
from mobicard.facts.words import HeadSeen


class HeadWatch(Hazard):
    """Observations of a head that was, or may have been, struck; running until stopped by name.

    ``clock_from`` is the observation since which the coma scale has been 15 without a break: the timetable's
    zero. Missing, nothing is known to be well. Source: NICE NG232, head injury.
    """

    seen: HeadSeen | None = None
    noted_at: WallTime | None = None
    noted_by: Name | None = None
    clock_from: WallTime | None = None
    stopped_by: Name | None = None
    stopped_at: WallTime | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.stopped_by is None) != (self.stopped_at is None):
            raise ValueError("stopping head observations needs both who (stopped_by) and when (stopped_at)")
        if (self.seen is None) != (self.noted_at is None):
            raise ValueError("a head observation needs both what was seen (seen) and when (noted_at)")
        for name in ("noted_at", "clock_from", "stopped_at"):
            moment = getattr(self, name)
            if moment is not None and moment < self.at:
                raise ValueError(f"{name} is before the observations began ({self.at:%Y-%m-%d %H:%M})")
        return self

    @property
    def running(self) -> bool:
        """Whether nobody has stopped them."""
        return self.stopped_at is None

    @property
    def newest(self) -> datetime:
        """The last time anything was said of it."""
        return max(moment for moment in (self.at, self.noted_at, self.stopped_at) if moment is not None)

    def noted(self, seen: HeadSeen, at: datetime, by: str) -> HeadWatch:
        """With one more observation. Below 15, or worse than before, ends the timetable; 15 starts it."""
        well = seen is HeadSeen.FIFTEEN
        since = (self.clock_from if self.seen is HeadSeen.FIFTEEN else None) or at
        facts = {"seen": seen, "noted_at": at, "noted_by": by, "clock_from": since if well else None}
        return HeadWatch.model_validate({**self.model_dump(), **facts})
