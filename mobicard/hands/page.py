"""The day plan on one page: demand against supply as a chart, what falls short, every move by time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mobicard.hands.chart import chart, until
from mobicard.hands.schedule import DayPlan, Placed, Waiting, on_the_hour, peak_together
from mobicard.hands.supply import NOBODY, OUTSIDE
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text
from mobicard.paper.clinical_words import short_when
from mobicard.paper.sheet_sizes import paper_size

LETTERS = ((3, 3.0), (3, 2.7), (4, 2.5))
"""Columns of the list and height of its letters in mm, the most readable first."""
HEAD_MM, NOTE_MM, LINE, COLUMN_GAP = 96.0, 4.3, 1.32, 4.0
"""Room for heading and chart; height of a note's line; line height in letters; mm between columns."""
NO_MEAL = "wanted, but no meal"
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
    rows = [_row(item) for item in plan.by_time()]
    over, there = _over(plan), any(plan.staff_at) or not plan.staff_at
    no_time, short = (_no_time(plan), plan.short) if there else ("", ())
    notes = [*_problems(plan, over), *_over_says(plan, over), *grouped(plan.not_asked)]
    lines = [*(item.says for item in short), *notes, no_time]
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
        quality=quality_says(plan),
        chart=chart(plan),
        short=short,
        no_time=no_time,
        notes=notes,
        alone=_alone(plan),
        rows=rows,
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
    """How many moves there is still time for, how many of them wait."""
    over = _over(plan)
    waiting = [item for item in plan.waiting if item not in over]
    waits, every = len(waiting), len(plan.moves) - len(over)
    if not waits:
        return f"{every} moves, every one in its time"
    late = sum(item.instead is not None for item in waiting)
    rest = f"{late} can be done late, {waits - late} not in this shift"
    if late in (0, waits):
        rest = "all can be done late" if late else "none of them can be done in this shift"
    return f"{every} moves, {waits} of them wait: {rest}"


def quality_says(plan: DayPlan) -> str:
    """In a ward's words whether another plan would leave fewer moves waiting; nothing where none waits."""
    if all(item in _over(plan) for item in plan.waiting):
        return ""
    least = plan.quality.waiting_bound
    if least is not None and plan.quality.waiting <= least:
        return "With these people and lifts no plan leaves fewer waiting"
    return "Another plan may leave fewer waiting"


def _over(plan: DayPlan) -> list[Waiting]:
    """Moves whose time was over when the plan was made, and that nobody can plan any more."""
    return [item for item in plan.waiting if item.move.latest <= plan.made_at and item.instead is None]


def _over_says(plan: DayPlan, over: Sequence[Waiting]) -> list[str]:
    """Those in one line: what was due and is not noted as done, without hours that help nobody now."""
    moves: dict[str, dict[str, int]] = {}
    for item in over:
        times = moves.setdefault(item.move.says, {})
        times[item.move.bed] = times.get(item.move.bed, 0) + 1
    told = [
        f"{what}: {', '.join(bed if times == 1 else f'{bed} ({times} times)' for bed, times in beds.items())}"
        for what, beds in moves.items()
    ]
    since = f"Due in this shift before {plan.made_at:%H:%M} and not noted as done, ask the nurses before"
    return [f"{since}. {'; '.join(in_words.sentence(one) for one in told)}"] if told else []


def _problems(plan: DayPlan, over: Sequence[Waiting]) -> list[str]:
    """What is wrong, besides what the list itself calls LATE; nobody on duty first, others in one line."""
    late = [item for item in plan.waiting if item in over or item.instead is not None]
    told = {f"{item.move.bed} {item.move.says}: {item.says}" for item in late}
    lines = [line for line in plan.problems if line not in told]
    others = [line.split(":")[0] for line in lines if line.endswith(OUTSIDE)]
    rest = [line for line in lines if not line.endswith(OUTSIDE)]
    rest.sort(key=lambda line: not line.startswith(NOBODY))
    rest = [line for line in rest if NO_MEAL not in line] + grouped([one for one in rest if NO_MEAL in one])
    return [*rest, f"On the staff list for other hours: {', '.join(others)}"] if others else rest


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


def _no_time(plan: DayPlan) -> str:
    """The moves that cannot be done in this shift even late; a way back is said with its way up."""
    over = _over(plan)
    lost = [item.move for item in plan.waiting if item.instead is None and item not in over]
    ups = {move.id for move in lost}
    told = [move for move in lost if move.with_move not in ups]
    return ", ".join(f"bed {move.bed} {move.says} {move.earliest:%H:%M}-{move.latest:%H:%M}" for move in told)


def _row(item: Placed) -> Row:
    move = item.move
    return Row(
        time=f"{item.start:%H:%M}",
        bed=f"bed {move.bed}",
        says=move.says,
        people="+".join(item.people),
        units=", ".join(item.units),
        late=item.late_min > 0,
        assess=move.reassess_by is not None and item.end > move.reassess_by,
        fixed=item.fixed,
    )


def _alone(plan: DayPlan) -> str:
    """Beds whose wanted moves need nobody, each once."""
    beds = dict.fromkeys(line.split(":", 1)[0] for line in plan.on_their_own)
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
