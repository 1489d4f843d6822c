"""Fits a bedside card to its one page: the largest letters that hold everything, two even columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from mobicard.paper import text_fit
from mobicard.paper.bedside.blocks import Block, Point, Row
from mobicard.paper.phrases import PatientLine
from mobicard.paper.sheet_sizes import PAPERS

MARGIN, TOP, BAND, FOOT, GAP = 8.0, 21.0, 25.0, 7.0, 4.0
"""Millimetres: page margin, the strip with bed and code, the level band, the foot line, between columns."""

FIGURE_HEIGHT = 52.0
SIZES_MM = (3.6, 3.5, 3.4, 3.3, 3.2, 3.1, 3.0, 2.9, 2.8, 2.7, 2.6, 2.5, 2.4, 2.3, 2.2, 2.1, 2.0, 1.9, 1.8)
"""Letter sizes tried, largest first; 1.8 mm is a 5-point letter, for records nobody hopes to meet."""

COLUMNS = (0.195, 0.12, 0.125, 0.42, 0.14)
"""Shares of the table's width: move, level, people, how, each helper bears."""

FIRST_TO_GO = (
    *("record", "why", "goals", "risk", "reach", "unknown", "lines", "before"),
    *("care", "precautions", "settle"),
)
"""Whose lines a page too full gives up first: paperwork before reasons, both before what keeps a move safe.
What to do when the knees give way always stays."""

WHOLE = "knees"
"""The block that is never split over two columns."""

PATIENT_MM = 4.0
_BANNER = 1.12
_TALL = 1.9
"""Line height of a letter the carried fonts lack (another script), against running text."""


@dataclass(frozen=True, slots=True)
class Made:
    """A fitted page: blocks by column, the letter size in mm, and how many lines found no room."""

    columns: tuple[tuple[Block, ...], tuple[Block, ...]]
    size_mm: float
    left_out: int


@dataclass(frozen=True, slots=True)
class Fitting:
    """Everything above the two columns, which share what it leaves of the page."""

    paper: str
    heads: Sequence[str]
    rows: Sequence[Row]
    banners: Sequence[tuple[str, str]]
    steps: Sequence[str]
    patient: PatientLine | None
    note: str

    @property
    def width(self) -> float:
        """Width of the printed area, mm."""
        return PAPERS[self.paper][0] - 2 * MARGIN

    @property
    def room(self) -> float:
        """Height left below the level band and above the foot, mm."""
        return PAPERS[self.paper][1] - 2 * MARGIN - TOP - BAND - FOOT - 1.0

    def fitted(self, made: Sequence[Block]) -> Made:
        """Everything at the largest size that holds it.

        Past the smallest size the last lines of the last blocks go, and are counted: never a silent cut.
        """
        for size in SIZES_MM:
            columns, height = self.columns(made, size)
            if height + self.above(size) <= self.room:
                return Made(columns, size, 0)
        size, kept, left_out = SIZES_MM[-1], list(made), 0
        while self.columns(kept, size)[1] + self.above(size) + 2 * text_fit.LINE * size > self.room:
            last = next((block for key in FIRST_TO_GO for block in kept if block.key == key), None)
            if last is None:
                break
            at = kept.index(last)
            kept[at : at + 1] = [replace(last, items=last.items[:-1])] if len(last.items) > 1 else []
            left_out += 1
        return Made(self.columns(kept, size)[0], size, left_out)

    def above(self, size: float) -> float:
        """Height of banners, steps, the patient's line and the table, mm."""
        line = text_fit.LINE * size
        height = 0.0
        for head, text in self.banners:
            lines = text_fit.lines_needed(f"{head} {text}", size * _BANNER, self.width - 7)
            height += lines * line * _BANNER + 4.0
        for step in self.steps:
            height += text_fit.lines_needed(step, size, self.width - 8) * line
        if self.patient:
            lines = text_fit.lines_needed(self.patient.text, PATIENT_MM, self.width - 5, text_fit.BOLD)
            tall = _TALL if not self.patient.text.isascii() and self.patient.direction == "rtl" else 1.0
            height += lines * PATIENT_MM * text_fit.LINE * tall + line + 5.0
        return height + self.table(size)

    def table(self, size: float) -> float:
        """Height of the moves' table with its caption and note, mm."""
        line, pad = text_fit.LINE * size, 1.25
        widths = [share * self.width - 2.2 for share in COLUMNS]
        height = 1.1 * line + 0.4 + self._row(self.heads, widths, size, text_fit.BOLD) + pad
        widths[1] -= size * 2.0
        for row in self.rows:
            cells = (row.task, row.level, row.people, row.how, row.share)
            height += self._row(cells, widths, size, text_fit.REGULAR) + pad
        note = text_fit.lines_needed(self.note, size * 0.86, self.width) * line * 0.86 if self.note else 0.0
        return height + note + 2.0

    @staticmethod
    def _row(cells: Sequence[str], widths: Sequence[float], size: float, face: str) -> float:
        faces = (text_fit.BOLD, text_fit.BOLD, face, face, face)
        lines = [text_fit.lines_needed(*cell) for cell in zip(cells, [size] * 5, widths, faces, strict=True)]
        return max(lines) * text_fit.LINE * size

    def columns(
        self, made: Sequence[Block], size: float
    ) -> tuple[tuple[tuple[Block, ...], tuple[Block, ...]], float]:
        """Blocks in reading order in two columns, and the taller one's height, mm.

        The figure heads the left column; a long list may go on at the top of the right one. Of all places to
        turn to the right column, the one that leaves both nearest in height.
        """
        box = (self.width - GAP) / 2
        lines = [
            [_item_height(item, size, _inner(block, size, box)) for item in block.items] for block in made
        ]
        whole = [_frame(block, size) + sum(tall) for block, tall in zip(made, lines, strict=True)]
        best = (FIGURE_HEIGHT + 2.0 + sum(whole), len(made), 0)
        left = FIGURE_HEIGHT + 2.0
        for at, block in enumerate(made):
            right = sum(whole[at:])
            best = min(best, (max(left, right), at, 0))
            head = _frame(block, size)
            for count in range(2, len(block.items) - 1) if block.key != WHOLE else ():
                kept = head + sum(lines[at][:count])
                best = min(best, (max(left + kept, right - kept + 2 * head), at, count))
            left += whole[at]
        return _turned(made, best[1], best[2]), best[0]


def _turned(made: Sequence[Block], at: int, count: int) -> tuple[tuple[Block, ...], tuple[Block, ...]]:
    """The blocks in two columns, turning before block ``at``, or after ``count`` of its lines."""
    if not count:
        return tuple(made[:at]), tuple(made[at:])
    block = made[at]
    head = replace(block, items=block.items[:count])
    rest = replace(block, title=f"{block.title} (goes on)", items=block.items[count:])
    return (*made[:at], head), (rest, *made[at + 1 :])


def _frame(block: Block, size: float) -> float:
    """What a block takes beside its lines: title, rule, room below, and the frame of a loud one, mm."""
    return text_fit.LINE * size * 1.08 + 2.3 + (3.2 if block.loud else 0.0)


def _inner(block: Block, size: float, box: float) -> float:
    return box - size * 0.9 - (4.8 if block.loud else 0.0)


@lru_cache(maxsize=8192)
def _item_height(item: Point, size: float, inner: float) -> float:
    """How tall one line of a list is; its strong words run a little wider, its small print narrower."""
    wider = item.strong + item.strong[: len(item.strong) // 8]
    narrower = item.small[: max(1, round(len(item.small) * 0.92))]
    text = " ".join(part for part in (wider, item.text, narrower) if part)
    return text_fit.lines_needed(text, size, inner) * text_fit.LINE * size + 0.14 * size
