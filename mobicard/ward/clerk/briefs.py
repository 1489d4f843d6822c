"""Which moves of the shift are briefed on the sheet behind a bedside card: the hardest first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime

from mobicard.derive.brief import Brief
from mobicard.derive.brief.compose import brief_of
from mobicard.derive.brief.ways import Way
from mobicard.facts.words import Task
from mobicard.hands.day import shift_at
from mobicard.hands.moves_asked import BedNeed, moves_asked
from mobicard.paper.brief.second_side import HALVES, SIDES, Back
from mobicard.paper.door.face import BedCard
from mobicard.paper.phrases import Phrases, in_their_language
from mobicard.rules.policy import Policy


def back_of(
    card: BedCard, policy: Policy, now: datetime, phrases: Mapping[str, Phrases] | None = None
) -> Back:
    """The sheet behind one bed's card, at ward time ``now``; ``phrases`` as for ``in_their_language``."""
    spoken = card.record.communication
    language = spoken.language if spoken else None
    found = (in_their_language(one, language, phrases) for one in _briefs(card, policy, now))
    briefs = sorted(found, key=lambda one: (-(one.helpers or 0), -one.level.rank))
    waits = all(move.helpers is None for move in card.plan.tasks.values())
    room = HALVES * SIDES
    left = tuple(one.says for one in briefs[room:])
    return Back(card.record.bed, tuple(briefs[:room]), left, waits)


def _briefs(card: BedCard, policy: Policy, now: datetime) -> Iterator[Brief]:
    """Of each move that the shift asks for and that needs hands."""
    for task in moves_of_the_shift(card, policy, now):
        brief = brief_of(card.record, card.plan, task)
        if brief.way not in (Way.ALONE, Way.NOT_NOW):
            yield brief


def moves_of_the_shift(card: BedCard, policy: Policy, now: datetime) -> list[Task]:
    """Turns, toilet rounds, goals and booked moves of this shift, in the order of a day."""
    need = BedNeed(card.record, card.plan)
    asked = {move.task for move in moves_asked([need], policy.hands, shift_at(now, policy.shift)).moves}
    return [task for task in Task if task in asked]
