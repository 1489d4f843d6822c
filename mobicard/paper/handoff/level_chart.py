"""The level over the stay as a small step chart: black on white, readable in grey, told in words as well."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from markupsafe import Markup

from mobicard.facts.words import Level
from mobicard.paper.clinical_words import short_when
from mobicard.scheme.scheme import Scheme

WIDE, HIGH, EDGE = 120.0, 30.0, 4.0
"""The drawing's own units; more help is higher up."""

Step = tuple[datetime, Level]


def steps_of(history: Sequence[Step]) -> tuple[Step, ...]:
    """The history in time order with only the entries at which the level changed."""
    steps: list[Step] = []
    for at, level in sorted(history, key=lambda step: step[0]):
        if not steps or steps[-1][1] is not level:
            steps.append((at, level))
    return tuple(steps)


def step_chart(history: Sequence[Step], now: datetime, scheme: Scheme) -> Markup:
    """One line from the first level to ``now``, a dot where it stands; empty text without a history."""
    steps = steps_of(history)
    if not steps:
        return Markup("")
    start, end = steps[0][0], max(now, steps[-1][0])
    points = [(_x(at, start, end), _y(level)) for at, level in steps]
    path = f"M{points[0][0]:.1f} {points[0][1]:.1f}" + "".join(f"H{x:.1f}V{y:.1f}" for x, y in points[1:])
    last = points[-1][1]
    grid = "".join(f"M{EDGE} {_y(level):.1f}H{WIDE - EDGE}" for level in Level)
    return Markup(
        '<svg class="steps-chart" viewBox="0 0 {} {}" role="img"><title>{}</title>'
        '<path d="{}" stroke="#000" stroke-width="0.3" fill="none" stroke-dasharray="0.8 4"/>'
        '<path d="{}H{}" stroke="#000" stroke-width="1.8" fill="none"/>'
        '<circle cx="{}" cy="{}" r="3.2" fill="#000"/></svg>'
    ).format(
        f"{WIDE:g}",
        f"{HIGH:g}",
        in_words(steps, scheme),
        grid,
        path,
        f"{WIDE - EDGE:g}",
        f"{WIDE - EDGE:g}",
        f"{last:.1f}",
    )


def in_words(steps: Sequence[Step], scheme: Scheme) -> str:
    """The chart for a reader that does not see it: each level and since when."""
    told = ", ".join(f"{scheme.looks[level].word} from {short_when(at)}" for at, level in steps)
    return f"Level over the stay: {told}."


def _x(at: datetime, start: datetime, end: datetime) -> float:
    span = (end - start).total_seconds()
    share = (at - start).total_seconds() / span if span else 0.0
    return EDGE + share * (WIDE - 2 * EDGE)


def _y(level: Level) -> float:
    return HIGH - EDGE - level.rank / (len(Level) - 1) * (HIGH - 2 * EDGE)
