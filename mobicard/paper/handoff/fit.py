"""Fits the handoff to its pages: letters of 8.5 pt at least; what finds no room says what it is about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from mobicard.paper.handoff.bed_rows import BedRow
from mobicard.paper.handoff.changed import ChangeRow
from mobicard.paper.handoff.due_rows import DueRow
from mobicard.paper.handoff.say import Say, within
from mobicard.paper.handoff.sheet import PAD, SHARES, Measure, Tables, spots
from mobicard.paper.sheet_sizes import PAPERS

SMALLEST_MM = 3.0
"""8.5 pt."""

SIDES, ENDS = 20.0, 22.0
"""Millimetres that the page's margins take from its width and its height."""

ON_THE_CARD, ON_SCREEN = "bedside card", "screen"

BEDS_A_PAGE, ON_ONE = 12, 8
"""Beds for which a page more is taken; so many stay on one."""


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
    *(
        Room(SMALLEST_MM, bed, changed)
        for bed, changed in ((99, 6), (99, 4), (8, 4), (6, 4), (5, 4), (5, 3), (4, 3), (4, 2))
    ),
    Room(SMALLEST_MM, 3, 2),
    *(
        Room(SMALLEST_MM, bed, changed, tight=True)
        for bed, changed in ((5, 3), (4, 3), (4, 2), (3, 2), (3, 1), (2, 1))
    ),
)
"""Tried from the fullest on; why a bed changed gives way before what hurts at it."""


def fitted(tables: Sequence[Tables], paper: str) -> tuple[Tables, float]:
    """The first of these, in the fullest room, that keeps to its pages; the letter size in mm."""
    for room in ROOMS:
        measure = measured(room.size, paper)
        for made in tables:
            shown = _shown(made, room, measure.wide)
            if _keeps(shown, measure):
                return _in_full(made, shown, room, measure), room.size
    return shown, room.size


def _keeps(shown: Tables, measure: Measure) -> bool:
    """Whether it keeps to its pages."""
    return all(spot.page < pages_for(len(shown.beds)) for spot in spots(shown, measure))


def _in_full(made: Tables, shown: Tables, room: Room, measure: Measure) -> Tables:
    """The same with as many beds as there is room for told in full, the gravest first."""
    rows = _shown(made, replace(room, bed=99), measure.wide).beds
    whole = {row.bed: row for row, cut in zip(rows, shown.beds, strict=True) if row != cut}
    grave = [bed for line in made.ranked for bed in line.beds if bed in whole]

    def told(count: int) -> Tables:
        full = set(grave[:count])
        return replace(shown, beds=tuple(whole[row.bed] if row.bed in full else row for row in shown.beds))

    fits, over = 0, len(grave) + 1
    while over - fits > 1:
        middle = (fits + over) // 2
        fits, over = (middle, over) if _keeps(told(middle), measure) else (fits, middle)
    return told(fits)


def measured(size: float, paper: str) -> Measure:
    """What a page has room for at this letter size."""
    short, long = PAPERS[paper]
    return Measure(size, long - SIDES, short - ENDS)


def pages_for(beds: int) -> int:
    """One page for an assignment; for a unit one, and one more for every twelve beds."""
    return 1 if beds <= ON_ONE else 1 + -(-beds // BEDS_A_PAGE)


# -- What is shown in a room ------------------------------------------------------------------------------


def _boxes(table: str, wide: float) -> list[float]:
    return [share / 100 * wide - 2 * PAD for share in SHARES[table]]


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
    if room.changed == 1 and (row.was[0] != row.now[0] or row.was == row.now):
        row = replace(row, was=row.was[:1], now=row.now[:1])  # the people stand in the bed's own row
    return replace(
        row,
        says=within(row.says, room.changed, room.size, boxes[4], ON_SCREEN, 0),
        why=within(row.why, room.changed, room.size, boxes[5], ON_SCREEN, 0),
    )


def _bed(row: BedRow, room: Room, boxes: Sequence[float]) -> BedRow:
    def cut(says: tuple[Say, ...], box: float) -> tuple[Say, ...]:
        return within(says, room.bed, room.size, box, ON_THE_CARD)

    if room.tight:
        row = replace(row, chart=None)
    return replace(
        row, hurts=cut(row.hurts, boxes[2]), due=cut(row.due, boxes[3]), wrong=cut(row.wrong, boxes[4])
    )
