"""Demand against supply by half-hour, drawn so that grey toner loses nothing, and told in words too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from markupsafe import Markup

from mobicard.hands.schedule import DayPlan, Placed
from mobicard.hands.shortfalls import HALF_HOUR

WIDE, HIGH, LEFT, FOOT, TOP = 190.0, 40.0, 8.0, 5.0, 2.0
"""The drawing's own units, millimetres when printed at full width."""


@dataclass(frozen=True, slots=True)
class HalfHour:
    """People at work and people on duty at its tightest moment, and people short on top of that."""

    at: datetime
    busy: int
    short: int
    there: int

    @property
    def says(self) -> str:
        lack = f", {self.short} short" if self.short else ""
        return f"{self.at:%H:%M} {self.busy} of {self.there}{lack}"


def half_hours(plan: DayPlan) -> tuple[HalfHour, ...]:
    """Demand and supply of every half-hour of the shift; late moves count where they could be done."""
    lacking = {item.at: item.people for item in plan.short}
    slots = len(plan.staff_at)
    step = (plan.end - plan.start) / slots if slots else HALF_HOUR
    moments = [(plan.start + n * step, there) for n, there in enumerate(plan.staff_at)]
    out, at, every = [], plan.start, plan.by_time()
    while at < plan.end:
        inside = [(moment, there) for moment, there in moments if at <= moment < at + HALF_HOUR]
        busy, there = _tightest([(_busy(every, moment, step), there) for moment, there in inside])
        out.append(HalfHour(at, busy, lacking.get(at, 0), there))
        at += HALF_HOUR
    return tuple(out)


def _tightest(moments: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """The moment with the fewest people to spare; the busiest of equals."""
    return max(moments, key=lambda moment: (moment[0] - moment[1], moment[0]), default=(0, 0))


def _busy(placed: Sequence[Placed], start: datetime, length: timedelta) -> int:
    """People at work at any time between ``start`` and ``length`` later."""
    return sum(len(item.people) for item in placed if item.start < start + length and item.end > start)


def chart(plan: DayPlan) -> Markup:
    """The chart as SVG: grey bars at work, hatched on top people short, a heavy line people on duty."""
    halves = half_hours(plan)
    top = max([4, *(half.busy + half.short for half in halves), *(half.there for half in halves)])
    parts = [_rules(top)]
    parts += [_bar(halves, n, top) for n in range(len(halves))]
    parts += [_line(halves, top), _hours(halves)]
    return Markup('<svg class="demand" viewBox="0 0 {} {}" role="img"><title>{}</title>{}</svg>').format(
        f"{WIDE:g}", f"{HIGH:g}", in_words(halves), Markup("").join(parts)
    )


def in_words(halves: Sequence[HalfHour]) -> str:
    """The chart for a reader that does not see it: every half-hour in which anybody is needed."""
    told = "; ".join(half.says for half in halves if half.busy or half.short)
    return (
        f"People at work at the tightest moment of each half-hour, of those on duty: {told or 'none needed'}."
    )


def _x(n: float, count: int) -> float:
    return LEFT + (WIDE - LEFT) * n / count


def _y(people: float, top: int) -> float:
    return HIGH - FOOT - (HIGH - FOOT - TOP) * people / top


def _rules(top: int) -> Markup:
    """A thin rule and its number for every second person, or every fifth of many."""
    step = 2 if top <= 12 else 5
    out = Markup("")
    for people in range(0, top + 1, step):
        y = _y(people, top)
        out += Markup(
            '<path d="M{} {}H{}" stroke="#000" stroke-width="0.1"/>'
            '<text x="{}" y="{}" font-size="2.8" text-anchor="end">{}</text>'
        ).format(f"{LEFT:g}", f"{y:.2f}", f"{WIDE:g}", f"{LEFT - 1:g}", f"{y + 1:.2f}", people)
    return out


def _bar(halves: Sequence[HalfHour], n: int, top: int) -> Markup:
    half, count = halves[n], len(halves)
    left, right = _x(n, count) + 0.5, _x(n + 1, count) - 0.5
    out = Markup("")
    if half.busy:
        out += _box(left, right, _y(half.busy, top), _y(0, top), "#b8b8b8")
    if half.short:
        high, low = _y(half.busy + half.short, top), _y(half.busy, top)
        out += _box(left, right, high, low, "#fff") + _hatch(left, right, high, low)
    return out


def _box(left: float, right: float, high: float, low: float, fill: str) -> Markup:
    return Markup('<path d="M{} {}H{}V{}H{}Z" fill="{}" stroke="#000" stroke-width="0.25"/>').format(
        f"{left:.2f}", f"{high:.2f}", f"{right:.2f}", f"{low:.2f}", f"{left:.2f}", fill
    )


def _hatch(left: float, right: float, high: float, low: float) -> Markup:
    """Slanting strokes inside a box, each cut off at its edges."""
    strokes, start = [], left - (low - high)
    while start < right:
        x1, x2 = max(start, left), min(start + (low - high), right)
        if x1 < x2:
            strokes.append(f"M{x1:.2f} {low - (x1 - start):.2f}L{x2:.2f} {low - (x2 - start):.2f}")
        start += 1.1
    return Markup('<path d="{}" stroke="#000" stroke-width="0.35"/>').format("".join(strokes))


def _line(halves: Sequence[HalfHour], top: int) -> Markup:
    """People on duty, as one heavy line in steps."""
    count = len(halves)
    if not count:
        return Markup("")
    path = f"M{_x(0, count):.2f} {_y(halves[0].there, top):.2f}"
    path += "".join(f"V{_y(half.there, top):.2f}H{_x(n + 1, count):.2f}" for n, half in enumerate(halves))
    return Markup('<path d="{}" fill="none" stroke="#000" stroke-width="0.8"/>').format(path)


def _hours(halves: Sequence[HalfHour]) -> Markup:
    out = Markup("")
    for n, half in enumerate(halves):
        if half.at.minute == 0:
            out += Markup('<text x="{}" y="{}" font-size="2.8">{}</text>').format(
                f"{_x(n, len(halves)):.2f}", f"{HIGH - 1:.2f}", f"{half.at:%H}"
            )
    return out


def until(plan: DayPlan) -> str:
    """Until when the page holds, in words."""
    when = f"{plan.holds_until:%H:%M}"
    day = "" if plan.holds_until - plan.made_at < timedelta(hours=20) else f"{plan.holds_until:%d %b} "
    return f"Holds until {day}{when}, or until a level changes or somebody leaves: then plan again"
