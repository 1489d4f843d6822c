"""The day plan on one page: demand against supply as a chart, what falls short, every move by time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mobicard.hands.chart import chart, until
from mobicard.hands.schedule import DayPlan, Placed, on_the_hour, peak_together
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text
from mobicard.paper.clinical_words import short_when
from mobicard.paper.sheet_sizes import paper_size

LETTERS = ((3, 3.0), (3, 2.7), (4, 2.5))
"""Columns of the list and height of its letters in mm, the most readable first."""
HEAD_MM, NOTE_MM, LINE, COLUMN_GAP = 96.0, 4.3, 1.32, 4.0
"""Room for heading and chart; height of a note's line; line height in letters; mm between columns."""
OFTEN = 0.5
"""Mean width of a letter as a share of its height, for telling how many lines a move takes."""


@dataclass(frozen=True, slots=True)
class Row:
    """One move on the list."""

    time: str
    bed: str
    says: str
    people: str
    units: str
    late: bool
    assess: bool
    fixed: bool

    @property
    def letters(self) -> int:
        """About how many letters the row takes."""
        marks = 5 * self.late + 2 * self.assess
        return (
            9
            + marks
            + sum(len(text) + 1 for text in (self.time, self.bed, self.says, self.people, self.units))
        )


def hands_html(plan: DayPlan, *, unit: str = "", paper: str = "a4") -> str:
    """The day plan as one self-contained page, upright. ``paper``: a4 or letter. Raises SheetRefused."""
    width, height = paper_size(paper, "a day plan")
    prefix = _common([move.bed for move in plan.moves])
    rows = [_row(item, prefix) for item in plan.by_time()]
    no_time = _no_time(plan, prefix)
    notes = [*plan.problems, *grouped(plan.not_asked)]
    lines = [*(item.says for item in plan.short), *notes, no_time]
    columns, size = _letters(rows, width - 20, height - 26 - HEAD_MM - _height(lines))
    title = f"Hands for the shift{f': {unit}' if unit else ''}"
    return templates.render(
        "hands.html",
        title=f"{title}, {short_when(plan.start)}",
        heading=title,
        shift=f"{short_when(plan.start)} to {plan.end:%H:%M}",
        made=short_when(plan.made_at),
        holds=until(plan),
        counts=counts(plan),
        peak=peak_says(plan),
        quality=plan.quality.says,
        chart=chart(plan),
        short=plan.short,
        no_time=no_time,
        notes=notes,
        alone=_alone(plan, prefix),
        rows=rows,
        prefix=prefix,
        any_assess=any(row.assess for row in rows),
        any_late=any(row.late for row in rows),
        columns=columns,
        size_mm=size,
        line=LINE,
        gap_mm=COLUMN_GAP,
        **_edges(title, plan, width, height),
    )


def _edges(title: str, plan: DayPlan, width: float, height: float) -> dict[str, str]:
    """The page's size, and what stands in its margins."""
    return {
        "page_width": f"{width:g}",
        "page_height": f"{height:g}",
        "head": css_text(f"{title}, {short_when(plan.start)}"),
        "holds_css": css_text(f"Until {plan.holds_until:%H:%M}"),
        "support": css_text(in_words.SUPPORT),
    }


def counts(plan: DayPlan) -> str:
    """How many moves, how many wait."""
    waits, every = len(plan.waiting), len(plan.moves)
    if not waits:
        return f"{every} moves, every one in its time"
    late = sum(item.instead is not None for item in plan.waiting)
    rest = f"{late} can be done late, {waits - late} not in this shift"
    if late in (0, waits):
        rest = "all can be done late" if late else "none of them can be done in this shift"
    return f"{every} moves, {waits} of them wait: {rest}"


def peak_says(plan: DayPlan) -> str:
    """The plan's peak beside that of a round on the hour."""
    return (
        f"At most {plan.quality.peak} moves of two people or more at once; "
        f"a round on the hour would have {peak_together(on_the_hour(plan.moves))}"
    )


def grouped(lines: Sequence[str]) -> list[str]:
    """Lines of the form "bed: what" with the same what on one line, its beds in front."""
    beds: dict[str, list[str]] = {}
    for line in lines:
        bed, _, what = line.partition(": ")
        beds.setdefault(what, []).append(bed)
    return [f"{', '.join(own)}: {what}" for what, own in beds.items()]


def _no_time(plan: DayPlan, prefix: str) -> str:
    """The moves that cannot be done in this shift even late; a way back is said with its way up."""
    lost = [item.move for item in plan.waiting if item.instead is None]
    ups = {move.id for move in lost}
    told = [move for move in lost if move.with_move not in ups]
    return ", ".join(
        f"{move.bed.removeprefix(prefix)} {move.says} {move.earliest:%H:%M}-{move.latest:%H:%M}"
        for move in told
    )


def _row(item: Placed, prefix: str) -> Row:
    move = item.move
    return Row(
        time=f"{item.start:%H:%M}",
        bed=move.bed.removeprefix(prefix),
        says=move.says,
        people="+".join(item.people),
        units=", ".join(item.units),
        late=item.late_min > 0,
        assess=move.reassess_by is not None and item.end > move.reassess_by,
        fixed=item.fixed,
    )


def _common(beds: list[str]) -> str:
    """The unit all beds share ("4W-"), said once at the head; empty where they differ."""
    units = {bed[: bed.rfind("-") + 1] for bed in beds}
    return units.pop() if len(units) == 1 else ""


def _alone(plan: DayPlan, prefix: str) -> str:
    """Beds whose wanted moves need nobody, each once."""
    beds = dict.fromkeys(line.split(":", 1)[0].removeprefix(prefix) for line in plan.on_their_own)
    return ", ".join(beds)


def _height(lines: Sequence[str]) -> float:
    """About how many mm the notes take, their headings included."""
    return sum(NOTE_MM * -(-len(line) // 115) for line in lines if line) + 8 * any(lines)


def _letters(rows: list[Row], width: float, room: float) -> tuple[int, float]:
    """The most readable setting that keeps the list on one page; on two, letters need not be small."""
    for columns, size in LETTERS:
        column = (width - COLUMN_GAP * (columns - 1)) / columns
        per_line = column / (OFTEN * size)
        lines = sum(-(-row.letters // int(per_line)) for row in rows)
        if lines * size * LINE / columns <= room:
            return columns, size
    return LETTERS[1]
