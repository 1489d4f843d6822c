"""What is known of a fall; what is not known is the worse answer."""

from __future__ import annotations

from datetime import datetime
from typing import Self

from pydantic import BaseModel, ConfigDict, model_validator

from mobicard.facts.text import Name
from mobicard.facts.words import Injury, YesNoUnknown


class FallEvent(BaseModel):
    """One fall. ``cleared_by`` names who examined the patient and allowed the move; ``up_at`` ends it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: datetime
    witnessed: bool | None = None
    head_strike: YesNoUnknown | None = None
    neck_pain: YesNoUnknown | None = None
    anticoagulated: YesNoUnknown | bool | None = None
    injury: Injury | None = None
    cleared_by: Name | None = None
    cleared_at: datetime | None = None
    up_at: datetime | None = None

    @model_validator(mode="after")
    def _cleared_whole(self) -> Self:
        if (self.cleared_by is None) != (self.cleared_at is None):
            raise ValueError("clearing a patient after a fall needs both who (cleared_by) and when (cleared_at)")
        return self
