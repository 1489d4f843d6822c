"""The day plan as lines of plain letters, one line a person or a bed, for the terminal and for plain text."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from mobicard.facts.moves import MOVES, ROWS
from mobicard.hands.schedule import BACK, DayPlan, Move, Placed
from mobicard.hands.supply import Span, Supply
from mobicard.hands.ticks import HowFar, Tick

TICKED = {HowFar.REACHED: "+", HowFar.PARTLY: "~", HowFar.NOT: "x"}
_LETTERS = [f"{row.letter} {row.legend}" for row in ROWS]
LEGEND = (
    "  ".join(_LETTERS[:8]),
    "  ".join([*_LETTERS[8:], "B back  + done  ~ partly  x not  ! late  . free  blank off"]),
)
"""Two lines of a screen of 80."""


@dataclass(frozen=True, slots=True)
class Lane:
    """One line: whose it is, its letters, and the moves it shows in order of time."""

    name: str
    letters: str
    moves: tuple[Placed, ...]


def width_for(columns: int, plan: DayPlan) -> int:
    """Letters for the whole shift that fit: five, ten, fifteen, twenty or thirty minutes to a letter."""
    minutes = int((plan.end - plan.start).total_seconds() // 60)
    return next((minutes // step for step in (5, 10, 15, 20) if minutes // step <= columns), minutes // 30)


def by_person(plan: DayPlan, supply: Supply, ticks: Mapping[str, Tick], width: int) -> tuple[Lane, ...]:
    """A line for everybody on duty: moves, free time, time off."""
    return tuple(
        _lane(person.initials, plan, plan.of_person(person.initials), ticks, width, person.is_there)
        for person in supply.staff
    )


def by_bed(plan: DayPlan, ticks: Mapping[str, Tick], width: int) -> tuple[Lane, ...]:
    """A line for every bed somebody has to go to."""
    beds = sorted({move.bed for move in plan.moves})
    return tuple(_lane(bed, plan, plan.of_bed(bed), ticks, width, lambda _: True) for bed in beds)


def ruler(plan: DayPlan, width: int, now: datetime | None = None) -> str:
    """The hours above the lines; a mark stands at ``now``."""
    cells = [" "] * (width + 2)
    at = plan.start.replace(minute=0, second=0)
    while at < plan.end:
        place = _place(plan, at, width)
        if place >= 0:
            cells[place : place + 2] = f"{at:%H}"
        at += timedelta(hours=1)
    if now and plan.start <= now < plan.end:
        cells[_place(plan, now, width)] = "|"
    return "".join(cells[:width])


def letter(move: Move) -> str:
    """The move's letter on the line."""
    return "B" if move.part == BACK else MOVES[move.task].letter


def _lane(
    name: str,
    plan: DayPlan,
    moves: Sequence[Placed],
    ticks: Mapping[str, Tick],
    width: int,
    there: Callable[[Span], bool],
) -> Lane:
    cells = [_empty(plan, n, width, there) for n in range(width)]
    for item in moves:
        first, last = _place(plan, item.start, width), _place(plan, item.end - timedelta(minutes=1), width)
        tick = ticks.get(item.move.id)
        sign = TICKED[tick.outcome] if tick else letter(item.move)
        for n in range(max(first, 0), min(last, width - 1) + 1):
            cells[n] = sign
        if item.late_min and not tick and 0 <= first < width:
            cells[first] = "!"
    return Lane(name, "".join(cells), tuple(moves))


def _empty(plan: DayPlan, n: int, width: int, there: Callable[[Span], bool]) -> str:
    step = (plan.end - plan.start) / width
    span = Span(plan.start + n * step, plan.start + (n + 1) * step)
    return "." if there(span) else " "


def _place(plan: DayPlan, at: datetime, width: int) -> int:
    return int((at - plan.start) / (plan.end - plan.start) * width)


def line_says(item: Placed, tick: Tick | None) -> tuple[str, str, str, str, str]:
    """One move as columns: time, bed, what, who and with which lift, what became of it."""
    with_units = f" ({', '.join(item.units)})" if item.units else ""
    late = f"{item.late_min} min late" if item.late_min else ""
    state = "" if tick is None else {"reached": "done", "partly": "partly", "not": "not done"}[tick.outcome]
    if tick and tick.why:
        state += f": {tick.why}"
    return (
        f"{item.start:%H:%M}",
        item.move.bed,
        item.move.says,
        "+".join(item.people) + with_units,
        state or late,
    )
