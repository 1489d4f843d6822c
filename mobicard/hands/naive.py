"""The round on the hour, for comparison: every move at the full hour, whoever is free or not."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from mobicard.hands.schedule import Move, Placed, peak_together


def on_the_hour(moves: Iterable[Move]) -> tuple[Placed, ...]:
    """Each move at the last full hour of its window, or at its earliest where it holds none; nobody named."""
    return tuple(Placed(move, _hour(move), ()) for move in moves)


def naive_peak(moves: Iterable[Move]) -> int:
    """The most moves of two helpers or more that a round on the hour starts or runs at once."""
    return peak_together(on_the_hour(moves))


def _hour(move: Move) -> datetime:
    last = move.latest - timedelta(minutes=move.minutes)
    hour = last.replace(minute=0, second=0, microsecond=0)
    return hour if hour >= move.earliest else move.earliest
