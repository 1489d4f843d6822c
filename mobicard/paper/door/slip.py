"""The clerk's slip: which card goes on which door, which one comes down, and a place to tick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.facts.words import Level
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text, level_colours
from mobicard.paper.clinical_words import short_when
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One door: the code to hang, the code to take down (None: nothing there), the level of the new card."""

    bed: str
    hang: str | None
    take_down: str | None
    level: Level | None = None


def slip_html(
    lines: Sequence[SlipLine],
    scheme: Scheme,
    now: datetime,
    *,
    paper: str = "a4",
    ink: str = "colour",
) -> str:
    """The slip as one self-contained page, doors in the order given. Raises SheetRefused (unknown paper)."""
    width, height = paper_size(paper, "a slip")
    return templates.render(
        "slip.html",
        title=f"Door slip, {in_words.when(now)}",
        lines=lines,
        looks=scheme.looks,
        levels=level_colours(scheme, ink),
        at=short_when(now),
        support=css_text(in_words.SUPPORT),
        head=css_text(f"Door slip, {short_when(now)}"),
        page_width=width,
        page_height=height,
        hang=sum(line.hang is not None for line in lines),
        down=sum(line.take_down is not None for line in lines),
    )
