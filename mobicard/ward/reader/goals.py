"""How far the day's goals of a bed have come, as ticked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from mobicard.facts import Record
from mobicard.hands.ticks import GoalProgress, Tick, progress


def goals_done(
    record: Record, bodies: Iterable[Mapping[str, Any]], start: datetime
) -> tuple[GoalProgress, ...]:
    """How far each of the record's goals has come since the shift's start, as ticked."""
    return progress(record, [Tick.from_body(body) for body in bodies if "move" in body], start)
