"""The handoff: the unit ranked, who is seen first, more or less help, what is due, then each bed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from mobicard.derive.handing_over.direction import Direction
from mobicard.derive.handing_over.gravity import Gravity
from mobicard.derive.over_time.handoff_values import BedLine, Handoff
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text, level_colours, triangle
from mobicard.paper.clinical_words import printed, short_when
from mobicard.paper.handoff.bed_rows import any_bed, bed_row, common_end
from mobicard.paper.handoff.changed import change_row
from mobicard.paper.handoff.due_rows import due_rows, mark_of
from mobicard.paper.handoff.fit import SHARES, Tables, fitted
from mobicard.paper.handoff.ranked import AHEAD, SAYS, ranked, see_first
from mobicard.paper.handoff.say import LEADING
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme

GRAVE = (SAYS[Gravity.FALLEN], SAYS[Gravity.UNSEEN], SAYS[Gravity.EXPIRED], AHEAD)

FILTERS = (
    ("first", "see first"),
    ("lift", "lifts"),
    ("many", "two or more"),
    ("changed", "changed"),
)
"""What the beds can be narrowed to on a screen, by a class of their rows; without it all of them show."""


def handoff_html(
    handoff: Handoff, scheme: Scheme, now: datetime, *, paper: str = "a4", ink: str = "colour"
) -> str:
    """The handoff as one self-contained page, lying. ``paper``: a4 or letter. Raises SheetRefused."""
    height, width = paper_size(paper, "a handoff")
    tables, size_mm = fitted([_tables(handoff, scheme, now, quoted) for quoted in (True, False)], paper)
    return templates.render(
        "handoff.html",
        title=handoff_title(handoff),
        scope=_scope(handoff),
        at=short_when(handoff.at),
        since=short_when(handoff.since),
        holds=_holds(handoff),
        counts=_counts(handoff),
        common=short_when(common) if (common := common_end(handoff.beds)) else "",
        any_bed=any_bed(),
        tables=tables,
        ids={in_words.printable(line.bed): f"bed-{at}" for at, line in enumerate(handoff.beds, 1)},
        kinds={in_words.printable(line.bed): " ".join(_kinds(line)) for line in handoff.beds},
        filters=FILTERS,
        unchanged=handoff.unchanged,
        unassigned=", ".join(handoff.unassigned),
        levels=level_colours(scheme, ink),
        page_width=width,
        page_height=height,
        size_mm=size_mm,
        leading=LEADING,
        triangle=triangle,
        grave=sum(group.head in GRAVE for group in tables.ranked),
        shares=SHARES,
        head=css_text(f"Handoff, {_scope(handoff)}, {short_when(handoff.at)}"),
        holds_css=css_text(_holds(handoff)),
        support=css_text(in_words.SUPPORT),
    )


def _tables(handoff: Handoff, scheme: Scheme, now: datetime, quoted: bool) -> Tables:
    """Everything there is to say, before it is fitted."""
    lines = {line.bed: line for line in handoff.beds}
    return printed(
        Tables(
            ranked=tuple(ranked(handoff.beds, now)),
            first=tuple(see_first(handoff.beds, scheme, now)),
            changed=tuple(change_row(bed, lines[bed.bed], scheme, now) for bed in handoff.changed),
            due=tuple(due_rows(handoff, quoted=quoted)),
            beds=tuple(bed_row(line, scheme, now, common_end(handoff.beds)) for line in handoff.beds),
        )
    )


def handoff_title(handoff: Handoff) -> str:
    """What the page calls itself."""
    return f"mobicard handoff, {_scope(handoff)}, {short_when(handoff.at)}"


def _scope(handoff: Handoff) -> str:
    return "whole unit" if handoff.scope is None else f"assignment {handoff.scope}"


def _holds(handoff: Handoff) -> str:
    if handoff.holds_until is None:
        return "Nothing here holds: look again first"
    return f"Good until {short_when(handoff.holds_until)}"


def _counts(handoff: Handoff) -> str:
    late = len({bed for item in handoff.due if mark_of(item) == "late" for bed in item.beds})
    count = len(handoff.beds)
    return (
        f"{count} bed{'' if count == 1 else 's'}, {len(handoff.changed)} changed, {late} with something late"
    )


def _kinds(line: BedLine) -> Iterator[str]:
    """The filters that a bed's row passes."""
    if line.gravity <= Gravity.EXPIRED or line.plan.head_observations is not None:
        yield "k-first"
    if line.gravity is Gravity.LIFT:
        yield "k-lift"
    if line.gravity in (Gravity.LIFT, Gravity.MANY):
        yield "k-many"
    if line.direction is not Direction.SAME:
        yield "k-changed"
