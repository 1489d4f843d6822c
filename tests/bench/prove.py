"""Proves the invariants over more than a hundred million combinations. Run by hand:

    python tests/bench/prove.py [--blocks 400] [--sample 3000] [--mutants] [--processes 2]

``wide.py`` walks blocks of 307,200 combinations, a bit each; blocks are drawn by a seed from some 35,000
(weights, orders, tests, aids, what stands), the first of all always among them. Each move of each block is
held against the invariants, along every step of every fact inside it, and against its worse neighbours. Then
the engine itself, record by record, is compared with the blocks on a seeded sample. ``--mutants`` breaks the
rules one by one (left out, a helper fewer, a level lower) and says how many show.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
import wide

from mobicard.derive import Plan, Policy
from mobicard.derive.fall_risk import assess
from mobicard.derive.join.most_protective import Outcome, outcome
from mobicard.derive.join.what_is_true import common, for_task
from mobicard.derive.vitals import orthostatic
from mobicard.facts import LimbOrder, Record, read_record
from mobicard.facts.words import Level, Limb, Task, WeightBearing
from mobicard.rules.protocol import RULES_FOR
from mobicard.rules.rule import Rule

NOW = datetime(2026, 3, 2, 8, 0)
TASKS = tuple(Task)
RANK = {level: level.rank for level in Level}
LADDERS = wide.INNER
SEED = 20260302
BLOCKS, SAMPLE = 400, 3000
"""How many blocks are walked and how many records compared unless asked otherwise; the label names both."""

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

Joined = list[tuple[Outcome, float]]
"""Each move's outcome, with how many times its helper's limit each helper bears."""


def joins(record: Record, policy: Policy) -> Joined:
    """The ten outcomes, by the same steps as plan_for."""
    risk, _ = assess(record, policy)
    shared = common(record, policy, NOW, risk, orthostatic(record, policy, NOW))
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


# -- The blocks -------------------------------------------------------------------------------------------


def drawn(blocks: int) -> list[wide.Place]:
    """The blocks to walk: the first, every one with nothing else than what stands, then by the seed."""
    every = list(wide.places())
    plain = [place for place in every if not any(place[:4]) and place[5] == 0]
    others = [place for place in every if place not in set(plain)]
    return [*plain, *random.Random(SEED).sample(others, max(blocks - len(plain), 0))][:blocks]


def prove_block(place: wide.Place) -> list[str]:
    """What a block and its worse neighbours break."""
    return [*wide.broken(place, wide.block(place)), *wide.worse_beside(place)]


def combination(place: wide.Place, pick: random.Random) -> tuple[Record, int]:
    """One record of a block, well answers more often than not, and its bit."""
    chosen, at = {}, 0
    for name, ladder in wide.INNER.items():
        answer = pick.choice([0, pick.randrange(len(ladder))])
        at, chosen[name] = at * len(ladder) + answer, ladder[answer]
    seen = chosen.pop("help")
    facts = {**wide.facts_at(place), **{name: one for name, one in chosen.items() if one is not None}}
    facts["help"] = dict.fromkeys((task.value for task in TASKS), seen.value) if seen else {}
    return read_record(facts), at


def differs(place: wide.Place, record: Record, at: int) -> list[str]:
    """Where the engine and the block do not say the same of one record."""
    found = wide.block(place)
    says = []
    for (outcome_, _), task in zip(joins(record, wide.POLICY), TASKS, strict=True):
        level = sum(one >> at & 1 for one in found[task].level) - 1
        people = sum(one >> at & 1 for one in found[task].people) - 1
        mine = None if level == wide.REMAIN else people
        if (RANK[outcome_.level], outcome_.helpers) != (level, mine):
            says.append(f"{task}: engine {outcome_.level} {outcome_.helpers}, block {level} {mine}: {place}")
    return says


def sampled(places: list[wide.Place], many: int) -> list[str]:
    """The engine against the blocks, on a seeded sample of both."""
    pick = random.Random(SEED)
    per = max(many // len(places), 1)
    return [
        text for place in places for _ in range(per) for text in differs(place, *combination(place, pick))
    ]


# -- Rules broken on purpose ------------------------------------------------------------------------------


def mutants(rule: Rule) -> Iterator[tuple[str, Rule | None]]:
    """A rule left out, a helper fewer, a level lower."""
    yield "left out", None
    demand = rule.demand
    if isinstance(demand.helpers, int) and demand.helpers > 1:
        yield "a helper fewer", replace(rule, demand=replace(demand, helpers=demand.helpers - 1))
    if demand.level and demand.level.rank:
        lower = tuple(Level)[demand.level.rank - 1]
        yield "a level lower", replace(rule, demand=replace(demand, level=lower))


def shown(rule: Rule, changed: Rule | None, places: list[wide.Place]) -> str:
    """How a broken rule shows: by an invariant, by another outcome than the engine's, or not at all."""
    other = False
    for place in places:
        record = read_record(wide.facts_at(place))
        said, figures = wide.said(record), wide.figures(record)
        found = dict(wide.block(place))
        for task in rule.tasks:
            rules = (changed if one is rule else one for one in RULES_FOR[task])
            found[task] = wide.asked(task, record, said, figures, tuple(filter(None, rules)))
        if found != wide.block(place):
            other = True
            if next(wide.broken(place, found), ""):
                return "law"
    return "outcome" if other else ""


def count_mutants(places: list[wide.Place]) -> str:
    """How many broken rules show, and which do not."""
    rules = dict.fromkeys(rule for task in TASKS for rule in RULES_FOR[task] if not rule.demand.only_cautions)
    tried = {f"{rule.id} {how}": shown(rule, new, places) for rule in rules for how, new in mutants(rule)}
    missed = [name for name, how in tried.items() if not how]
    laws = sum(how == "law" for how in tried.values())
    says = f"{len(tried)} broken rules: {len(tried) - len(missed)} change an outcome, {laws} break a law"
    return says + f"; no trace (under a stronger rule, or of what no block holds): {', '.join(missed)}"


def main() -> int:
    """Prove the blocks asked for; exit 1 if anything fails."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--blocks", type=int, default=BLOCKS)
    asked.add_argument("--sample", type=int, default=SAMPLE)
    asked.add_argument("--mutants", action="store_true")
    asked.add_argument("--processes", type=int, default=2)
    args = asked.parse_args()
    places = drawn(args.blocks)
    started = time.perf_counter()
    with ProcessPoolExecutor(args.processes) as pool:
        failures = [text for found in pool.map(prove_block, places, chunksize=4) for text in found]
    total, seconds = wide.IN_A_BLOCK * len(places), time.perf_counter() - started
    print(f"{total:,} combinations, {total * len(TASKS):,} moves, {seconds:.0f} s", flush=True)
    started = time.perf_counter()
    failures += sampled(places, args.sample)
    print(
        f"the engine compared on {args.sample:,} of them, {time.perf_counter() - started:.0f} s", flush=True
    )
    print("\n".join(failures[:40]) or "every invariant held")
    if args.mutants:
        print(count_mutants(places[:60]))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
