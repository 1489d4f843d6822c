"""The level over the stay as a small step chart with scale and dates, and what became of it in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from mobicard.facts.words import Level
from mobicard.paper import in_words as words
from mobicard.paper.clinical_words import short_when
from mobicard.scheme.scheme import Scheme

WIDE, HIGH = 32.0, 8.6
"""The drawing in mm, printed one to one, so that its letters are as large as the page's."""

LETTER, TOP, FOOT = 3.0, 1.4, 4.4
"""Letter size; where the highest and the lowest level of the stay lie."""

LEFT = 14.0
"""Room for the scale's words."""

Step = tuple[datetime, Level]


@dataclass(frozen=True, slots=True)
class StepChart:
    """The drawing in mm: the stay's line, the levels' grid, where it ends, its words, and what it says.

    A word is its text, the place of its baseline, and whether it ends there.
    """

    grid: str
    path: str
    now: tuple[float, float]
    words: tuple[tuple[str, float, float, bool], ...]
    says: str

    def svg(self) -> Markup:
        """The drawing as a part of a page."""
        words = Markup("").join(
            Markup('<text x="{:g}" y="{:g}"{}>{}</text>').format(
                left, low, Markup(' text-anchor="end"') if ends else "", text
            )
            for text, left, low, ends in self.words
        )
        return Markup(
            '<svg class="steps-chart" viewBox="0 0 {:g} {:g}" role="img"><title>{}</title>'
            '<path d="{}" stroke="currentColor" stroke-width="0.12" fill="none" stroke-dasharray="0.3 0.7"/>'
            '<path d="{}" stroke="currentColor" stroke-width="0.6" fill="none"/>'
            '<circle cx="{:g}" cy="{:.1f}" r="0.9" fill="currentColor"/>'
            '<g font-size="{:g}" font-family="Atkinson Hyperlegible, DejaVu Sans, sans-serif" '
            'fill="currentColor" aria-hidden="true">{}</g></svg>'
        ).format(WIDE, HIGH, self.says, self.grid, self.path, *self.now, LETTER, words)


def steps_of(history: Sequence[Step]) -> tuple[Step, ...]:
    """The history in time order with only the entries at which the level changed."""
    steps: list[Step] = []
    for at, level in sorted(history, key=lambda step: step[0]):
        if not steps or steps[-1][1] is not level:
            steps.append((at, level))
    return tuple(steps)


def trend(history: Sequence[Step]) -> tuple[str, str]:
    """``LESS``, ``since Tue 24``: against the level before; ``same`` since the stay's first look."""
    steps = steps_of(history)
    if not steps:
        return "no course yet", ""
    if len(steps) == 1:
        return "same", f"since {words.box_day(steps[0][0])}"
    (_, before), (since, level) = steps[-2:]
    return "LESS" if level.rank < before.rank else "MORE", f"since {words.box_day(since)}"


def step_chart(history: Sequence[Step], now: datetime, scheme: Scheme) -> StepChart | None:
    """One line from the first level to ``now``, more help higher; none where the level never changed."""
    steps = steps_of(history)
    if len(steps) < 2:
        return None
    start, end = steps[0][0], max(now, steps[-1][0])
    ranks = [level.rank for _, level in steps]
    low, high = min(ranks), max(ranks)
    points = [(_x(at, start, end), _y(level.rank, low, high)) for at, level in steps]
    path = f"M{points[0][0]:.1f} {points[0][1]:.1f}" + "".join(f"H{x:.1f}V{y:.1f}" for x, y in points[1:])
    top, foot = (scheme.looks[_of_rank(rank)].word for rank in (high, low))
    return StepChart(
        grid="".join(f"M{LEFT} {_y(rank, low, high):.1f}H{WIDE}" for rank in range(low, high + 1)),
        path=f"{path}H{WIDE - 1:g}",
        now=(WIDE - 1, points[-1][1]),
        words=(
            (top, 0.0, TOP + 1, False),
            (foot, 0.0, FOOT + 1, False),
            (words.box_day(start), 0.0, HIGH - 0.4, False),
            ("now", WIDE, HIGH - 0.4, True),
        ),
        says=in_words(steps, scheme),
    )


def in_words(steps: Sequence[Step], scheme: Scheme) -> str:
    """The chart for a reader that does not see it: each level and since when."""
    told = ", ".join(f"{scheme.looks[level].word} from {short_when(at)}" for at, level in steps)
    return f"Level over the stay: {told}."


def _of_rank(rank: int) -> Level:
    return next(level for level in Level if level.rank == rank)


def _x(at: datetime, start: datetime, end: datetime) -> float:
    span = (end - start).total_seconds()
    share = (at - start).total_seconds() / span if span else 0.0
    return LEFT + share * (WIDE - 1 - LEFT)


def _y(rank: int, low: int, high: int) -> float:
    return FOOT - (rank - low) / (high - low) * (FOOT - TOP)
