"""The handoff as lines a reader opens: who is seen first, as on paper, changes, what is due, each bed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import chain

from mobicard.derive.handing_over.gravity import sickest_first
from mobicard.derive.model import Plan, Reason
from mobicard.derive.over_time.handoff_values import (
    BedLine,
    ChangedBed,
    DueItem,
    GroupedChange,
    Handoff,
    ManyHands,
)
from mobicard.facts.words import Level, Task
from mobicard.paper.handoff.ranked import see_first
from mobicard.scheme import Scheme
from mobicard.terminal.card.line import CardLine
from mobicard.terminal.looks import Depth, Part, badge, helpers_say, in_people, named, people_say, safe

COURSE = 10
"""How many assessments of the stay a bed's line shows, the last ones."""


def heading(text: str) -> CardLine:
    """A section's line; it opens nothing."""
    return CardLine(f"head.{text}", ((f" {text} ", "bold reverse"),))


def all_lines(handoff: Handoff, scheme: Scheme, depth: Depth) -> list[CardLine]:
    """The whole handoff, in the order it is read out."""
    lines = list(first_lines(handoff, scheme))
    lines.append(heading(f"Changed since {handoff.since:%d %b %H:%M}: {len(handoff.changed) or 'none'}"))
    for bed in handoff.changed:
        lines += changed_lines(bed, scheme, depth)
    lines.append(heading(f"Due and overdue: {len(handoff.due) or 'none'}"))
    lines += [due_line(item, number) for number, item in enumerate(handoff.due)]
    lines.append(heading(f"Two or more helpers, or a lift: {len(handoff.demands) or 'none'}"))
    lines += [demand_line(demand, scheme, depth) for demand in handoff.demands]
    lines.append(heading(f"Every bed, the gravest first: {len(handoff.beds)}"))
    lines += [bed_line(line, scheme, depth) for line in in_rank(handoff)]
    if handoff.unassigned:
        says = ", ".join(handoff.unassigned)
        lines.append(CardLine("unassigned", (("In nobody's hands: ", "bold"), (says, "bold"))))
    return lines


def in_rank(handoff: Handoff) -> list[BedLine]:
    """The beds as the paper ranks them: the gravest first, of equals in the order of the corridor."""
    return sorted(handoff.beds, key=lambda line: sickest_first(line.plan))


def first_lines(handoff: Handoff, scheme: Scheme) -> Iterator[CardLine]:
    """Who is seen first, and why; the same words as on paper."""
    told = list(see_first(handoff.beds, scheme, handoff.at))
    yield heading(f"See first: {len(told) or 'nobody'}")
    for bed in told:
        says = [((f"{one.lead} ", "bold"), (f"{safe(one.text)}. ", "")) for one in bed.says]
        yield CardLine(f"first.{bed.bed}", ((f"{bed.bed}  ", "bold"), *chain.from_iterable(says)))


def bed_lines(handoff: Handoff, bed: str, scheme: Scheme, depth: Depth) -> list[CardLine]:
    """What the handoff says of one bed, before its card: changes, what is due, goals, the course."""
    lines: list[CardLine] = []
    for changed in (one for one in handoff.changed if one.bed == bed):
        lines += changed_lines(changed, scheme, depth)
    if not lines:
        lines.append(CardLine("same", ((f"Not changed since {handoff.since:%d %b %H:%M}.", "bold"),)))
    lines += [due_line(item, n, alone=True) for n, item in enumerate(handoff.due) if bed in item.beds]
    line = next(one for one in handoff.beds if one.bed == bed)
    if line.goals:
        says = ", ".join(f"{_move(goal.task)} {goal.done} of {goal.wanted} times" for goal in line.goals)
        lines.append(CardLine("goals", (("Goals this shift: ", "bold"), (says, ""))))
    if line.history:
        lines.append(CardLine("course", (("Level over the stay: ", "bold"), *_course(line, scheme))))
    return lines


def changed_lines(bed: ChangedBed, scheme: Scheme, depth: Depth) -> Iterator[CardLine]:
    """One bed's changes: old level and new, then each difference, which opens its why."""
    old = f"{scheme.looks[bed.old].word} -> " if bed.old and bed.old is not bed.new else "new here: "
    old = "" if bed.old is bed.new else old
    way = " less help" if bed.eases else ""
    parts: tuple[Part, ...] = (
        (f"{named(bed.bed, bed.label)}  ", "bold"),
        (old, ""),
        badge(scheme.looks[bed.new], depth),
    )
    yield CardLine(f"changed.{bed.bed}", (*parts, (way, "")))
    for number, change in enumerate(bed.differences):
        yield CardLine(f"changed.{bed.bed}.{number}", tuple(_difference(change)), _why(change))


def _why(change: GroupedChange) -> tuple[Reason, ...]:
    """What eased has the reasons that are gone: said so, or they would contradict the new level."""
    if not change.eases:
        return change.why
    return tuple(replace(reason, says=f"No longer: {reason.says}") for reason in change.why)


def _difference(change: GroupedChange) -> Iterator[Part]:
    moves = ", ".join(_move(task) for task in change.tasks)
    yield "    ", ""
    yield f"{moves or change.what}: ".capitalize(), "bold"
    if change.what == "cautions":
        says = f"now also: {change.new}" if change.new else f"no longer: {change.old}"
    else:
        says = f"{change.old} -> {change.new}"
    yield in_people(says), ""


def due_line(item: DueItem, number: int, *, alone: bool = False) -> CardLine:
    """Something to do, with the beds it is for unless one bed stands alone.

    What is late says so; a conflict has no hour to be late by, it is open.
    """
    when = "OPEN " if item.kind == "conflict" else "LATE " if item.overdue else ""
    at = f"{item.at:%H:%M} " if isinstance(item.at, datetime) else ""
    beds = ", ".join(item.beds) if len(item.beds) <= 8 else f"{len(item.beds)} beds"
    head = f"{when}{at}{item.kind}: "
    why: tuple[Reason, ...] = ()
    if alone:
        return CardLine(f"due.{number}", ((head, "bold"), (safe(item.says), "")))
    if len(item.beds) > 8:
        why = (Reason("beds", ", ".join(item.beds), {}, item.kind),)
    return CardLine(f"due.{number}", ((head, "bold"), (f"{safe(item.says)}  ", ""), (beds, "bold")), why)


def demand_line(demand: ManyHands, scheme: Scheme, depth: Depth) -> CardLine:
    """A bed that takes two people or a lift: the moves and what to bring."""
    moves = ", ".join(_move(task) for task in demand.tasks)
    gear = ", ".join(item.value.replace("_", " ") for item in demand.equipment)
    parts: tuple[Part, ...] = (
        (f"{demand.bed:<9} ", "bold"),
        badge(scheme.looks[demand.level], depth, width=6),
        (f" {helpers_say(demand.helpers)}", "bold"),
        (f"; {gear}" if gear else "", ""),
        (f"; {moves}", ""),
    )
    return CardLine(f"demand.{demand.bed}", parts)


def bed_line(line: BedLine, scheme: Scheme, depth: Depth) -> CardLine:
    """A bed in one line; it opens the reasons of its level."""
    door = "" if line.door_ok else "; old door card"
    own = f"; own judgement of {safe(line.plan.override.by)}" if line.plan.override else ""
    parts: tuple[Part, ...] = (
        (f"{named(line.bed, line.label):<12} ", "bold"),
        badge(scheme.looks[line.level], depth, width=6),
        (f" {people_say(line.plan)}; {_holds(line.plan)}{door}{own}", ""),
    )
    return CardLine(f"bed.{line.bed}", parts, line.plan.headline.reasons)


def _holds(plan: Plan) -> str:
    if plan.expired:
        return f"no longer holds; {safe(plan.last_known.says)}" if plan.last_known else "no longer holds"
    return f"until {plan.valid_until:%H:%M}" if plan.valid_until else "not assessed"


def _course(line: BedLine, scheme: Scheme) -> Iterable[Part]:
    """The level at each assessment, oldest first, as glyph and word's first letter."""
    past: Sequence[tuple[datetime, Level]] = line.history[-COURSE:]
    before = "... " if len(line.history) > COURSE else ""
    marks = " ".join(f"{scheme.looks[level].glyph}{scheme.looks[level].word[0]}" for _, level in past)
    first, last = past[0][0], past[-1][0]
    yield f"{before}{marks}", "bold"
    yield f"  {first:%d %b %H:%M} to {last:%d %b %H:%M}", ""


def _move(task: Task) -> str:
    return task.value.replace("_", " ")
