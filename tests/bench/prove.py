"""Proves the invariants by going through every combination of the deciding facts. Run by hand:

    python tests/bench/prove.py [--slices N] [--processes 2]

Each slice is one weight and one order for the legs; within it every combination of the seven deciding facts
(absent ones included) and of the observed help (eight kinds seen, one not done, absent), the help being the
same for all ten moves, so that one record proves ten. What is walked is the joined outcome of each move;
every hundredth record also goes through plan_for whole, which must say the same. Monotone is checked along
every step of every fact, and from slice to slice along heavier weights and tighter orders. The other three
reasons for "not done" are compared with the first in the sample that runs with the tests.
"""

from __future__ import annotations

import argparse
import sys
import time
from array import array
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime
from itertools import product
from math import prod
from typing import Any

from mobicard.derive import Plan, Policy, plan_for
from mobicard.derive.join.most_protective import Outcome, outcome
from mobicard.derive.join.what_is_true import common, for_task
from mobicard.facts import LimbOrder, Record
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
)

NOW = datetime(2026, 3, 2, 8, 0)
TASKS = tuple(Task)
RANK = {level: level.rank for level in Level}

LADDERS: dict[str, tuple[Any, ...]] = {
    "alertness": (*Alertness, None),
    "directions": (*Directions, None),
    "behavior": (*Behavior, None),
    "sitting": (*Balance, None),
    "standing": (*Balance, None),
    "stepping": (*Stepping, None),
    "arms": (*Arms, None),
    "help": (*[answer for answer in Help if answer.was_done], Help.REFUSED, None),
}
"""Each fact from best to worst, absent last."""

SIZES = tuple(len(ladder) for ladder in LADDERS.values())
COMBINATIONS = prod(SIZES)

PWB = LimbOrder(status=WeightBearing.PWB, percent=50)
NWB = LimbOrder(status=WeightBearing.NWB)
ORDERS: tuple[dict[Limb, LimbOrder], ...] = (
    {},
    {Limb.LEFT_LEG: PWB},
    {Limb.LEFT_LEG: NWB},
    {Limb.LEFT_LEG: NWB, Limb.RIGHT_LEG: NWB},
)
WEIGHTS = (55.0, 95.0, 150.0)
"""kg: under every bound; over 200 lb; over 300 lb."""

SLICES = (*product(range(2), range(2)), *((w, o) for w in range(3) for o in range(4) if w == 2 or o >= 2))
"""Four by default: two weights by two orders; all twelve on request."""


@dataclass
class Proved:
    """What one slice gave: for each task its asking (level and helpers) and its cautions, and what failed."""

    asks: list[array[int]]
    cautions: list[array[int]]
    failures: list[str] = field(default_factory=list)
    seconds: float = 0.0


def records(weight: float, orders: dict[Limb, LimbOrder]) -> Iterator[Record]:
    """Every combination, the last fact (help) turning fastest."""
    *names, _ = LADDERS
    for *facts, seen in product(*LADDERS.values()):
        yield Record.model_construct(
            bed="4W-12A",
            weight_kg=weight,
            weight_bearing=orders,
            assessed_at=datetime(2026, 3, 2, 7, 10),
            help=dict.fromkeys(TASKS, seen) if seen is not None else {},
            **{name: fact for name, fact in zip(names, facts, strict=True) if fact is not None},
        )


CAUTION_BITS: dict[str, int] = {}


def _bits(cautions: tuple[str, ...], known: dict[tuple[str, ...], int]) -> int:
    if cautions not in known:
        known[cautions] = sum(1 << _place(text) for text in cautions)
    return known[cautions]


def _place(text: str) -> int:
    """A stable bit for each caution, the same in every process."""
    from mobicard.rules.protocol import RULES

    if not CAUTION_BITS:
        texts = dict.fromkeys(text for rule in RULES for text in rule.demand.cautions)
        CAUTION_BITS.update({text: place for place, text in enumerate(texts)})
    return CAUTION_BITS[text]


def prove_slice(place: tuple[int, int]) -> Proved:
    """All combinations of one slice: total, explained, load-bound, limits kept; and what monotone needs."""
    started = time.process_time()
    weight, orders = WEIGHTS[place[0]], ORDERS[place[1]]
    policy = Policy()
    found = Proved([array("B") for _ in TASKS], [array("L") for _ in TASKS])
    known: dict[tuple[str, ...], int] = {}
    for number, record in enumerate(records(weight, orders)):
        joined = joins(record, policy)
        if len(found.failures) < 20:
            found.failures += broken(joined, record)
            if number % 100 == 0:
                found.failures += not_the_same(plan_for(record, policy, NOW), joined)
        for at, (outcome_, _) in enumerate(joined):
            helpers = 15 if outcome_.helpers is None else outcome_.helpers
            found.asks[at].append(RANK[outcome_.level] * 16 + helpers)
            found.cautions[at].append(_bits(outcome_.cautions, known))
    found.seconds = time.process_time() - started
    return found


Joined = list[tuple[Outcome, float]]
"""Each move's outcome, with how many times its helper's limit each helper bears."""


def joins(record: Record, policy: Policy) -> Joined:
    """The ten outcomes, by the same steps as plan_for."""
    shared = common(record, policy, NOW, None, None)
    found = []
    for task in TASKS:
        now = for_task(task, shared, record, policy, None)
        joined = outcome(task, now.said, now.worst, now.figures)
        by_hand = bool(now.load_lb and joined.helpers) and RANK[joined.level] <= RANK[Level.TEAM]
        found.append(
            (joined, now.load_lb / joined.movers / shared.limit_lb if by_hand and now.load_lb else 0.0)
        )
    return found


def broken(joined: Joined, record: Record) -> list[str]:
    """What one record's outcomes break; nothing, if the engine is right."""
    says = []
    for task, (found, load) in zip(TASKS, joined, strict=True):
        if not found.stated or not all(one.rule and one.source for one in found.stated):
            says.append(f"{task} unexplained")
        if (found.helpers is None) != (found.level is Level.REMAIN):
            says.append(f"{task} says nothing")
        if load > 1 + 1e-9:
            says.append(f"{task} loads a helper with {load:.2f} of the limit")
    legs = [order.status for order in record.weight_bearing.values()]
    if legs.count(WeightBearing.NWB) == 2 and joined[TASKS.index(Task.STAND)][0].level is not Level.REMAIN:
        says.append("stands on two legs that may bear nothing")
    return [f"{text}: {record.as_json()}" for text in says]


def not_the_same(plan: Plan, joined: Joined) -> list[str]:
    """Where the whole plan says anything but the joined outcomes."""
    return [
        f"{task}: the plan differs from its outcome"
        for (task, move), (found, _) in zip(plan.tasks.items(), joined, strict=True)
        if (move.level, move.helpers, move.cautions, move.equipment)
        != (found.level, found.helpers, found.cautions, found.equipment)
        or [reason.rule for reason in move.reasons] != [one.rule for one in found.stated]
        or (move.share_lb is not None and move.limit_lb is not None and move.share_lb > move.limit_lb)
    ]


# -- Monotone ---------------------------------------------------------------------------------------------


def monotone_within(found: Proved) -> Iterator[str]:
    """Along every step of every fact inside a slice."""
    import numpy as np

    for at, task in enumerate(TASKS):
        asks = np.frombuffer(found.asks[at], dtype=np.uint8).reshape(SIZES)
        cautions = np.frombuffer(found.cautions[at], dtype=np.uint64).reshape(SIZES)
        for axis, name in enumerate(LADDERS):
            yield from _compare(
                np.delete(asks, -1, axis), np.delete(asks, 0, axis),
                np.delete(cautions, -1, axis), np.delete(cautions, 0, axis), f"{task}: {name} worse",
            )  # fmt: skip


def monotone_between(less: Proved, more: Proved, what: str) -> Iterator[str]:
    """From one slice to a heavier or tighter one."""
    import numpy as np

    for at, task in enumerate(TASKS):
        pair = [np.frombuffer(side.asks[at], dtype=np.uint8) for side in (less, more)]
        marks = [np.frombuffer(side.cautions[at], dtype=np.uint64) for side in (less, more)]
        yield from _compare(*pair, *marks, f"{task}: {what}")


def _compare(less: Any, more: Any, fewer: Any, others: Any, what: str) -> Iterator[str]:
    """Level and helpers each no lower, no caution lost."""
    lower = ((more >> 4) < (less >> 4)) | ((more & 15) < (less & 15))
    lost = (fewer & ~others) != 0
    if lower.any():
        yield f"{what}: {int(lower.sum())} plans ask for less"
    if lost.any():
        yield f"{what}: {int(lost.sum())} plans lose a caution"


def between(done: dict[tuple[int, int], Proved]) -> Iterator[str]:
    """Every pair of proved slices that differ by one step."""
    for (weight, order), less in done.items():
        heavier, tighter = done.get((weight + 1, order)), done.get((weight, order + 1))
        if heavier:
            yield from monotone_between(less, heavier, f"{WEIGHTS[weight]} to {WEIGHTS[weight + 1]} kg")
        if tighter:
            yield from monotone_between(less, tighter, f"orders {order} to {order + 1}")


def main() -> int:
    """Prove the slices asked for; exit 1 if anything fails."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--slices", type=int, default=4, choices=range(1, len(SLICES) + 1))
    asked.add_argument("--processes", type=int, default=2)
    args = asked.parse_args()
    places = SLICES[: args.slices]
    started = time.perf_counter()
    failures: list[str] = []
    done: dict[tuple[int, int], Proved] = {}
    with ProcessPoolExecutor(args.processes) as pool:
        for place, found in zip(places, pool.map(prove_slice, places), strict=True):
            done[place] = found
            failures += [*found.failures, *monotone_within(found)]
            rate = COMBINATIONS / found.seconds
            where = f"{WEIGHTS[place[0]]:.0f} kg, orders {place[1]}"
            print(f"{where}: {COMBINATIONS:,} combinations, {rate:,.0f}/s", flush=True)
    failures += between(done)
    total = COMBINATIONS * len(done)
    seconds = time.perf_counter() - started
    print(f"{total:,} combinations, {total * len(TASKS):,} moves, {seconds:.0f} s")
    print("\n".join(failures[:40]) or "every invariant held")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
