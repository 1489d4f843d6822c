"""Policy: every number a facility may set, its default in policy.toml beside that default's source."""

from __future__ import annotations

import tomllib
from datetime import time
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Self

from pydantic import BaseModel, ConfigDict, Field

from mobicard.rules.policy_hands import HandsPolicy


class Section(BaseModel):
    """A frozen group of policy values that refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class ShiftPolicy(Section):
    """When shifts start, how long after it an assessment still holds, how early one counts for the next."""

    starts: tuple[time, ...]
    grace_min: Annotated[int, Field(ge=0, le=240)]
    lead_min: Annotated[int, Field(ge=0, le=240)]
    validity_shifts: Annotated[int, Field(ge=1, le=6)]
    timezone: str | None = None


class DoorPolicy(Section):
    """What a card that can be read from the corridor may say."""

    show_label: bool
    show_fall_risk: bool


class AccessPolicy(Section):
    """Sign-in: attempts before a pause, the pause, and minutes idle before the screen locks."""

    attempts: Annotated[int, Field(ge=1, le=20)]
    pause_min: Annotated[int, Field(ge=1, le=1440)]
    idle_lock_min: Annotated[float, Field(gt=0, le=240)]
    pin_digits_min: Annotated[int, Field(ge=4, le=12)]


class RetentionPolicy(Section):
    """How long a discharged stay is kept before an export allows it to be removed."""

    days_after_discharge: Annotated[int, Field(ge=1, le=36500)]


class Policy(Section):
    """The facility's numbers; ``Policy()`` is the default of policy.toml."""

    shift: ShiftPolicy
    door: DoorPolicy
    access: AccessPolicy
    retention: RetentionPolicy
    hands: HandsPolicy

    def __init__(self, **sections: Any) -> None:
        super().__init__(**_over(_defaults(), sections))

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """A policy from TOML text that names only what differs from the default.

        Raises pydantic.ValidationError or tomllib.TOMLDecodeError.
        """
        return cls(**tomllib.loads(text))


@cache
def _defaults() -> dict[str, Any]:
    return tomllib.loads(files("mobicard.rules").joinpath("policy.toml").read_text(encoding="utf-8"))


def _over(base: dict[str, Any], top: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in top.items():
        both = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _over(base[key], value) if both else value
    return merged
