"""The handoff: the unit ranked, who is seen first, more or less help, what is due, then each bed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from mobicard.derive.handing_over.direction import Direction
from mobicard.derive.handing_over.gravity import Gravity
from mobicard.derive.over_time.handoff_values import BedLine, Handoff
from mobicard.facts.text import hour_says
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text, level_colours, triangle
from mobicard.paper.clinical_words import printed, short_when
from mobicard.paper.handoff import sheet
from mobicard.paper.handoff.bed_rows import bed_row, common_end, every_bed
from mobicard.paper.handoff.changed import change_row
from mobicard.paper.handoff.drawn import DRAWN_FROM, FILES, Drawn
from mobicard.paper.handoff.due_rows import due_rows, mark_of
from mobicard.paper.handoff.fit import fitted, measured
from mobicard.paper.handoff.ranked import ranked, see_first
from mobicard.paper.handoff.say import LEADING, Say
from mobicard.paper.handoff.sheet import Tables, due_says
from mobicard.paper.pdf.merge import Part
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme

FILTERS = (
    ("first", "see first"),
    ("lift", "lifts"),
    ("many", "two or more"),
    ("changed", "changed"),
)
"""What the beds can be narrowed to on a screen, by a class of their rows; without it all of them show."""


@dataclass(frozen=True)
class HandoffPage:
    """The handoff, lying, as one self-contained page or drawn straight into a PDF: the same words.

    ``paper``: a4 or letter.
    """

    handoff: Handoff
    scheme: Scheme
    now: datetime
    paper: str = "a4"
    ink: str = "colour"

    @cached_property
    def _fitted(self) -> tuple[Tables, float]:
        paper_size(self.paper, "a handoff")
        made = self._tables()
        brief = replace(made, due=printed(tuple(due_rows(self.handoff, quoted=False))))
        return fitted([made, brief], self.paper)

    def html(self) -> str:
        """The page. Raises SheetRefused."""
        tables, size_mm = self._fitted
        handoff, (height, width) = self.handoff, paper_size(self.paper, "a handoff")
        return templates.render(
            "handoff.html",
            title=handoff_title(handoff),
            tables=tables,
            due=[due_says(row) for row in tables.due],
            at=sheet,
            ids={in_words.printable(line.bed): f"bed-{at}" for at, line in enumerate(handoff.beds, 1)},
            kinds={in_words.printable(line.bed): " ".join(_kinds(line)) for line in handoff.beds},
            filters=FILTERS,
            levels=level_colours(self.scheme, self.ink),
            page_width=width,
            page_height=height,
            size_mm=size_mm,
            leading=LEADING,
            triangle=triangle,
            head=css_text(self._head),
            holds_css=css_text(_edge(handoff)),
            support=css_text(in_words.SUPPORT),
        )

    def drawn(self) -> Part | None:
        """The pages as part of a PDF; None where the page was changed or the carried fonts lack a letter."""
        if not templates.same_files(FILES, DRAWN_FROM):
            return None
        made, size = self._fitted
        measure, title = measured(size, self.paper), handoff_title(self.handoff)
        edges = (in_words.printable(self._head), _edge(self.handoff))
        page = Drawn(made, measure, title, *edges, self.scheme, self.ink)
        return page.part() if page.can_draw() else None

    @property
    def _head(self) -> str:
        return f"Handoff, {_scope(self.handoff)}, {short_when(self.handoff.at)}"

    def _tables(self) -> Tables:
        """Everything there is to say, before it is fitted."""
        handoff, scheme, now = self.handoff, self.scheme, self.now
        lines = {line.bed: line for line in handoff.beds}
        common = common_end(handoff.beds)
        return printed(
            Tables(
                title=f"Handoff: {_scope(handoff)}",
                since=short_when(handoff.since),
                goals_since=hour_says(handoff.since, handoff.at),
                facts=tuple(_facts(handoff)),
                every=tuple(every_bed(handoff.beds)),
                unchanged=_as_before(handoff) if handoff.changed else "",
                ranked=tuple(ranked(handoff.beds, now)),
                first=tuple(see_first(handoff.beds, scheme, now)),
                changed=tuple(change_row(bed, lines[bed.bed], scheme, now) for bed in handoff.changed),
                due=tuple(due_rows(handoff, quoted=True)),
                beds=tuple(bed_row(line, scheme, now, common) for line in handoff.beds),
            )
        )


def handoff_html(
    handoff: Handoff, scheme: Scheme, now: datetime, *, paper: str = "a4", ink: str = "colour"
) -> str:
    """The handoff as one self-contained page, lying. ``paper``: a4 or letter. Raises SheetRefused."""
    return HandoffPage(handoff, scheme, now, paper, ink).html()


def handoff_title(handoff: Handoff) -> str:
    """What the page calls itself."""
    return f"mobicard handoff, {_scope(handoff)}, {short_when(handoff.at)}"


def _scope(handoff: Handoff) -> str:
    return "whole unit" if handoff.scope is None else f"assignment {handoff.scope}"


def _holds(handoff: Handoff) -> str:
    """The end that most plans share, and who ends before it: the sheet is not over when one bed's plan is."""
    common = common_end(handoff.beds)
    if common is None:
        return "Nothing here holds: look again first"
    ends = {one.bed: one.plan.valid_until for one in handoff.beds if not one.plan.expired}
    early = {bed: end for bed, end in ends.items() if end is not None and end < common}
    sooner = "".join(f"; {bed} only until {short_when(end)}" for bed, end in early.items())
    if len(early) > 1:
        sooner = f"; {len(early)} beds end sooner, see their rows"
    return f"Good until {short_when(common)}{sooner}"


def _as_before(handoff: Handoff) -> str:
    """How many beds are as they were, and apart from them those whose plan has ended."""
    same, ended = handoff.unchanged, handoff.ended
    over = f", {ended} no longer valid" if ended else ""
    return f"{same} bed{'' if same == 1 else 's'} as before{over}." if same or ended else ""


def _edge(handoff: Handoff) -> str:
    """The same on every page’s edge, and that some hold longer: their hours seemed a contradiction."""
    common, ends = common_end(handoff.beds), (one.plan.valid_until for one in handoff.beds)
    late = sum(end > common for end in ends if end and common)
    return _holds(handoff) + (f"; {late} bed{'s' * (late > 1)} longer, see their rows" if late else "")


def _facts(handoff: Handoff) -> Iterator[Say]:
    """When it is, until when the sheet holds and whose plan ends then, how many beds, what is late."""
    yield Say(f"At {short_when(handoff.at)}")
    yield Say("", _holds(handoff))
    yield Say(_counts(handoff))
    yield Say(_late(handoff))
    if handoff.unassigned:
        yield Say(", ".join(handoff.unassigned), "Not on any assignment:", mark="late")


LATE_SAYS = {
    "assessment": ("bed to look at again", "beds to look at again"),
    "head observations": ("bed’s head observations", "beds’ head observations"),
    "override": ("own judgement lapsed", "own judgements lapsed"),
    "planned": ("planned move", "planned moves"),
    "turn": ("turn", "turns"),
    "door card": ("door card to change", "door cards to change"),
    "order": ("order to ask about", "orders to ask about"),
}
"""What is late, by its kind; a fall is no more late than it was."""


def _counts(handoff: Handoff) -> str:
    count = len(handoff.beds)
    return f"{count} bed{'' if count == 1 else 's'}, {len(handoff.changed)} changed"


def _late(handoff: Handoff) -> str:
    late = Counter(
        item.kind
        for item in handoff.due
        if mark_of(item) == "late" and item.kind in LATE_SAYS
        for _ in item.beds
    )
    told = ", ".join(f"{late[kind]} {LATE_SAYS[kind][late[kind] > 1]}" for kind in LATE_SAYS if late[kind])
    return f"Late: {told}" if told else "Nothing late"


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
