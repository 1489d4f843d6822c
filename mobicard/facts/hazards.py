"""What began once and goes on until an entry ends it, however old it is."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from mobicard.facts.text import Count, Name, Note, WallTime


class Hazard(BaseModel):
    """Something with a beginning (ward time); age never ends it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

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
