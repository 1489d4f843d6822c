"""The clerk's slip: which card goes on which door, which one comes down, and a place to tick."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.facts.words import Level
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text, level_colours
from mobicard.paper.clinical_words import short_when
from mobicard.paper.door.slip_drawn import SLIP_FILES, SLIP_FROM, Row, SlipPage, drawn_slip
from mobicard.paper.pdf.merge import Part
from mobicard.paper.pdf.setting import can_set
from mobicard.paper.points import Point
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme

HEADS = ("Door", "Take down and shred", "Hang", "Done")


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One door: the code to hang, the code to take down (None: nothing there), the level of the new card."""

    bed: str
    hang: str | None
    take_down: str | None
    level: Level | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """The slip as a page, or drawn straight into a PDF; doors in the order given."""

    lines: Sequence[SlipLine]
    scheme: Scheme
    now: datetime
    paper: str = "a4"
    ink: str = "colour"

    @property
    def intro(self) -> str:
        """What is to do, and when it counts as done."""
        hang = sum(line.hang is not None for line in self.lines)
        down = sum(line.take_down is not None for line in self.lines)
        return (
            f"Printed {short_when(self.now)}: {hang} to hang, {down} to take down. Compare the code on "
            "the card before you hang it. When every line is ticked, say so in mobicard; "
            "until then no door counts as changed."
        )

    def html(self) -> str:
        """One self-contained page. Raises SheetRefused (unknown paper)."""
        width, height = paper_size(self.paper, "a slip")
        return templates.render(
            "slip.html",
            title=f"Door slip, {in_words.when(self.now)}",
            lines=self.lines,
            looks=self.scheme.looks,
            levels=level_colours(self.scheme, self.ink),
            intro=self.intro,
            heads=HEADS,
            support=css_text(in_words.SUPPORT),
            head=css_text(f"Door slip, {short_when(self.now)}"),
            page_width=width,
            page_height=height,
        )

    def drawn(self) -> Part | None:
        """The slip as part of a PDF; None where the page was changed or the carried fonts lack a letter."""
        rows = list(self._rows())
        texts = (Point("", f"{line.bed}{line.take_down or ''}{line.hang or ''}") for line in self.lines)
        if not templates.same_files(SLIP_FILES, SLIP_FROM) or not all(map(can_set, texts)):
            return None
        head = f"Door slip, {short_when(self.now)}"
        title = f"Door slip, {in_words.when(self.now)}"
        page = SlipPage(title, head, self.intro, HEADS, rows, paper_size(self.paper, "a slip"), self.ink)
        return drawn_slip(page)

    def _rows(self) -> Iterator[Row]:
        for line in self.lines:
            down = Point("", line.take_down) if line.take_down else Point("nothing hangs there")
            up = Point("", line.hang) if line.hang else Point("nothing: no patient of this card here")
            look = self.scheme.looks[line.level] if line.hang and line.level else None
            yield Point("", line.bed), down, up, look


def slip_html(
    lines: Sequence[SlipLine], scheme: Scheme, now: datetime, *, paper: str = "a4", ink: str = "colour"
) -> str:
    """The slip as one self-contained page. Raises SheetRefused (unknown paper)."""
    return Slip(lines, scheme, now, paper, ink).html()
