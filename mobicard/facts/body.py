"""What is weak, numb, sore or carried: one-sided weakness, blocks of the legs, skin, pregnancy."""

from __future__ import annotations

from typing import Annotated, Final, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from mobicard.facts.text import Count
from mobicard.facts.words import Word


class OneSided(Word):
    """Which side of the patient is weak, or goes unattended; asked and none is an answer."""

    NONE = "none"
    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"

    @property
    def sides(self) -> tuple[str, ...]:
        """The sides named: none, one, or left and right."""
        return {"none": (), "both": ("left", "right")}.get(self.value, (self.value,))


class BlockScale(Word):
    """The scale a block of the legs was graded by: they count in opposite directions, so none is assumed."""

    MODIFIED_BROMAGE = "modified_bromage"
    BROMAGE = "bromage"
    BREEN = "breen"


FREE: Final = {
    BlockScale.MODIFIED_BROMAGE: (0, 3, 0),
    BlockScale.BROMAGE: (1, 4, 1),
    BlockScale.BREEN: (1, 6, 5),
}
"""Each scale's least and greatest number, and the one from which the leg is free.

Modified Bromage: 0 moves freely, 3 not at all (RCH Melbourne). Bromage I to IV likewise, Breen the other way,
1 a complete block: both from memory.
"""


class Block(BaseModel):
    """A block graded by a named scale; a bare number is refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    scale: BlockScale
    number: Annotated[Count, Field(ge=0, le=6)]

    @model_validator(mode="after")
    def _on_its_scale(self) -> Self:
        least, greatest, _ = FREE[self.scale]
        if not least <= self.number <= greatest:
            says = self.scale.value.replace("_", " ")
            raise ValueError(f"{self.number} is not on the {says} scale, {least} to {greatest}")
        return self

    @property
    def blocked(self) -> bool:
        """Whether the leg is anything but free."""
        free = FREE[self.scale][2]
        return self.number < free if self.scale is BlockScale.BREEN else self.number > free


class LegTest(BaseModel):
    """One leg as tested: whether it was raised straight, heel off the bed, and how far it is blocked."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    straight_leg_raise: bool | None = None
    block: Block | None = None

    @property
    def fails(self) -> bool:
        """Whether the leg may not be stood on, by either test."""
        return self.straight_leg_raise is False or (self.block is not None and self.block.blocked)

    @property
    def passes(self) -> bool:
        """Whether somebody tested the leg and no test speaks against it."""
        return not self.fails and (self.straight_leg_raise is True or self.block is not None)


class SkinRisk(Word):
    """Risk of a pressure injury, as the unit's own scale ended."""

    LOW = "low"
    AT_RISK = "at_risk"
    HIGH = "high"


class SoreSite(Word):
    """Where the skin is broken or must not be lain on (not an order of help)."""

    BACK_OF_HEAD = "back_of_head"
    SHOULDER_BLADES = "shoulder_blades"
    SACRUM = "sacrum"
    SEAT = "seat"
    LEFT_HIP = "left_hip"
    RIGHT_HIP = "right_hip"
    LEFT_HEEL = "left_heel"
    RIGHT_HEEL = "right_heel"
