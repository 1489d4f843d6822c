"""What would change a plan: for a wish, the smallest sets of facts that would have to be otherwise."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from typing import Any

from mobicard.derive.as_json import AsJson
from mobicard.derive.equipment import Inventory
from mobicard.derive.fall_risk import instruments
from mobicard.derive.plan import plan_for
from mobicard.facts import Record
from mobicard.facts.body import OneSided
from mobicard.facts.moves import ROWS
from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Level,
    Limb,
    Stepping,
    Task,
    WeightBearing,
    WeightByEye,
    Word,
)
from mobicard.rules.policy import Policy

MOST = 3
"""Facts in a set: what would take more is no small change."""

SHOWN = 8
"""Sets that are told."""

_LADDERS: Mapping[str, type[Word]] = {
    "alertness": Alertness,
    "directions": Directions,
    "behavior": Behavior,
    "sitting": Balance,
    "standing": Balance,
    "stepping": Stepping,
    "arms": Arms,
}
_RAISED = {leg: {"straight_leg_raise": True} for leg in (Limb.LEFT_LEG, Limb.RIGHT_LEG)}
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4}
_WISH = re.compile(r"(?P<move>.+?)\s+(?:(?P<alone>alone)|with\s+(?P<people>\w+)|by\s+(?P<level>\w+))")


@dataclass(frozen=True, slots=True)
class Wish:
    """A move with at most so many helpers, or at most this level."""

    task: Task
    helpers: int | None = None
    level: Level | None = None

    def holds(self, record: Record, policy: Policy, now: datetime, inventory: Inventory | None) -> bool:
        """Whether the plan of a record grants it."""
        move = plan_for(record, policy, now, inventory).tasks[self.task]
        if self.level is not None:
            return move.level.rank <= self.level.rank
        return move.helpers is not None and self.helpers is not None and move.helpers <= self.helpers


@dataclass(frozen=True, slots=True)
class Needed(AsJson):
    """One fact that would have to be otherwise: as it is, and as somebody would have to find it."""

    fact: str
    now: str
    then: str


Value = tuple[str, Any]
"""What a fact would be: in words, and as the record takes it."""


def read_wish(text: str) -> Wish:
    """A wish as people write it: ``walk with 1``, ``up to chair alone``, ``chair by LINK``.

    Raises ValueError in words.
    """
    found = _WISH.fullmatch(" ".join(text.split()))
    task = _task(found["move"]) if found else None
    if not found or task is None:
        raise ValueError(f"“{text}” is no wish; write a move and how: walk with 1, chair by LINK")
    if found["level"]:
        if found["level"].upper() not in Level.__members__:
            raise ValueError(f"“{found['level']}” is no level; write one of {', '.join(Level)}")
        return Wish(task, level=Level[found["level"].upper()])
    people = "0" if found["alone"] else str(_NUMBERS.get(found["people"].lower(), found["people"]))
    if not people.isdecimal():
        raise ValueError(f"“{found['people']}” is no number of helpers")
    return Wish(task, helpers=int(people))


def _task(said: str) -> Task | None:
    name = said.casefold().replace("_", " ")
    for row in ROWS:
        if name in (row.task.value.replace("_", " "), row.says.casefold(), row.says_short.casefold()):
            return row.task
    return None


def what_would_change(
    record: Record, wish: Wish, policy: Policy, now: datetime, inventory: Inventory | None = None
) -> tuple[tuple[Needed, ...], ...]:
    """The smallest sets of facts that would have to be found otherwise for the wish to hold.

    One empty set where it holds already; none where no three facts would do; of an ended assessment a new
    look stands in each. Each fact in the nearest better answer that is enough. It says what would have to be
    observed; it is no way to write it down.
    """
    at = record.assessed_at
    if at is not None and plan_for(record, policy, now, inventory).expired:
        again = Needed("assessed_at", f"{at:%d %b %H:%M}, ended", "looked at again")
        fresh = what_would_change(record, wish, policy, at, inventory)
        return tuple((again, *needed) for needed in fresh)
    if wish.holds(record, policy, now, inventory):
        return ((),)
    better = {fact: tuple(values) for fact, values in _better(record, wish.task, policy) if values}

    def granted(values: Mapping[str, Value]) -> bool:
        return wish.holds(_with(record, values), policy, now, inventory)

    for size in range(1, MOST + 1):
        sets = combinations(better, size)
        enough = [facts for facts in sets if granted({fact: better[fact][-1] for fact in facts})]
        if enough:
            return tuple(_nearest(record, facts, better, granted) for facts in enough[:SHOWN])
    return ()


def _nearest(
    record: Record,
    facts: Sequence[str],
    better: Mapping[str, tuple[Value, ...]],
    granted: Callable[[Mapping[str, Value]], bool],
) -> tuple[Needed, ...]:
    """Each fact of a set that is enough in its nearest answer that still is."""
    chosen = {fact: better[fact][-1] for fact in facts}
    for fact in facts:
        chosen[fact] = next(value for value in better[fact] if granted({**chosen, fact: value}))
    return tuple(Needed(fact, _now(record, fact), chosen[fact][0]) for fact in facts)


def _better(record: Record, task: Task, policy: Policy) -> Iterator[tuple[str, list[Value]]]:
    """Every fact that could be found better, with its better answers, the nearest first."""
    for fact, ladder in _LADDERS.items():
        yield fact, _steps(ladder, getattr(record, fact))
    seen = record.help.get(task)
    done = [answer for answer in Help if answer.was_done]
    yield f"help.{task.value}", _steps(done, seen if seen in done else None)
    if record.helpers_used.get(task, 0) > 1:
        yield f"helpers_used.{task.value}", [("1", 1)]
    if record.counted_kg is None:
        yield "weight_by_eye", [(_said(one), one.value) for one in reversed(WeightByEye) if one.at_most_kg]
    for item in record.precautions:
        yield f"precautions.{item.value}", [("over, by order", None)]
    for limb, order in record.weight_bearing.items():
        if order.status is WeightBearing.ABSENT_LIMB:
            continue
        yield f"weight_bearing.{limb.value}", [("no limit, by order", None)]
    if record.vitals is not None:
        yield "vitals", [("within the limits", None)]
    if record.lines:
        yield "lines", [("none", ())]
    if record.weak_side not in (None, OneSided.NONE):
        yield "weak_side", [("none", OneSided.NONE)]
    if record.neglect not in (None, OneSided.NONE):
        yield "neglect", [("none", OneSided.NONE)]
    if record.lines or record.legs:
        yield "legs", [("both raised straight", _RAISED)]
    if record.fall_risk is None:
        yield "fall_risk", [("asked, and not high", _lowest(policy))]


def _lowest(policy: Policy) -> dict[str, Any]:
    """The least answers of the unit's first instrument."""
    used = next(iter(instruments(policy).values()))
    least = {key: min(item.answers, key=lambda one: one.points).value for key, item in used.items.items()}
    return {"instrument": used.id, "answers": least}


def _steps(ladder: Any, answer: Word | None) -> list[Value]:
    better = [one for one in ladder if answer is None or one.rank < answer.rank]
    return [(_said(one), one.value) for one in reversed(better)]


def _said(word: Word) -> str:
    return word.value.replace("_", " ")


def _now(record: Record, fact: str) -> str:
    top, _, inner = fact.partition(".")
    value = getattr(record, top)
    if top == "precautions":
        return "stands"
    value = value.get(inner) if inner and value is not None else value
    if top == "weight_bearing":
        value = value.status
    if value and top in ("vitals", "lines", "legs"):
        return "as recorded"
    return "not assessed" if value is None else str(value).replace("_", " ")


def _with(record: Record, values: Mapping[str, Value]) -> Record:
    """The record as it would be: orders that are over leave it, a drop that was measured away goes too."""
    facts: dict[str, Any] = {}
    for fact, (_, value) in values.items():
        top, _, inner = fact.partition(".")
        if top == "precautions":
            left = facts.get(top, record.precautions)
            facts[top] = tuple(item for item in left if str(item) != inner)
        elif top == "weight_bearing":
            orders = facts.get(top, dict(record.weight_bearing))
            facts[top] = {limb: order for limb, order in orders.items() if str(limb) != inner}
        elif inner:
            facts[top] = {**facts.get(top, getattr(record, top)), Task(inner): value}
        else:
            facts[top] = value
    if "vitals" in facts:
        facts["pressure_drop"] = None
    return record.changed(**facts)
