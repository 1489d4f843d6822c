"""Fits a bedside card to both sides of one sheet: on the first what is needed at the move, nothing dropped.

What the first side has no room for at its smallest letters goes on overleaf, ahead of the reasons; what two
sides cannot hold goes on a further sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from mobicard.paper import text_fit
from mobicard.paper.bedside.blocks import Block
from mobicard.paper.bedside.moves import HEADS, Row
from mobicard.paper.phrases import PatientLine
from mobicard.paper.points import Point, line_count
from mobicard.paper.sheet_sizes import PAPERS
from mobicard.paper.text_fit import BOLD, LINE, REGULAR

MARGIN, STRIP, BAND, FOOT, GAP = 8.0, 20.0, 22.8, 13.0, 5.0
"""Millimetres: page margin, the strip with bed and code, the level band, the foot, between the columns."""

UNDER_BAND, BACK_HEAD = STRIP + BAND + 3.2, 12.0
"""Millimetres from the top margin to what a first side and a second side say."""

POINT_MM = 25.4 / 72
FRONT_MM = tuple(round(points * POINT_MM, 3) for points in (10.5, 10.2, 9.9, 9.6, 9.3, 9.0))
BACK_MM = tuple(round(points * POINT_MM, 3) for points in (9.6, 9.0, 8.5, 8.0, 7.5))
"""Letter sizes tried on first and second sides, largest first: 9 points at least where it is read to move."""

SHARES, NO_LOADS = (0.22, 0.165, 0.465, 0.15), (0.22, 0.165, 0.615)
"""Shares of the table's width, by the heads; without the last where nobody bears anything."""

PAD, INDENT, CHIP = 0.8, 1.0, 2.1
"""Millimetres above and below a row's text, beside it; ems the level's chip takes before its word."""

ITEM_GAP, DASH = 0.14, 0.9
"""Ems between two items of a list; ems its text stands in."""

WHOLE, FEW = "knees", 2
"""The block that is never split; lines of one that is not worth a second title."""

BANNER, BANNER_PAD = 1.1, 1.1
PATIENT_MM = 4.2
_TALL = 1.9
"""Line height of a letter the carried fonts lack (another script), against running text."""

STEPS_END = 1.6
"""Millimetres below the steps."""

FRAME = 2.0
"""Millimetres between a framed block's edge and its text."""

LABEL = 33.0
"""Millimetres for the words beside a limb of the figure."""


@dataclass(frozen=True, slots=True)
class LimbLabel:
    """What stands beside one limb of the figure: ``key`` is its corner, ``says`` its order in words."""

    key: str
    says: Point


@dataclass(frozen=True, slots=True)
class Content:
    """All that a card says below its band, and what only its second side says."""

    banners: tuple[Point, ...]
    steps: tuple[str, ...]
    patient: PatientLine | None
    rows: tuple[Row, ...]
    note: str
    limbs: tuple[LimbLabel, ...]
    front: tuple[Block, ...]
    back: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One printed page of a card."""

    size_mm: float
    banners: tuple[Point, ...]
    steps: tuple[str, ...]
    patient: PatientLine | None
    rows: tuple[Row, ...]
    note: str
    limbs: tuple[LimbLabel, ...]
    columns: tuple[tuple[Block, ...], tuple[Block, ...]]
    first: bool
    goes_on: bool

    @property
    def figure_mm(self) -> float:
        """Height of the body figure's box, mm; nothing where no limb has an order."""
        return figure_height(self.limbs, self.size_mm) if self.limbs else 0.0


def width(paper: str) -> float:
    """Width of the printed area, mm."""
    return PAPERS[paper][0] - 2 * MARGIN


def column(paper: str) -> float:
    """Width of one of the two columns, mm."""
    return (width(paper) - GAP) / 2


def sides(content: Content, paper: str) -> tuple[Side, ...]:
    """The card's pages, an even number of them; each at the largest letters that keep it on its side."""
    front, rest = next(_fronts(content, paper))
    pages = [front]
    backs = next(_backs(rest, content, paper))
    pages += backs
    return tuple(pages if len(pages) % 2 == 0 else [*pages, _empty(pages[-1])])


def _fronts(content: Content, paper: str) -> Iterator[tuple[Side, Content]]:
    """The first side at the largest size that holds all of it, else at the smallest with what goes on."""
    for size in FRONT_MM:
        side, rest = _page(content, size, paper, first=True)
        if not _left(rest) or size == FRONT_MM[-1]:
            yield side, rest


def _backs(rest: Content, content: Content, paper: str) -> Iterator[list[Side]]:
    """The other side at the largest size that holds the rest; where none does, more sheets at 9 points."""
    for size in (*BACK_MM, FRONT_MM[-1]):
        waiting, pages = replace(rest, front=(*rest.front, *content.back)), []
        while _left(waiting):
            side, waiting = _page(waiting, size, paper, first=False)
            pages.append(side)
        if len(pages) <= 1:
            yield pages
    yield pages


def _left(content: Content) -> bool:
    return bool(content.banners or content.rows or content.front or content.limbs)


def _empty(last: Side) -> Side:
    """A last side with nothing on it, so that the next card begins on a sheet of its own."""
    return replace(last, banners=(), steps=(), patient=None, rows=(), note="", limbs=(), columns=((), ()))


def _page(content: Content, size: float, paper: str, *, first: bool) -> tuple[Side, Content]:
    """One side filled from what is waiting, and what still waits."""
    room = PAPERS[paper][1] - 2 * MARGIN - FOOT - (UNDER_BAND if first else BACK_HEAD)
    wide = width(paper)
    room -= sum(banner_height(one, size, wide) for one in content.banners)
    room -= sum(step_height(one, size, wide) for one in content.steps) + STEPS_END * bool(content.steps)
    room -= patient_height(content.patient, size, wide)
    rows = _rows_in(content.rows, size, wide, room, content.note)
    waiting = replace(content, banners=(), steps=(), patient=None, rows=content.rows[len(rows) :], note="")
    room -= table_height(rows, size, wide, content.note)
    columns: tuple[tuple[Block, ...], tuple[Block, ...]] = ((), ())
    limbs = content.limbs if not waiting.rows else ()
    if not waiting.rows:
        columns, blocks = _columns(content.front, size, column(paper), room, figure_height(limbs, size))
        placed = columns[0] or columns[1] or not content.front
        limbs = limbs if placed else ()
        waiting = replace(waiting, front=blocks, limbs=() if placed else content.limbs)
    note = content.note if not waiting.rows else ""
    waiting = replace(waiting, note="" if note == content.note else content.note)
    made = Side(
        size,
        content.banners,
        content.steps,
        content.patient,
        rows,
        note,
        limbs,
        columns,
        first,
        _left(waiting),
    )
    return made, waiting


# -- How tall things are ----------------------------------------------------------------------------------


def banner_height(banner: Point, size: float, wide: float) -> float:
    """A framed line with the room below it, mm."""
    letters = size * BANNER
    return line_count(banner, (wide - 2 * FRAME) / letters) * LINE * letters + 2 * BANNER_PAD + 1.4


def step_height(step: str, size: float, wide: float) -> float:
    """A numbered step, mm."""
    return (line_count(Point(step), (wide - 8) / size) * LINE + ITEM_GAP) * size


def patient_height(said: PatientLine | None, size: float, wide: float) -> float:
    """The patient's own line in its frame, mm."""
    if said is None:
        return 0.0
    lines = text_fit.lines_needed(said.text, PATIENT_MM, wide - 2 * FRAME, BOLD)
    tall = _TALL if not said.text.isascii() and said.direction == "rtl" else 1.0
    return lines * PATIENT_MM * LINE * tall + LINE * size + 2 * BANNER_PAD + 1.6


def shares(rows: Sequence[Row]) -> tuple[float, ...]:
    """The columns of a table with these rows, as shares of its width."""
    return SHARES if any(row.share for row in rows) else NO_LOADS


def cell_ems(share: float, size: float, wide: float) -> float:
    """Room for the text of a table cell, ems."""
    return (share * wide - 2 * INDENT) / size


def row_height(row: Row, columns: Sequence[float], size: float, wide: float) -> float:
    """One row with its padding, mm."""
    ems = [cell_ems(share, size, wide) for share in columns]
    tall = max(
        line_count(Point("", row.moves), ems[0]),
        1 + line_count(Point(row.people), ems[1]),
        sum(line_count(point, ems[2]) for point in row.says),
        line_count(Point(row.share), ems[3]) if row.share else 0,
    )
    return tall * LINE * size + 2 * PAD


def head_height(columns: Sequence[float], size: float, wide: float) -> float:
    """The table's heads, mm."""
    heads = zip(HEADS, columns, strict=False)
    lines = max(line_count(Point("", head), cell_ems(share, size, wide)) for head, share in heads)
    return lines * LINE * size + 2 * PAD


def note_height(note: str, size: float, wide: float) -> float:
    """What stands under the table, mm."""
    return line_count(Point(note), wide / size) * LINE * size + 1.0 if note else 0.0


def table_height(rows: Sequence[Row], size: float, wide: float, note: str) -> float:
    """The whole table with its note and the room below, mm."""
    if not rows:
        return 0.0
    columns = shares(rows)
    heights = sum(row_height(row, columns, size, wide) for row in rows)
    return head_height(columns, size, wide) + heights + note_height(note, size, wide) + 3.0


def _rows_in(rows: tuple[Row, ...], size: float, wide: float, room: float, note: str) -> tuple[Row, ...]:
    """As many of the rows as there is room for; one at least, so that a card always ends."""
    for count in range(len(rows), 1, -1):
        if table_height(rows[:count], size, wide, note) <= room:
            return rows[:count]
    return rows[:1]


def figure_height(limbs: Sequence[LimbLabel], size: float) -> float:
    """The body figure's box: as tall as the words beside it, mm."""
    return leg_top(limbs, size) + max(_label_heights(limbs, size, "leg"), default=0.0) + 3.0 if limbs else 0.0


def leg_top(limbs: Sequence[LimbLabel], size: float) -> float:
    """How far below the figure's top the words beside the legs begin, mm."""
    return max(30.0, 9.0 + max(_label_heights(limbs, size, "arm"), default=0.0))


def _label_heights(limbs: Sequence[LimbLabel], size: float, kind: str) -> list[float]:
    own = [limb for limb in limbs if limb.key.endswith(kind)]
    return [line_count(limb.says, LABEL / size) * LINE * size for limb in own] + [18.0 * (kind == "leg")]


def inner(block: Block, size: float, wide: float) -> float:
    """Room for the text of a block's items, ems."""
    return (wide - (2 * FRAME if block.loud else 0.0)) / size - DASH


def item_height(item: Point, block: Block, size: float, wide: float) -> float:
    """One line of a list with the gap below it, mm."""
    return (line_count(item, inner(block, size, wide)) * LINE + ITEM_GAP) * size


def title_height(size: float) -> float:
    """A block's title with the rule under it, mm."""
    return LINE * size * 1.08 + 1.3


def frame_height(block: Block, size: float) -> float:
    """What a block takes beside its items, mm: its title, the room below, the frame of a loud one."""
    return title_height(size) + 2.2 + (2 * BANNER_PAD if block.loud else 0.0)


# -- Two columns ------------------------------------------------------------------------------------------


def _columns(
    blocks: tuple[Block, ...], size: float, wide: float, room: float, figure: float
) -> tuple[tuple[tuple[Block, ...], tuple[Block, ...]], tuple[Block, ...]]:
    """Blocks in reading order in two columns, even where all find room; and what finds none."""
    if figure > room:
        return ((), ()), blocks
    found, rest = _filled(blocks, size, wide, room, figure, full=room)
    low, high = 0.0, room
    while not rest and high - low > 1.0:
        middle = (low + high) / 2
        tried, over = _filled(blocks, size, wide, middle, figure, full=room)
        if over or figure > middle:
            low = middle
        else:
            high, found = middle, tried
    return found, rest


def _filled(
    blocks: tuple[Block, ...], size: float, wide: float, room: float, figure: float, *, full: float
) -> tuple[tuple[tuple[Block, ...], tuple[Block, ...]], tuple[Block, ...]]:
    left, rest = _taken(blocks, size, wide, room - figure, full=full)
    right, rest = _taken(rest, size, wide, room, full=full)
    return (left, right), rest


def _taken(
    blocks: tuple[Block, ...], size: float, wide: float, room: float, *, full: float
) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """The blocks that fit this column, the last of them split where it may be; and the others."""
    kept: list[Block] = []
    for at, block in enumerate(blocks):
        frame, used = frame_height(block, size), 0
        tall = frame
        for item in block.items:
            tall += item_height(item, block, size, wide)
            if tall > room:
                break
            used += 1
        if used == len(block.items):
            kept.append(block)
            room -= tall
            continue
        whole = frame + sum(item_height(item, block, size, wide) for item in block.items)
        if (block.key == WHOLE or len(block.items) <= FEW) and whole <= full:
            used = 0
        head, tail = _split(block, used)
        return (*kept, *head), (*tail, *blocks[at + 1 :])
    return tuple(kept), ()


def _split(block: Block, used: int) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    if not used:
        return (), (block,)
    title = block.title if block.title.endswith(_ON) else block.title + _ON
    rest = replace(block, title=title, items=block.items[used:])
    return (replace(block, items=block.items[:used]),), (rest,)


_ON = " (goes on)"

__all__ = ["REGULAR", "Content", "LimbLabel", "Side", "sides"]
