"""The changed beds: more help or less, what it was and is, why; what is true now, never what is gone."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.handing_over.direction import Direction
from mobicard.derive.join.groups import OUT_OF_BED
from mobicard.derive.model import Plan
from mobicard.derive.over_time.handoff_values import BedLine, ChangedBed, GroupedChange
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Level, Task
from mobicard.paper import in_words
from mobicard.paper.clinical_words import spaced
from mobicard.paper.handoff.people import level_word, plan_people, stays_because
from mobicard.paper.handoff.say import Say
from mobicard.scheme.scheme import Scheme

DIRECTION_SAYS = {
    Direction.MORE: "MORE help",
    Direction.LESS: "LESS help",
    Direction.BOTH: "MORE and LESS",
    Direction.SAME: "same help",
    Direction.NEW: "NEW here",
}

MARKS = {Direction.MORE: "more", Direction.LESS: "less", Direction.BOTH: "more", Direction.NEW: "open"}
"""What is drawn before the word: a full triangle up, an empty one down; black and white tell them apart."""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One changed bed: more or less help, its level and people then and now, what else changed, why."""

    bed: str
    label: str
    direction: Say
    was: tuple[Say, ...]
    now: tuple[Say, ...]
    says: tuple[Say, ...]
    why: tuple[Say, ...]


def change_row(bed: ChangedBed, line: BedLine, scheme: Scheme, now: datetime) -> ChangeRow:
    """Everything said of a changed bed, the most important first, before it is fitted."""
    before = line.before
    return ChangeRow(
        bed=bed.bed,
        label=bed.label or "",
        direction=direction_say(line.direction),
        was=(Say("not here"),) if before is None else tuple(_stood(before, scheme)),
        now=tuple(_stood(line.plan, scheme)),
        says=tuple(_new_here(line) if bed.old is None else _what(bed.differences, scheme)),
        why=tuple(dict.fromkeys((*_judged(line.plan), *_why(bed, line)))),
    )


def direction_say(direction: Direction) -> Say:
    """More, less or neither, with its mark."""
    return Say("", DIRECTION_SAYS[direction], mark=MARKS.get(direction, ""))


def _stood(plan: Plan, scheme: Scheme) -> Iterator[Say]:
    yield Say("", level=plan.shown_level.value, word=level_word(plan, scheme))
    yield Say(stays_because(plan, scheme) or plan_people(plan))


def _new_here(line: BedLine) -> Iterator[Say]:
    if line.plan.expired:
        yield Say("see first, above")
    else:
        yield Say(line.plan.headline.method, "Out of bed:")


# -- What else changed ------------------------------------------------------------------------------------


def _what(differences: Sequence[GroupedChange], scheme: Scheme) -> Iterator[Say]:
    """Each difference that level and people do not tell; a caution that ended is dropped."""
    for one in differences:
        if one.what == "cautions":
            if one.new:
                yield Say(one.new, "Now also:", about="cautions")
        elif one.what in ("level", "helpers"):
            if one.new != Level.REMAIN.value:
                yield from _of_moves(one, scheme)
        elif one.what == "equipment":
            yield Say(f"was {one.old}", f"{_moves(one)}: {one.new},", about="equipment")
        elif one.what != "after a fall":
            yield Say(
                f"was {spaced(one.old)}", f"{in_words.sentence(one.what)}: {spaced(one.new)},", about=one.what
            )


def _of_moves(one: GroupedChange, scheme: Scheme) -> Iterator[Say]:
    """Moves of which the two numbers say nothing; and the machine that the moves out of bed now take."""
    gear = _gear(one.new)
    if Task.CHAIR in one.tasks:
        if gear:
            yield Say(gear, "Now with:", about="equipment")
        return
    if all(task in OUT_OF_BED for task in one.tasks):
        return
    yield Say(
        f"was {_level(one.old, scheme)}",
        f"{_moves(one)}: {_level(one.new, scheme)},",
        about=_moves(one).lower(),
    )


def _moves(one: GroupedChange) -> str:
    if len(one.tasks) == len(Task):
        return "Every move"
    return in_words.sentence(", ".join(MOVES[task].says_short for task in one.tasks))


_LEVELLED = re.compile(r"([A-Z]+)(?:, (\d+) helpers?)?(?:, (.*))?")


def _level(text: str, scheme: Scheme) -> str:
    """``LINK, 2 helpers, gait belt`` as ``LINK 2``, the word in this scheme."""
    found = _LEVELLED.fullmatch(text)
    if found is None or found[1] not in Level.__members__:
        return spaced(text)
    return f"{scheme.looks[Level(found[1])].word}{f' {found[2]}' if found[2] else ''}"


def _gear(text: str) -> str:
    found = _LEVELLED.fullmatch(text)
    return found[3] if found is not None and found[3] else ""


# -- Why --------------------------------------------------------------------------------------------------


def _judged(plan: Plan) -> Iterator[Say]:
    """The named person's own judgement, where one is in force."""
    over = plan.override
    if over is not None and not plan.expired:
        yield Say(f"{over.reason}", f"Judged by {over.by}:", about="own judgement")


def _why(bed: ChangedBed, line: BedLine) -> Iterator[Say]:
    """What grew has its new reasons; what eased, the facts as they are now, never a reason that is gone."""
    if bed.old is None:
        yield from (
            ()
            if line.plan.expired
            else (Say(one.says, about="reasons") for one in line.plan.headline.reasons)
        )
        return
    facts = line.record.as_json()
    for one in bed.differences:
        if one.eases:
            yield from (
                _true_now(fact, old, facts)
                for reason in one.why
                for fact, old in _facts(reason.because, facts)
            )
        elif one.what != "cautions":
            new = (reason for reason in one.why if not reason.rule.startswith("override."))
            yield from (Say(reason.says, about=_about(reason.because)) for reason in new)


def _facts(because: Mapping[str, object], now: Mapping[str, object]) -> Iterator[tuple[str, object]]:
    """The facts of a reason that is gone which differ by now and are said in a word."""
    for fact, old in because.items():
        new = _now(fact, now)
        if isinstance(old, str) and isinstance(new, str) and new != old:
            yield fact, old


def _true_now(fact: str, old: object, facts: Mapping[str, object]) -> Say:
    name = _fact_name(fact)
    return Say(
        f"{spaced(str(_now(fact, facts)))} (was {spaced(str(old))})",
        f"{in_words.sentence(name)}:",
        about=name,
    )


def _now(fact: str, facts: Mapping[str, object]) -> object:
    here: object = facts
    for part in fact.split("."):
        here = here.get(part) if isinstance(here, Mapping) else None
    return here


def _fact_name(fact: str) -> str:
    group, _, task = fact.partition(".")
    if group == "help" and task in {one.value for one in Task}:
        return MOVES[Task(task)].says_short
    return spaced(fact.replace(".", " ").removesuffix("_kg").removesuffix("_cm"))


def _about(because: Mapping[str, object]) -> str:
    return ", ".join(_fact_name(fact) for fact in because) or "the move itself"
