"""What is known of a fall; what is not known is the worse answer."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, model_validator

from mobicard.facts.text import Name, WallTime
from mobicard.facts.words import Injury, YesNoUnknown


def _yes_or_no(value: object) -> object:
    return {True: YesNoUnknown.YES, False: YesNoUnknown.NO}[value] if isinstance(value, bool) else value


Answer = Annotated[YesNoUnknown, BeforeValidator(_yes_or_no)]
"""yes, no or unknown; true and false are taken for yes and no."""


class FallEvent(BaseModel):
    """One fall. ``cleared_by`` names who examined the patient and allowed the move; ``up_at`` ends it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at: WallTime
    witnessed: bool | None = None
    head_strike: Answer | None = None
    neck_pain: Answer | None = None
    anticoagulated: Answer | None = None
    injury: Injury | None = None
    cleared_by: Name | None = None
    cleared_at: WallTime | None = None
    up_at: WallTime | None = None

    @model_validator(mode="after")
    def _cleared_whole(self) -> Self:
        if (self.cleared_by is None) != (self.cleared_at is None):
            raise ValueError(
                "clearing a patient after a fall needs both who (cleared_by) and when (cleared_at)"
            )
        for name, moment in (("cleared_at", self.cleared_at), ("up_at", self.up_at)):
            if moment is not None and moment < self.at:
                raise ValueError(
                    f"{name} ({moment:%Y-%m-%d %H:%M}) is before the fall ({self.at:%Y-%m-%d %H:%M}); "
                    "check the times"
                )
        return self
