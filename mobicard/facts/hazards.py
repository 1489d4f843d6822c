"""What began once and goes on until an entry ends it, however old it is."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from mobicard.facts.text import Count, Name, Note, WallTime
from mobicard.facts.words import Limb, Precaution

_ORDERS = "^(" + "|".join((*(item.value for item in Precaution), *(limb.value for limb in Limb))) + ")$"


class Hazard(BaseModel):
    """Something with a beginning (ward time); age never ends it."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)

    at: WallTime


class PressureDrop(Hazard):
    """A fall of pressure on standing (mmHg), until a reading taken standing shows that pressure holds."""

    sbp: Annotated[Count, Field(ge=0, le=300)] | None = None
    dbp: Annotated[Count, Field(ge=0, le=300)] | None = None

    @property
    def says(self) -> str:
        """The fall with its age, as a card says it."""
        seen = f"{self.at:%d %b %H:%M}"
        if self.sbp is None or self.dbp is None:
            return f"Dizzy on standing on {seen}: measure again."
        return f"Pressure fell by {self.sbp}/{self.dbp} on standing on {seen}: measure again."


class Operation(Hazard):
    """An operation or procedure, until somebody has looked at the patient after it."""

    what: Note | None = None
    by: Name | None = None

    @property
    def says(self) -> str:
        """What was done and when, as a card says it."""
        return f"{self.what or 'operation'} on {self.at:%d %b %H:%M}: nobody has looked since"


class ReadingsCleared(Hazard):
    """A named person lets the patient get up on the readings taken until ``at``; a new reading asks again."""

    by: Name


class Order(Hazard):
    """A precaution or a limb's order that stands since ``at``; at ``until`` a look is due, it holds on.

    ``still_at`` is when somebody last said *still so*. ``what`` is its name in the record: a precaution like
    ``bed_rest``, or a limb like ``left_leg``.
    """

    what: Annotated[str, Field(pattern=_ORDERS)]
    by: Name | None = None
    until: WallTime | None = None
    still_at: WallTime | None = None

    @property
    def asked_at(self) -> datetime:
        """When somebody last said that it stands."""
        return max(self.at, self.still_at or self.at)

    @property
    def says(self) -> str:
        """The order with its age and its end."""
        return f"{self.what.replace('_', ' ')} {self.since_says}"

    @property
    def since_says(self) -> str:
        """Its age and its end alone."""
        until = f", until {self.until:%d %b %H:%M}, then look" if self.until else ""
        return f"since {self.at:%d %b %H:%M}{until}"


class OrderEnded(Hazard):
    """That an order or precaution is over, and who says so."""

    what: Annotated[str, Field(pattern=_ORDERS)]
    by: Name
