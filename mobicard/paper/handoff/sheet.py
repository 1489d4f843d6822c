"""The handoff as cells and where each lies: one measure for how many pages it takes and for what is drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from mobicard.paper.handoff.bed_rows import BedRow
from mobicard.paper.handoff.changed import ChangeRow
from mobicard.paper.handoff.due_rows import DueRow
from mobicard.paper.handoff.level_chart import HIGH as CHART
from mobicard.paper.handoff.level_chart import StepChart
from mobicard.paper.handoff.ranked import RankLine, SeeFirst
from mobicard.paper.handoff.say import LEADING, Say, count_lines, flowing

SHARES: dict[str, tuple[float, ...]] = {
    "changed": (9, 11, 14, 14, 25, 27),
    "beds": (9.5, 20, 20.5, 17.5, 20.5, 12),
}
"""Column widths in percent."""

TITLE_MM, HEADING_MM = 5.0, 3.6
"""Letters of the title and of a section's heading."""

PAD, RULE, GAP = 1.0, 0.4, 1.3
"""Millimetres: beside a cell's text, above and below it, above a section."""

FRAME, INSIDE = 1.4, 2.6
"""The ranked unit's frame with the room inside it, above and beside its lines; mm."""

RANK_LEADING = 1.3

_TITLE, _ROW, _HEADS, _LISTED, _SIGN = 6.1, 1.02, 1.3, 1.0, 18.7
"""Millimetres besides the letters: title, a table's row, its heads, a list's row, the box to sign."""


@dataclass(frozen=True, slots=True)
class Tables:
    """Everything a handoff shows, row by row: ``facts`` of the sheet, ``every``: what holds for every bed."""

    title: str
    since: str
    goals_since: str
    facts: tuple[Say, ...]
    every: tuple[Say, ...]
    unchanged: str
    ranked: tuple[RankLine, ...]
    first: tuple[SeeFirst, ...]
    changed: tuple[ChangeRow, ...]
    due: tuple[DueRow, ...]
    beds: tuple[BedRow, ...]

    @property
    def heads(self) -> dict[str, tuple[str, ...]]:
        """The heads of the tables' columns."""
        return {
            "changed": (
                *("Bed", "More or less", "It was", "It is now"),
                *("Also new", "Why; what is true now"),
            ),
            "beds": (
                *("Bed", "Level; people, you included", "Hurts if moved wrong"),
                *(f"Next; goals done since {self.goals_since}", "If it goes wrong", "Help over the stay"),
            ),
        }


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands in a cell: lines, or one paragraph where they ``flow``; then the chart."""

    says: tuple[Say, ...]
    flow: bool = False
    chart: StepChart | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """A heading, what stands beside and under it, then a table, or a list where it has no column heads."""

    name: str
    heading: str
    beside: str
    under: tuple[Say, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


NOTHING_CHANGED, NOTHING_DUE = "Nothing changed: every bed as before", "Nothing due"
SECTIONS = {
    "first": "See first",
    "changed": "Changed since",
    "due": "Late, open, and due by the hour",
    "beds": "Every bed",
}
TAKEN = "Questions asked, and who takes over"
TAKEN_HOW = (
    "Say each bed back and tick its box; ask before you sign. "
    "A question left open goes on to the next handoff."
)
SIGNED = ("Handed over by", "Taken over by", "Time")
_DASH = (Say("–", joined=True),)


def sections(made: Tables) -> tuple[Section, ...]:
    """The parts of the page in their order, as cells."""
    changed, due = tuple(map(_changed, made.changed)), tuple((Cell(due_says(row), True),) for row in made.due)
    first = tuple((Cell((Say("", row.bed, joined=True), *row.says), True),) for row in made.first)
    since = f"{SECTIONS['changed']} {made.since}"
    no_change, no_due = () if changed else (Say(NOTHING_CHANGED),), () if due else (Say(NOTHING_DUE),)
    heads = made.heads
    found = (
        Section("first", SECTIONS["first"], "", (), (), first),
        Section("changed", since, made.unchanged, no_change, heads["changed"] if changed else (), changed),
        Section("due", SECTIONS["due"], "", no_due, (), due),
        Section("beds", SECTIONS["beds"], "", made.every, heads["beds"], tuple(map(_bed, made.beds))),
    )
    return found if first else found[1:]


def due_says(row: DueRow) -> tuple[Say, ...]:
    """What is due with its mark and its time before it."""
    mark = (Say("", row.mark.upper(), mark=row.mark, joined=True),) if row.mark else ()
    return (*mark, *((Say("", row.at, joined=True),) if row.at else ()), *row.says)


def ranked_says(lines: Sequence[RankLine]) -> tuple[Say, ...]:
    """The unit ranked, as one paragraph."""
    return tuple(
        Say(f"{line.takes + ': ' if line.takes else ''}{', '.join(line.beds)}", line.head, mark=line.mark)
        for line in lines
    ) or (Say("No bed"),)


def _changed(row: ChangeRow) -> tuple[Cell, ...]:
    name = Cell((Say(row.label, row.bed),))
    flows = (Cell(row.says or _DASH, True), Cell(row.why or _DASH, True))
    return (name, Cell((row.direction,)), Cell(row.was), Cell(row.now), *flows)


def _bed(row: BedRow) -> tuple[Cell, ...]:
    label = " ".join(filter(None, (row.label, f"({row.assignment})" if row.assignment else "")))
    name = Cell((Say(label, row.bed), Say("read back", mark="box"), *row.until))
    flows = (Cell(says, True) for says in (row.hurts, row.due, row.wrong))
    return (name, Cell(row.moved), *flows, Cell(row.course, chart=row.chart))


# -- How tall, and where ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Spot:
    """Where something lies: its page from 0, its top and height in mm; of a section, which and which row."""

    what: str
    page: int
    top: float
    tall: float
    section: int = -1
    row: int = -1


@dataclass(frozen=True, slots=True)
class Measure:
    """The letters' size and the page's inner width and height, mm."""

    size: float
    wide: float
    high: float

    @property
    def line(self) -> float:
        """A line's height."""
        return self.size * LEADING

    def box(self, section: Section, column: int) -> float:
        """How wide the text of a column may be."""
        share = SHARES[section.name][column] / 100 if section.name in SHARES else 1.0
        return share * self.wide - 2 * PAD

    def paragraph(self, says: Sequence[Say]) -> float:
        """How tall a paragraph over the whole width is."""
        return flowing(says, self.size, self.wide) * self.line if says else 0.0

    def cell(self, cell: Cell, box: float) -> float:
        """How tall a cell's content is."""
        lines = count_lines(cell.says, box / self.size, cell.flow)
        return lines * self.line + (CHART if cell.chart else 0.0)

    def row(self, section: Section, row: Sequence[Cell]) -> float:
        """How tall a row is, its rule included."""
        tall = max(self.cell(cell, self.box(section, at)) for at, cell in enumerate(row))
        return tall + (_ROW if section.heads else _LISTED)

    def heads(self, section: Section) -> float:
        """How tall a table's column heads are; nothing for a list."""
        cells = [Cell((Say("", head),)) for head in section.heads]
        tall = max((self.cell(cell, self.box(section, at)) for at, cell in enumerate(cells)), default=0.0)
        return tall + _HEADS if tall else 0.0

    def ranked(self, says: Sequence[Say]) -> float:
        """How tall the framed lines are that rank the unit."""
        lines = flowing(says, self.size, self.wide - 2 * INSIDE)
        return 1.0 + 2 * FRAME + lines * self.size * RANK_LEADING


def spots(made: Tables, measure: Measure) -> Iterator[Spot]:
    """Where everything lies: rows stay whole, heads repeat, a heading stays with its first two rows."""
    page, top = 0, 0.0
    opening = (("title", _TITLE), ("facts", measure.paragraph(made.facts)))
    for what, tall in (*opening, ("ranked", measure.ranked(ranked_says(made.ranked)))):
        yield Spot(what, page, top, tall)
        top += tall
    for number, section in enumerate(sections(made)):
        heading = GAP + HEADING_MM * LEADING + measure.paragraph(section.under)
        heads = measure.heads(section)
        rows = [measure.row(section, row) for row in section.rows]
        if top and top + heading + heads + sum(rows[:2]) > measure.high:
            page, top = page + 1, 0.0
        yield Spot("heading", page, top, heading, number)
        yield Spot("heads", page, top + heading, heads, number)
        top += heading + heads
        for at, tall in enumerate(rows):
            if top + tall > measure.high:
                page, top = page + 1, heads
                yield Spot("again", page, 0.0, heads, number)
            yield Spot("row", page, top, tall, number, at)
            top += tall
    sign = _SIGN + measure.line
    page, top = (page, top) if top + sign <= measure.high else (page + 1, 0.0)
    yield Spot("sign", page, top, sign)
