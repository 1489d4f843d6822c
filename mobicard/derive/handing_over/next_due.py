"""What is due next at one bed: when, what, with how many people and which gear; without an hour last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from mobicard.derive.model import Plan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Task


@dataclass(frozen=True, slots=True)
class NextDue:
    """One thing due. ``at`` is ward time, None without an hour; ``people`` None where it takes no move."""

    what: str
    at: datetime | None
    late: bool
    people: int | None = None
    equipment: tuple[Equipment, ...] = ()


def next_due(plan: Plan, record: Record, now: datetime, turned_at: datetime | None = None) -> list[NextDue]:
    """Everything due at the bed by the clock, then what has no hour."""
    found = [*_observed(plan, record, now), *_moved(plan, record, now, turned_at), *_wanted(plan, record)]
    return sorted(found, key=lambda one: (one.at is None, one.at or now))


def turn_due(every_h: float, turned_at: datetime | None) -> datetime | None:
    """When the next turn is due; None where no turn has been noted."""
    return None if turned_at is None else turned_at + timedelta(hours=every_h)


def turn_says(every_h: float, turned_at: datetime | None) -> str:
    """``every 2 h, last turn 03:10``."""
    return f"every {every_h:g} h, last turn{': not noted' if turned_at is None else f' {turned_at:%H:%M}'}"


def _observed(plan: Plan, record: Record, now: datetime) -> Iterator[NextDue]:
    if plan.head_observations is not None:
        head = plan.head_observations
        missed = f", {head.gap}, next {head.times[1]:%H:%M}" if head.missed else ""
        yield NextDue(f"head observation{missed}", head.due, head.late)
    for order in record.orders:
        if order.until is not None:
            yield NextDue(
                f"{order.what.replace('_', ' ')} ordered to here: still so?", order.until, order.until <= now
            )


def _moved(plan: Plan, record: Record, now: datetime, turned_at: datetime | None) -> Iterator[NextDue]:
    for visit in record.appointments:
        if visit.at > now:
            what = MOVES[visit.task].says_short + (f", {visit.note}" if visit.note else "")
            yield _move(plan, visit.task, what, visit.at, now)
    if record.turn_every_h:
        at = turn_due(record.turn_every_h, turned_at)
        yield _move(plan, Task.TURN, f"turn {turn_says(record.turn_every_h, turned_at)}", at, now)


def _wanted(plan: Plan, record: Record) -> Iterator[NextDue]:
    if record.toilet_every_h:
        yield _move(plan, Task.TOILET, f"toilet every {record.toilet_every_h:g} h", None, plan.valid_until)


def _move(plan: Plan, task: Task, what: str, at: datetime | None, now: datetime | None) -> NextDue:
    move = plan.tasks[task]
    late = at is not None and now is not None and at <= now
    return NextDue(what, at, late, None if plan.expired else move.helpers, move.equipment)
