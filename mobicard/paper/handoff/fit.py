"""Fits the handoff to its pages: letters of 8.5 pt at least; what finds no room says what it is about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from mobicard.paper import text_fit
from mobicard.paper.handoff.bed_rows import BedRow
from mobicard.paper.handoff.changed import ChangeRow
from mobicard.paper.handoff.due_rows import DueRow
from mobicard.paper.handoff.level_chart import HIGH as CHART
from mobicard.paper.handoff.ranked import RankLine, SeeFirst
from mobicard.paper.handoff.say import LEADING, Say, flowing, lines_of, within
from mobicard.paper.sheet_sizes import PAPERS

SHARES: dict[str, tuple[float, ...]] = {
    "changed": (9, 11, 14, 14, 25, 27),
    "beds": (9, 19, 20.5, 18, 21, 12.5),
}
"""Column widths in percent."""

FLOWING = {"changed": (4, 5), "beds": (2, 3, 4)}
"""Columns whose lines run on in one paragraph."""

SMALLEST_MM = 3.0
"""8.5 pt."""

SIDES, ENDS = 20.0, 22.0
"""Millimetres that the page's margins take from its width and its height."""

ON_THE_CARD, ON_SCREEN = "bedside card", "screen"

BEDS_A_PAGE, ON_ONE = 12, 8
"""Beds for which a page more is taken; so many stay on one."""

_PAD = 1.02
_TITLE, _SECTION, _SIGN, _EVERY_BED = 5.9, 5.5, 21.9, 3.5
"""Millimetres: title and facts, a section's heading, the box to sign, the line that holds for every bed."""


@dataclass(frozen=True, slots=True)
class Tables:
    """Everything a handoff shows, row by row."""

    ranked: tuple[RankLine, ...]
    first: tuple[SeeFirst, ...]
    changed: tuple[ChangeRow, ...]
    due: tuple[DueRow, ...]
    beds: tuple[BedRow, ...]


@dataclass(frozen=True, slots=True)
class Room:
    """How much is said: the letter size in mm, and how many lines a bed's and a changed bed's cells have.

    ``tight``: what is due runs on in one paragraph, and the course is told without its drawing.
    """

    size: float
    bed: int
    changed: int
    tight: bool = False


ROOMS = (
    *(Room(size, 99, 99) for size in (3.4, 3.2, SMALLEST_MM)),
    *(Room(SMALLEST_MM, bed, changed) for bed, changed in ((8, 6), (6, 4), (5, 4), (5, 3), (4, 3), (4, 2))),
    Room(SMALLEST_MM, 3, 2),
    *(
        Room(SMALLEST_MM, bed, changed, tight=True)
        for bed, changed in ((5, 3), (4, 3), (4, 2), (3, 2), (3, 1), (2, 1))
    ),
)
"""Tried from the fullest on."""


def fitted(tables: Sequence[Tables], paper: str) -> tuple[Tables, float]:
    """The first of these, in the fullest room, that keeps to its pages; the letter size in mm."""
    short, long = PAPERS[paper]
    wide, high = long - SIDES, short - ENDS
    for room in ROOMS:
        for made in tables:
            shown = _shown(made, room, wide)
            if _pages(shown, room.size, wide, high) <= pages_for(len(made.beds)):
                return shown, room.size
    return shown, room.size


def pages_for(beds: int) -> int:
    """One page for an assignment; for a unit one, and one more for every twelve beds."""
    return 1 if beds <= ON_ONE else 1 + -(-beds // BEDS_A_PAGE)


# -- What is shown in a room ------------------------------------------------------------------------------


def _boxes(table: str, wide: float) -> list[float]:
    return [share / 100 * wide - 2.0 for share in SHARES[table]]


def _shown(made: Tables, room: Room, wide: float) -> Tables:
    changed, beds = _boxes("changed", wide), _boxes("beds", wide)
    return replace(
        made,
        changed=tuple(_changed(row, room, changed) for row in made.changed),
        due=_run_on(made.due) if room.tight else made.due,
        beds=tuple(_bed(row, room, beds) for row in made.beds),
    )


def _run_on(rows: Sequence[DueRow]) -> tuple[DueRow, ...]:
    """What is due as one paragraph: each thing with its mark and hour before it."""
    says = [
        replace(one, lead=" ".join(filter(None, (row.mark.upper(), row.at, one.lead))), mark=row.mark)
        for row in rows
        for one in row.says
    ]
    return (DueRow("", "", tuple(says)),) if says else ()


def _changed(row: ChangeRow, room: Room, boxes: Sequence[float]) -> ChangeRow:
    if room.changed == 1 and row.was[0] != row.now[0]:
        row = replace(row, was=row.was[:1], now=row.now[:1])  # the people stand in the bed's own row
    return replace(
        row,
        says=within(row.says, room.changed, room.size, boxes[4], ON_SCREEN, 0),
        why=within(row.why, room.changed, room.size, boxes[5], ON_SCREEN, 0),
    )


def _bed(row: BedRow, room: Room, boxes: Sequence[float]) -> BedRow:
    def cut(says: Sequence[Say], box: float) -> tuple[Say, ...]:
        return within(says, room.bed, room.size, box, ON_THE_CARD)

    if room.tight:
        row = replace(row, chart=Markup(""))
    return replace(
        row, hurts=cut(row.hurts, boxes[2]), due=cut(row.due, boxes[3]), wrong=cut(row.wrong, boxes[4])
    )


# -- How many pages that takes ----------------------------------------------------------------------------


def _pages(made: Tables, size: float, wide: float, high: float) -> int:
    """How many pages it takes: rows stay whole, heads repeat, a heading stays with its first two rows."""
    pages, used = 1, _TITLE + _ranked(made.ranked, size, wide)
    for name, rows in _heights(made, size, wide).items():
        if not rows:
            continue
        head = size * LEADING + _PAD if name in SHARES else 0.0
        opening = _SECTION + head + sum(rows[:2]) + (_EVERY_BED if name == "beds" else 0.0)
        pages, used = (pages, used + opening) if used + opening <= high else (pages + 1, opening)
        for tall in rows[2:]:
            pages, used = (pages, used + tall) if used + tall <= high else (pages + 1, head + tall)
    return pages if used + _SIGN <= high else pages + 1


def _ranked(lines: Sequence[RankLine], size: float, wide: float) -> float:
    text = " ".join(f"{line.head} {line.takes} {' '.join(line.beds)} xx" for line in lines)
    return 4.0 + text_fit.lines_needed(text, size, wide - 6.0, text_fit.BOLD) * size * 1.35


def _heights(made: Tables, size: float, wide: float) -> Mapping[str, list[float]]:
    return {
        "first": _listed([(Say(one.bed), *one.says) for one in made.first], size, wide),
        "changed": [_row(_change_cells(row), "changed", size, wide) for row in made.changed],
        "due": _listed([(Say(f"{row.mark} {row.at}"), *row.says) for row in made.due], size, wide),
        "beds": [_bed_height(row, size, wide) for row in made.beds],
    }


def _row(cells: Sequence[Sequence[Say]], table: str, size: float, wide: float) -> float:
    boxes = _boxes(table, wide)
    lines = max(
        _lines(cell, at, table, size, box) for at, (cell, box) in enumerate(zip(cells, boxes, strict=True))
    )
    return lines * size * LEADING + _PAD


def _lines(cell: Sequence[Say], at: int, table: str, size: float, box: float) -> int:
    return flowing(cell, size, box) if at in FLOWING.get(table, ()) else lines_of(cell, size, box)


def _change_cells(row: ChangeRow) -> list[Sequence[Say]]:
    return [(Say(f"{row.bed} {row.label}"),), (row.direction,), row.was, row.now, row.says, row.why]


def _listed(says: Sequence[Sequence[Say]], size: float, wide: float) -> list[float]:
    return [flowing(one, size, wide - 2.0) * size * LEADING + 1.0 for one in says]


def _bed_height(row: BedRow, size: float, wide: float) -> float:
    name = (Say(f"{row.bed} {row.label} ({row.assignment})"), Say("xx read back"), *row.until)
    cells = [name, row.moved, row.hurts, row.due, row.wrong, row.course]
    course = lines_of(row.course, size, _boxes("beds", wide)[5])
    chart = course * size * LEADING + CHART + _PAD if row.chart else 0.0
    return max(_row(cells, "beds", size, wide), chart)
