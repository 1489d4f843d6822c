"""Vital signs that decide whether standing is safe now: mmHg, beats and breaths a minute, percent."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from mobicard.facts.text import Count, WallTime


class Pressure(BaseModel):
    """One blood pressure (mmHg) with the pulse (beats a minute)."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    sbp: Annotated[Count, Field(ge=30, le=300)]
    dbp: Annotated[Count, Field(ge=10, le=200)]
    hr: Annotated[Count, Field(ge=10, le=300)] | None = None

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.dbp >= self.sbp:
            raise ValueError(f"diastolic {self.dbp} is not below systolic {self.sbp}; check the two figures")
        return self


class Vitals(BaseModel):
    """Lying, then standing at 1 and 3 minutes; ``at`` is when, else the assessment's own time holds."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    at: WallTime | None = None
    lying: Pressure | None = None
    sitting: Pressure | None = None
    standing_1min: Pressure | None = None
    standing_3min: Pressure | None = None
    dizzy: bool | None = None
    target_88_92: bool | None = None
    """Whether the oxygen saturation ordered for this patient is 88 to 92 %."""
    spo2: Annotated[Count, Field(ge=40, le=100)] | None = None
    resp_rate: Annotated[Count, Field(ge=0, le=80)] | None = None
