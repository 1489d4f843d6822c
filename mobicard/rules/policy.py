"""Policy: every number a facility may set, its default in policy.toml beside that default's source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import time
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from mobicard.facts.moves import OUT_OF_BED
from mobicard.facts.toml_text import read_toml
from mobicard.facts.words import Task
from mobicard.rules.policy_hands import HandsPolicy


def _each_move(shares: Mapping[Task, float]) -> Mapping[Task, float]:
    lacking = [task.value for task in OUT_OF_BED if task not in shares]
    beside = [task.value for task in shares if task not in OUT_OF_BED]
    if lacking or beside:
        raise ValueError(
            f"body_share needs a line for {', '.join(lacking)}"
            if lacking
            else f"body_share is for moves out of bed, not for {', '.join(beside)}"
        )
    return shares


Share = Annotated[float, Field(gt=0, le=1)]
Shares = Annotated[Mapping[Task, Share], AfterValidator(_each_move)]


def _in_order(limits: tuple[int, int]) -> tuple[int, int]:
    if limits[0] >= limits[1]:
        raise ValueError(f"the lower limit {limits[0]} is not below the upper {limits[1]}")
    return limits


Range = Annotated[tuple[int, int], AfterValidator(_in_order)]


Minutes = Annotated[int, Field(ge=5, le=480)]


class Section(BaseModel):
    """A frozen group of policy values that refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)


class ShiftPolicy(Section):
    """When shifts start, how long after it an assessment still holds, how early one counts for the next."""

    starts: Annotated[tuple[time, ...], Field(min_length=1, max_length=12)]
    grace_min: Annotated[int, Field(ge=0, le=240)]
    lead_min: Annotated[int, Field(ge=0, le=240)]
    validity_shifts: Annotated[int, Field(ge=1, le=6)]
    timezone: str | None = None


class DoorPolicy(Section):
    """What a card that can be read from the corridor may say, on which paper, and what its QR opens.

    ``stock``: a4, letter, or locale for the one common where this machine says it stands. ``address``
    stands before the code in the QR, so that a scanner opens the facility's own page.
    """

    show_label: bool
    show_fall_risk: bool
    strip: Annotated[int, Field(ge=0, le=4)]
    stock: Literal["locale", "a4", "letter"]
    address: Annotated[
        str, StringConstraints(max_length=60, pattern=r"^(https?://[A-Za-z0-9.:~_-]+(/[A-Za-z0-9.~_-]+)*/)?$")
    ]


class AccessPolicy(Section):
    """Sign-in: attempts before a pause, the pause, and minutes idle before the screen locks."""

    attempts: Annotated[int, Field(ge=1, le=20)]
    pause_min: Annotated[int, Field(ge=1, le=1440)]
    idle_lock_min: Annotated[float, Field(gt=0, le=240)]
    pin_digits_min: Annotated[int, Field(ge=4, le=12)]


class RetentionPolicy(Section):
    """How long a discharged stay is kept before an export allows it to be removed."""

    days_after_discharge: Annotated[int, Field(ge=1, le=36500)]


class LoweringPolicy(Section):
    """What each worse condition leaves of the load limit, 0 to 1; several multiply."""

    unpredictable: Share
    lines: Share

    def factor(self, condition: str) -> float:
        """The share the limit keeps under this condition."""
        return float(getattr(self, condition))


class LoadsPolicy(Section):
    """The most one helper may bear, and what lowers it."""

    helper_limit_lb: Annotated[float, Field(gt=0, le=51)]
    lowering: LoweringPolicy


class WeightBearingPolicy(Section):
    """What a touch-only leg may bear where the order gives no figure."""

    touch_kg: Annotated[float, Field(ge=0, le=20)]


Sign = Literal["spo2", "resp_rate", "hr", "low_pressure", "high_pressure"]


class VitalsPolicy(Section):
    """Pressure drop on standing, how long readings count, and limits to start a move within.

    ``bars`` names the signs outside whose limits nobody gets up until a named person clears it.
    """

    drop_sbp: Annotated[int, Field(ge=10, le=40)]
    drop_dbp: Annotated[int, Field(ge=5, le=30)]
    lying_high_sbp: Annotated[int, Field(ge=130, le=220)]
    lying_high_drop_sbp: Annotated[int, Field(ge=20, le=60)]
    stale_after_h: Annotated[float, Field(gt=0, le=168)]
    check_start_limits: bool
    bars: tuple[Sign, ...]
    spo2_above: Annotated[int, Field(ge=70, le=100)]
    spo2_target_from: Annotated[int, Field(ge=80, le=92)]
    resp_rate: Range
    hr: Range
    sbp: Range
    map_mmhg: Range


class HeadWatchPolicy(Section):
    """The timetable of head observations: how often, and for how long each, minutes; the last without end."""

    every_min: tuple[Minutes, Minutes, Minutes]
    lasts_min: tuple[Minutes, Minutes]
    early_min: Annotated[int, Field(ge=0, le=15)]


class FallRiskPolicy(Section):
    """A facility's own cut-points per instrument (band name -> least score), and its own instruments."""

    bands: dict[str, dict[str, int]] = Field(default_factory=dict)
    instruments: dict[str, dict[str, Any]] = Field(default_factory=dict)


class HandlingPolicy(Section):
    """How people and equipment move a patient: counts, and the weights (lb) where a table changes row."""

    manual_lifting: Literal["within_limit", "none"]
    manual_max_helpers: Annotated[int, Field(ge=1, le=8)]
    standing_max_helpers: Annotated[int, Field(ge=1, le=8)]
    lift_helpers: Annotated[int, Field(ge=1, le=6)]
    lift_helpers_heavy: Annotated[int, Field(ge=1, le=8)]
    heavy_lb: Annotated[float, Field(gt=0)]
    heavy_bmi: Annotated[float, Field(gt=0)]
    sternal: Literal["figure", "close"]
    turn_bmi: Annotated[float, Field(gt=0)]
    turn_bmi_any: Annotated[float, Field(gt=0)]
    turn_at_risk_h: Annotated[float, Field(gt=0, le=24)]
    turn_high_risk_h: Annotated[float, Field(gt=0, le=24)]
    adult_kg: Annotated[float, Field(ge=0)]
    lighter_row_lb: Annotated[float, Field(gt=0)]
    heavier_row_lb: Annotated[float, Field(gt=0)]
    lateral_step_lb: Annotated[float, Field(gt=0)]
    lateral_most: Annotated[int, Field(ge=3, le=12)]
    toilet_lb: Annotated[float, Field(gt=0)]
    many_lines: Annotated[int, Field(ge=1, le=20)]
    log_roll_spinal: Annotated[int, Field(ge=1, le=8)]
    log_roll_cervical: Annotated[int, Field(ge=1, le=8)]
    log_roll_cleared: Annotated[int, Field(ge=1, le=8)]
    floor_by_hand: Annotated[int, Field(ge=2, le=8)]
    floor_flat: Annotated[int, Field(ge=2, le=8)]


class HandoffPolicy(Section):
    """How long a planned move nobody has reported on stays in the handoff, hours."""

    planned_past_h: Annotated[float, Field(ge=0, le=72)]


class LabelPolicy(Section):
    """Whom a reader of the label is to tell when a plan looks wrong; empty where nobody is named."""

    tell: Annotated[str, StringConstraints(max_length=120, pattern=r"^[^\x00-\x1f\x7f]*$")]


class Policy(Section):
    """The facility's numbers; ``Policy()`` is the default of policy.toml."""

    shift: ShiftPolicy
    door: DoorPolicy
    access: AccessPolicy
    retention: RetentionPolicy
    handling: HandlingPolicy
    body_share: Shares
    """The share of the body a move out of bed really lifts, 0 to 1."""
    handoff: HandoffPolicy
    loads: LoadsPolicy
    weight_bearing: WeightBearingPolicy
    vitals: VitalsPolicy
    head_watch: HeadWatchPolicy
    fall_risk: FallRiskPolicy = Field(default_factory=FallRiskPolicy)
    hands: HandsPolicy
    label: LabelPolicy

    def __init__(self, **sections: Any) -> None:
        super().__init__(**_over(_defaults(), sections))

    @classmethod
    def from_toml(cls, text: str) -> Self:
        """A policy from TOML text that names only what differs from the default.

        Raises pydantic.ValidationError or tomllib.TOMLDecodeError.
        """
        return cls(**read_toml(text))


@cache
def _defaults() -> dict[str, Any]:
    return tomllib.loads(files("mobicard.rules").joinpath("policy.toml").read_text(encoding="utf-8"))


def _over(base: dict[str, Any], top: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, value in top.items():
        both = isinstance(value, dict) and isinstance(base.get(key), dict)
        merged[key] = _over(base[key], value) if both else value
    return merged
