"""The [hands] section of the policy: times of the day, minutes of each move, and which move waits last."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import time
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from mobicard.facts.words import Equipment, Level, Task

Minutes = Annotated[int, Field(ge=0, le=240)]
SomeMinutes = Annotated[int, Field(ge=1, le=240)]


class HandsPolicy(BaseModel):
    """When moves of a shift may be, how long each takes, and what gives way first. Minutes throughout.

    ``minutes[task][level]`` is time at the bedside; ``waits_last[task]`` is larger for a move that should be
    the last to wait.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)

    grid_min: Annotated[int, Field(ge=1, le=30)]
    handoff_min: Minutes
    meals: tuple[time, ...]
    meal_min: SomeMinutes
    up_before_meal_min: SomeMinutes
    back_after_meal_min: Minutes
    back_by_meal_min: SomeMinutes
    sit_most_min: SomeMinutes
    quiet: tuple[time, time]
    turn_early_min: SomeMinutes
    toilet_early_min: SomeMinutes
    unknown_round_by_min: SomeMinutes
    rest_min: Minutes
    appointment_early_min: SomeMinutes
    near_rooms: Annotated[int, Field(ge=0, le=100)]
    walk_near_min: Minutes
    walk_far_min: Minutes
    lift_fetch_min: Minutes
    fall_people: Annotated[int, Field(ge=1, le=12)]
    fall_min: SomeMinutes
    lead_roles: tuple[str, ...]
    at_bed: tuple[Equipment, ...]
    minutes: Mapping[Task, Mapping[Level, SomeMinutes]]
    waits_last: Mapping[Task, Annotated[int, Field(ge=1, le=100)]]
    manual_spread: Annotated[int, Field(ge=1, le=1000)]
    time_limit_s: Annotated[float, Field(gt=0, le=600)]

    @model_validator(mode="after")
    def _whole(self) -> Self:
        """Every task that can be asked for has its minutes and its place in the waiting order."""
        if self.back_by_meal_min <= self.back_after_meal_min:
            raise ValueError("hands.back_by_meal_min must be later than hands.back_after_meal_min")
        if self.sit_most_min < self.back_after_meal_min + self.grid_min:
            raise ValueError("hands.sit_most_min is too short for a meal; see hands.back_after_meal_min")
        for task in Task:
            if task not in self.minutes or task not in self.waits_last:
                raise ValueError(f"hands.minutes and hands.waits_last need a line for {task.value}")
            known = {*self.minutes[task], Level.REMAIN}
            lacking = [level.value for level in Level if level not in known]
            if lacking:
                raise ValueError(f"hands.minutes.{task.value} lacks {', '.join(lacking)}")
        return self

    def minutes_of(self, task: Task, level: Level) -> int:
        """Minutes at the bedside of one move of this task at this level; REMAIN takes the longest."""
        table = self.minutes[task]
        return table[level] if level in table else max(table.values())
