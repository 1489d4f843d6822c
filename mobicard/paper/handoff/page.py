"""The handoff summary: changes first, then due, then who needs two or a lift, then each bed in one line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import zip_longest

from mobicard.derive.conflicts import in_the_record
from mobicard.derive.model import Plan
from mobicard.derive.over_time.handoff_values import (
    ChangedBed,
    DueItem,
    GroupedChange,
    Handoff,
    ManyHands,
)
from mobicard.facts.words import Level, Task
from mobicard.paper import in_words, templates
from mobicard.paper.chips import css_text, level_colours
from mobicard.paper.clinical_words import (
    equipment,
    printed,
    short_when,
    spaced,
)
from mobicard.paper.handoff.bed_rows import BedRow, bed_row, bed_with_label, how
from mobicard.paper.handoff.fit import SHARES, SIZES_MM, Cell, letter_size
from mobicard.paper.sheet_sizes import paper_size
from mobicard.scheme.scheme import Scheme

DETAILS = ((3, 2, True), (3, 2, False), (2, 1, False), (1, 1, False))
"""Differences and reasons said of a changed bed, and whether a record that disagrees with itself is quoted; a
fuller handoff says fewer itself."""

SMALL_MM = 2.3
"""Letters are not made smaller than this to quote what a record disagrees on."""


CONFLICT, OPEN, LATE = "conflict", "OPEN", "LATE"

MANY = 5
"""From so many beds on, nearly all of them are named by those that are not meant."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One changed bed: what its level was and is, each difference, why."""

    bed: str
    was: str
    now: str
    level: str
    says: tuple[str, ...]
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DueRow:
    """One thing due: ``LATE``, ``OPEN`` (a conflict has no hour) or neither, when, what, for which beds."""

    mark: str
    at: str
    what: str
    beds: str


@dataclass(frozen=True, slots=True)
class NeedRow:
    """One need and the beds that have it, with the moves."""

    people: str
    lift: str
    beds: str


@dataclass(frozen=True, slots=True)
class Tables:
    """The four tables of a handoff, row by row."""

    changed: tuple[ChangeRow, ...]
    due: tuple[DueRow, ...]
    needs: tuple[NeedRow, ...]
    beds: tuple[BedRow, ...]


def handoff_html(
    handoff: Handoff, scheme: Scheme, now: datetime, *, paper: str = "a4", ink: str = "colour"
) -> str:
    """The handoff as one self-contained page, lying. ``paper``: a4 or letter. Raises SheetRefused."""
    height, width = paper_size(paper, "a handoff")
    tables, size_mm = _tables(handoff, scheme, now, paper)
    return templates.render(
        "handoff.html",
        title=handoff_title(handoff),
        scope=_scope(handoff),
        at=short_when(handoff.at),
        since=short_when(handoff.since),
        holds=_holds(handoff),
        counts=_counts(handoff),
        tables=tables,
        unchanged=handoff.unchanged,
        unassigned=", ".join(handoff.unassigned),
        levels=level_colours(scheme, ink),
        page_width=width,
        page_height=height,
        size_mm=size_mm,
        shares=SHARES,
        head=css_text(f"Handoff, {_scope(handoff)}, {short_when(handoff.at)}"),
        holds_css=css_text(_holds(handoff)),
        support=css_text(in_words.SUPPORT),
    )


def _tables(handoff: Handoff, scheme: Scheme, now: datetime, paper: str) -> tuple[Tables, float]:
    """The tables and their letter size; a handoff too full for its pages says less of each change itself."""
    made = printed(
        Tables(
            changed=(),
            due=(),
            needs=tuple(_needs(handoff.demands)),
            beds=tuple(bed_row(line, scheme, now) for line in handoff.beds),
        )
    )
    plans = {line.bed: line.plan for line in handoff.beds}
    for detail in DETAILS:
        changed = tuple(_change(bed, plans[bed.bed], scheme, now, detail) for bed in handoff.changed)
        due = tuple(_due(item, handoff, detail[2]) for item in handoff.due)
        made = replace(made, changed=printed(changed), due=printed(due))
        size = letter_size(paper, _measured(made), len(handoff.beds))
        if size is not None and (size >= SMALL_MM or not detail[2]):
            return made, size
    return made, SIZES_MM[-1]


def _measured(tables: Tables) -> dict[str, list[tuple[Cell, ...]]]:
    """Every table as plain cells, for measuring."""
    return {
        "changed": [(r.bed, r.was, f"xxx {r.now}", r.says, r.why) for r in tables.changed],
        "due": [(f"{r.mark} {r.at}".strip(), r.what, r.beds) for r in tables.due],
        "needs": [(r.people, r.lift, r.beds) for r in tables.needs],
        "beds": [_cells(row) for row in tables.beds],
    }


def handoff_title(handoff: Handoff) -> str:
    """The page's title."""
    return f"Handoff, {_scope(handoff)}, {in_words.when(handoff.at)}"


def _scope(handoff: Handoff) -> str:
    return "whole unit" if handoff.scope is None else f"assignment {handoff.scope}"


def _holds(handoff: Handoff) -> str:
    if handoff.holds_until is None:
        return "Nothing here holds: look again first"
    return f"Holds until {short_when(handoff.holds_until)}"


def _counts(handoff: Handoff) -> str:
    late = len({bed for item in handoff.due if _mark(item) == LATE for bed in item.beds})
    count = len(handoff.beds)
    return (
        f"{count} bed{'' if count == 1 else 's'}, {len(handoff.changed)} changed, {late} with something late"
    )


# -- Changes ----------------------------------------------------------------------------------------------


def _change(
    bed: ChangedBed, plan: Plan, scheme: Scheme, now: datetime, detail: tuple[int, int, bool]
) -> ChangeRow:
    told = [_difference(change, scheme) for change in bed.differences]
    why = [*_judged(plan), *_why(bed.differences)]
    if bed.old is None:
        told = [f"Bed to chair: {how(plan, now)}"]
        why = [] if plan.expired else list(dict.fromkeys(reason.says for reason in plan.headline.reasons))
    return ChangeRow(
        bed=bed_with_label(bed.bed, bed.label),
        was="new here" if bed.old is None else scheme.looks[bed.old].word,
        now=scheme.looks[bed.new].word,
        level=bed.new.value,
        says=tuple(_first(told, detail[0], "difference")),
        why=tuple(_first(why, detail[1], "reason")),
    )


def _judged(plan: Plan) -> Iterator[str]:
    """The named person's own judgement, where it is what lowered the level."""
    for reason in () if plan.expired else plan.headline.reasons:
        if reason.rule == "override.lowered":
            yield reason.says


def _why(differences: Sequence[GroupedChange]) -> list[str]:
    """Each reason once: the first of every difference, in their order, then the second of every one.

    What eased has the reasons that are gone, and says so: read as reasons they would contradict the level.
    """
    told = ([f"No longer: {r.says}" if one.eases else r.says for r in one.why] for one in differences)
    ranks = zip_longest(*told)
    return list(dict.fromkeys(reason for rank in ranks for reason in rank if reason))


def _difference(change: GroupedChange, scheme: Scheme) -> str:
    """``Stand up, walk: LINK, now TEAM``: the moves, then what it was and is."""
    old, new = (_word(side, scheme) for side in (change.old, change.new))
    moves = in_words.sentence(", ".join(spaced(task.value) for task in change.tasks))
    if len(change.tasks) == len(Task):
        moves = "Every move"
    if change.what == "cautions":
        return f"{moves}: {'now also' if new else 'no longer'}: {new or old}"
    head = moves or in_words.sentence(change.what)
    return f"{head}: {old}, now {new}"


def _word(text: str, scheme: Scheme) -> str:
    """``LINK, 1 helper`` with the level's own word in this scheme."""
    level, comma, rest = text.partition(", ")
    rest = re.sub(r"^0 helpers\b", in_words.helpers(0), rest)
    return scheme.looks[Level(level)].word + comma + rest if level in Level.__members__ else spaced(text)


def _first(told: Sequence[str], most: int, what: str) -> Iterator[str]:
    """The first few, and how many more there are: nothing goes without a word."""
    yield from told[:most]
    more = len(told) - most
    if more > 0:
        yield f"{more} more {what}{'s' if more > 1 else ''} on screen"


# -- Due, and who needs two or a lift -----------------------------------------------------------------------


def _due(item: DueItem, handoff: Handoff, quoted: bool) -> DueRow:
    at = "" if item.at is None else short_when(item.at)
    every = [line.bed for line in handoff.beds]
    what = (_quoted(item, handoff) if quoted else "") or item.says
    return DueRow(_mark(item), at, f"{in_words.sentence(item.kind)}: {what}", _which(item.beds, every))


def _mark(item: DueItem) -> str:
    if item.kind == CONFLICT:
        return OPEN
    return LATE if item.overdue else ""


def _quoted(item: DueItem, handoff: Handoff) -> str:
    """What each bed's record disagrees on, where the item only says that it does; the rest is counted."""
    plans = {line.bed: line.plan for line in handoff.beds if line.bed in item.beds}
    own = {conflict.says for plan in plans.values() for conflict in plan.conflicts}
    if item.kind != CONFLICT or item.says in own:
        return ""
    told = []
    for bed, plan in plans.items():
        first, *rest = [conflict.says for conflict in in_the_record(plan.conflicts)]
        more = f" ({len(rest)} more on the bedside card)" if rest else ""
        told.append((f"{bed}: " if len(plans) > 1 else "") + first + more)
    return "the record disagrees with itself. " + " ".join(told)


def _which(beds: Sequence[str], every: Sequence[str]) -> str:
    """The beds by name; where nearly all are meant, the ones that are not."""
    others = [bed for bed in every if bed not in beds]
    if len(every) < MANY or len(others) > len(every) // 4:
        return ", ".join(beds)
    return f"all {len(every)} beds" + (f" but {', '.join(others)}" if others else "")


def _needs(demands: Sequence[ManyHands]) -> Iterator[NeedRow]:
    """Beds gathered by what they need: so many people, and which lift."""
    grouped: dict[tuple[int, str], list[str]] = {}
    for demand in demands:
        moves = ", ".join(spaced(task.value) for task in demand.tasks)
        need = (demand.helpers, equipment(demand.equipment))
        grouped.setdefault(need, []).append(f"{demand.bed} ({moves})")
    for (helpers, lift), beds in grouped.items():
        yield NeedRow(in_words.helpers(helpers), lift or "none", "; ".join(beds))


def _cells(row: BedRow) -> tuple[Cell, ...]:
    """A bed's line as plain cells, for measuring; the chart is two lines high, the chip three letters."""
    name = f"{row.bed} {row.label} ({row.assignment})"
    return (
        name,
        (f"    {row.word}", row.people),
        (*row.flags, row.how),
        row.limits,
        row.risk,
        row.goals,
        ("", ""),
        row.until,
    )
