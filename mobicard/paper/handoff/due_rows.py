"""What is due by the hour: late first, then what is open, then by the clock; together, one row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mobicard.derive.conflicts import in_the_record
from mobicard.derive.handing_over.gravity import sickest_first
from mobicard.derive.over_time.handoff_values import DueItem, Handoff
from mobicard.paper import in_words
from mobicard.paper.clinical_words import short_when
from mobicard.paper.handoff.say import Say

CONFLICT = "conflict"
OPEN_KINDS = (CONFLICT, "order", "question")
"""What has no hour to be late by: it is open until somebody settles it."""

APART = (CONFLICT, "question")
"""Whole sentences, a line each."""

HEADS = {
    "assessment": "Look again",
    "head observations": "Head observations",
    "override": "Own judgement",
    "door card": "Change the door card",
    "order": "Order older than a day, still so?",
    "question": "Question left open",
}

MANY = 5
"""From so many beds on, nearly all of them are named by those that are not meant."""


@dataclass(frozen=True, slots=True)
class DueRow:
    """What is due at one time: ``late``, ``open`` or neither; when; each thing with its beds."""

    mark: str
    at: str
    says: tuple[Say, ...]


def due_rows(handoff: Handoff, *, quoted: bool) -> list[DueRow]:
    """The due list; ``quoted``: what a record disagrees on is said here and not only that it does."""
    rows: dict[tuple[str, str, str], dict[str, list[str]]] = {}
    for item in sorted((one for one in handoff.due if not _above(one)), key=_reading_order):
        at = "" if item.at is None else short_when(item.at)
        apart = ", ".join(item.beds) + item.says if item.kind in APART else ""
        says = rows.setdefault((mark_of(item), at, apart), {})
        says.setdefault(_head(item), []).append(_text(item, handoff, quoted))
    return [
        DueRow(mark, at, tuple(Say("; ".join(texts), f"{head}:") for head, texts in says.items()))
        for (mark, at, _), says in rows.items()
    ]


def _reading_order(item: DueItem) -> int:
    """Late, open, by the clock, without an hour: each in the order it comes."""
    return {"late": 0, "open": 1}.get(mark_of(item), 2 if item.at else 3)


def _above(item: DueItem) -> bool:
    """Told in full by the lines to be seen first: the fall, and an assessment that has ended or never was."""
    return item.kind == "after a fall" or (item.kind == "assessment" and item.overdue)


def mark_of(item: DueItem) -> str:
    """``late``, ``open`` or nothing."""
    if item.kind in OPEN_KINDS and (item.at is None or item.kind == CONFLICT):
        return "open"
    return "late" if item.overdue else ""


def _head(item: DueItem) -> str:
    if item.kind == "order" and item.at is not None:
        return "Order ends, still so?"
    return HEADS.get(item.kind, in_words.sentence(item.kind))


def _text(item: DueItem, handoff: Handoff, quoted: bool) -> str:
    beds = list(dict.fromkeys(item.beds))
    if item.kind == "assessment":
        order = {line.bed: sickest_first(line.plan) for line in handoff.beds}
        first = "sickest first, " if len(beds) > 1 else ""
        return first + ", ".join(sorted(beds, key=lambda bed: order[bed]))
    named = _which(beds, [line.bed for line in handoff.beds])
    if item.kind == "head observations" and item.overdue:
        return f"{named}: {item.says.partition(';')[0]}"
    if item.kind in ("head observations", "door card"):
        return named
    if item.kind == "order" and item.at is None:
        return f"{named} {_undated(item.says)}"
    if item.kind in ("turn", "toilet"):
        return f"{item.says} {named}"
    return f"{named} {(_quoted(item, handoff) if quoted else '') or item.says.removesuffix(': still so?')}"


def _undated(says: str) -> str:
    """An order without its age: the row says already that it is older than a day."""
    return says.partition(" since ")[0]


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
