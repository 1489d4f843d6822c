"""How many plans a second one core makes, and what bounds it. Run by hand: python tests/bench/engine.py

Times are CPU time of this process, so a busy machine slows them less. Three rates: the same ward planned
again (all day on the board), every patient new (a census import), one bed over and over; then a profile.
"""

from __future__ import annotations

import cProfile
import pstats
import random
import statistics
import time
from collections.abc import Callable
from datetime import datetime
from typing import Any

from mobicard.derive import Policy, plan_for
from mobicard.derive.join.most_protective import outcome
from mobicard.facts import Record, read_record
from mobicard.facts.words import Alertness, Arms, Balance, Behavior, Directions, Help, Stepping, Task, Word

NOW = datetime(2026, 3, 2, 8, 0)
POLICY = Policy()
LADDERS: dict[str, type[Word]] = {
    "alertness": Alertness,
    "directions": Directions,
    "behavior": Behavior,
    "sitting": Balance,
    "standing": Balance,
    "stepping": Stepping,
    "arms": Arms,
}


def ward(beds: int, seed: int) -> list[Record]:
    """Invented patients, most of them well in most things, as on a ward."""
    pick = random.Random(seed)
    return [read_record(_patient(bed, pick)) for bed in range(beds)]


def _patient(bed: int, pick: random.Random) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "bed": f"4W-{bed}",
        "weight_kg": pick.randint(45, 140),
        "assessed_at": "2026-03-02T07:10",
        "help": {task.value: pick.choice(list(Help)[:8]).value for task in Task},
    }
    for name, words in LADDERS.items():
        facts[name] = pick.choices(list(words), [6, *[1] * (len(words) - 1)])[0].value
    if pick.random() < 0.3:
        facts["weight_bearing"] = {"left_leg": {"status": "PWB", "percent": 50}}
    if pick.random() < 0.3:
        facts["precautions"] = ["sternal"]
    if pick.random() < 0.5:
        facts["fall_risk"] = {"instrument": "morse", "answers": {"history": True, "iv": True, "gait": "weak"}}
    if pick.random() < 0.3:
        facts["aids"] = ["front_wheeled_walker"]
    return facts


def rate(records: list[Record], before: Callable[[], object] = lambda: None, rounds: int = 5) -> float:
    """Plans a second of CPU time, the median of some rounds."""
    rates = []
    for _ in range(rounds):
        before()
        started = time.process_time()
        for record in records:
            plan_for(record, POLICY, NOW)
        rates.append(len(records) / (time.process_time() - started))
    return statistics.median(rates)


def main() -> None:
    """Print the figures."""
    records = ward(600, seed=1)
    rate(records, rounds=1)
    print(f"the same 600 beds again:      {rate(records):8,.0f} plans/s")
    print(f"600 beds, nothing remembered: {rate(records, outcome.cache_clear):8,.0f} plans/s")
    one = ward(1, seed=2)
    print(f"one bed, again and again:     {rate(one * 600):8,.0f} plans/s")
    profile = cProfile.Profile()
    profile.enable()
    for record in records:
        plan_for(record, POLICY, NOW)
    profile.disable()
    pstats.Stats(profile).sort_stats("cumulative").print_stats("mobicard", 18)


if __name__ == "__main__":
    main()
