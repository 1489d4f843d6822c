"""The sheet behind a bedside card: the briefs of the shift's hardest moves, two a side, both sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from mobicard.derive.brief import Brief
from mobicard.paper import templates
from mobicard.paper.brief.page import (
    EDGE,
    HEIGHT,
    ROOM_MM,
    SIZES_MM,
    TEXT_ALONE_MM,
    TEXT_MM,
    side_of,
    text_height,
)
from mobicard.paper.chips import level_colours
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme

HALVES, SIDES = 2, 2
"""Briefs on one side: A4 upright is two A5 lying. Always both sides, so that the next card starts a sheet."""


@dataclass(frozen=True, slots=True)
class Back:
    """One bed's sheet: its briefs, and the moves of the shift that have no room on it."""

    bed: str
    briefs: tuple[Brief, ...]
    elsewhere: tuple[str, ...] = ()
    waits: bool = False
    """Whether nothing may be moved now: not cleared, out of date, after a fall."""


def backs_html(
    backs: Sequence[Back], scheme: Scheme, now: datetime, *, paper: str = "a4", ink: str = "colour"
) -> str:
    """The sheets of these beds, two pages each. Raises SheetRefused for an unknown paper."""
    width, height = paper_size(paper, "a bedside card")
    room = ROOM_MM - (HEIGHT - height / HALVES)
    return templates.render(
        "brief_back.html",
        title="How the moves of the day are done",
        sheets=[
            one for number, back in enumerate(backs) for one in _sheet(back, f"s{number}", scheme, now, room)
        ],
        levels=level_colours(scheme, ink),
        width=width,
        height=height / HALVES - 0.5,
        sheet_height=height,
        edge=EDGE,
    )


def _sheet(back: Back, key: str, scheme: Scheme, now: datetime, room: float) -> list[dict[str, Any]]:
    """Both sides of one bed's sheet; what has no room is named where the briefs end."""
    fits = [one for one in back.briefs if fits_half(one, room)][: HALVES * SIDES]
    pages = [side_of(one, scheme, now, f"{key}-{number}", room) for number, one in enumerate(fits)]
    left = (*(one.says for one in back.briefs if one not in fits), *back.elsewhere)
    if pages and left:
        pages[-1]["support_says"] += f" {_ask_for(back, left)}"
    sides = [pages[at : at + HALVES] for at in range(0, HALVES * SIDES, HALVES)]
    says = ("" if pages else _none_says(back, left), f"Bed {back.bed}: no further brief.")
    return [{"pages": side, "says": "" if side else word} for side, word in zip(sides, says, strict=True)]


def fits_half(found: Brief, room: float) -> bool:
    """Whether the whole text stays on its half in letters of 9 points: nothing is cut off."""
    return text_height(found, SIZES_MM[-1], TEXT_MM if found.scene else TEXT_ALONE_MM) <= room


def _none_says(back: Back, left: Sequence[str]) -> str:
    if left:
        return _ask_for(back, left)
    if back.waits:
        return f"Bed {back.bed}: no move is briefed; see what the card says first."
    return f"Bed {back.bed}: no move of this shift needs a brief."


def _ask_for(back: Back, left: Sequence[str]) -> str:
    return f"Bed {back.bed}, also this shift: ask for the brief of {', '.join(left)} before the move."
