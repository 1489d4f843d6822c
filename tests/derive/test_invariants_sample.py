"""A seeded sample of the exhaustive proof in tests/bench/prove.py, small enough to run every time."""

from __future__ import annotations

import random
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent / "bench"))
from prove import LADDERS, NOW, ORDERS, WEIGHTS, broken, drawn, joins, not_the_same, prove_block, sampled

from mobicard.derive import Plan, Policy, TaskPlan, plan_for
from mobicard.facts import Record
from mobicard.facts.words import Help, Task

POLICY = Policy()
PICK = random.Random(20260302)


def combination() -> list[int]:
    """A place on every ladder, the last two for weight and order; well answers more often than not."""
    places = [PICK.choice([0, 0, PICK.randrange(len(ladder))]) for ladder in LADDERS.values()]
    return [*places, PICK.randrange(len(WEIGHTS)), PICK.randrange(len(ORDERS))]


def record(places: list[int], not_done: Help = Help.REFUSED) -> Record:
    *facts, weight, order = places
    chosen: dict[str, Any] = {
        name: ladder[at] for (name, ladder), at in zip(LADDERS.items(), facts, strict=True)
    }
    seen = chosen.pop("help")
    seen = not_done if seen is Help.REFUSED else seen
    return Record(
        bed="4W-12A",
        assessed_at=datetime(2026, 3, 2, 7, 10),
        weight_kg=WEIGHTS[weight],
        weight_bearing=ORDERS[order],
        help=dict.fromkeys(Task, seen) if seen is not None else {},
        **{name: fact for name, fact in chosen.items() if fact is not None},
    )


def plan(places: list[int], not_done: Help = Help.REFUSED) -> Plan:
    return plan_for(record(places, not_done), POLICY, NOW)


def asks(move: TaskPlan) -> tuple[int, int, frozenset[str]]:
    return move.level_rank, 99 if move.helpers is None else move.helpers, frozenset(move.cautions)


def test_a_thousand_combinations_and_every_step_from_each() -> None:
    """Each holds the invariants, and one step worse on any ladder asks for no less."""
    sizes = [len(ladder) for ladder in LADDERS.values()] + [len(WEIGHTS), len(ORDERS)]
    steps = 0
    for _ in range(1000):
        places = combination()
        before = plan(places)
        joined = joins(record(places), POLICY)
        assert broken(joined, record(places)) == []
        assert not_the_same(before, joined) == []
        at = PICK.choice([at for at, size in enumerate(sizes) if places[at] + 1 < size] or [0])
        if places[at] + 1 < sizes[at]:
            after = plan([*places[:at], places[at] + 1, *places[at + 1 :]])
            steps += 1
            for task in Task:
                was, now = asks(before.tasks[task]), asks(after.tasks[task])
                assert now[0] >= was[0], (places, at, task)
                assert now[1] >= was[1], (places, at, task)
                assert now[2] >= was[2], (places, at, task)
    assert steps > 900


def test_all_reasons_for_not_done_ask_alike() -> None:
    """The proof walks one of the four reasons; the others plan the same, in their own words."""
    refused = list(LADDERS["help"]).index(Help.REFUSED)
    for _ in range(40):
        places = combination()
        places[7] = refused
        expected = [asks(move) for move in plan(places).tasks.values()]
        for reason in (Help.NOT_APPLICABLE, Help.NOT_ATTEMPTED_ENVIRONMENT, Help.NOT_ATTEMPTED_SAFETY):
            assert [asks(move) for move in plan(places, reason).tasks.values()] == expected


def test_three_million_combinations_and_the_engine_says_the_same() -> None:
    """Ten blocks of the wide proof hold, with their worse neighbours; the engine agrees on a sample."""
    places = [*drawn(200)[:40:8], *drawn(200)[100::20]]
    assert [text for place in places for text in prove_block(place)] == []
    assert sampled(places, 60) == []
