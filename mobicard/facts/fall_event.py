"""What is known of a fall; what is not known is the worse answer."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, model_validator

from mobicard.facts.text import Name, WallTime
from mobicard.facts.words import Found, Injury, LiftAs, YesNoUnknown


def _yes_or_no(value: object) -> object:
    return {True: YesNoUnknown.YES, False: YesNoUnknown.NO}[value] if isinstance(value, bool) else value


Answer = Annotated[YesNoUnknown, BeforeValidator(_yes_or_no)]
"""yes, no or unknown; true and false are taken for yes and no."""


class FallEvent(BaseModel):
    """One fall. ``cleared_by`` names who examined the patient and allowed the move; ``up_at`` ends it.

    ``head``, ``spine`` (neck and back) and ``bones`` (hips and long bones) are what they found, ``lift_as``
    how they let the patient be brought up. Source: NPSA 2011; NICE QS86, statements 4 and 5.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    at: WallTime
    witnessed: bool | None = None
    head_strike: Answer | None = None
    neck_pain: Answer | None = None
    anticoagulated: Answer | None = None
    injury: Injury | None = None
    cleared_by: Name | None = None
    cleared_at: WallTime | None = None
    head: Found | None = None
    spine: Found | None = None
    bones: Found | None = None
    lift_as: LiftAs | None = None
    up_at: WallTime | None = None

    @model_validator(mode="after")
    def _cleared_whole(self) -> Self:
        if (self.cleared_by is None) != (self.cleared_at is None):
            raise ValueError(
                "clearing a patient after a fall needs both who (cleared_by) and when (cleared_at)"
            )
        if self.cleared_by is None and any((self.head, self.spine, self.bones, self.lift_as)):
            raise ValueError(
                "what was found after a fall (head, spine, bones, lift_as) needs who examined (cleared_by) "
                "and when (cleared_at)"
            )
        for name, moment in (("cleared_at", self.cleared_at), ("up_at", self.up_at)):
            if moment is not None and moment < self.at:
                raise ValueError(
                    f"{name} ({moment:%Y-%m-%d %H:%M}) is before the fall ({self.at:%Y-%m-%d %H:%M}); "
                    "check the times"
                )
        return self
