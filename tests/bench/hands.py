"""Day plans by hand: bound, value, seconds and the peak against a round on the hour.

Run: python -m tests.bench.hands [seconds]   (from the top of the checkout)
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta

from mobicard.derive import plan_for
from mobicard.derive.equipment import Inventory
from mobicard.facts import Record
from mobicard.hands.day import plan_day
from mobicard.hands.moves_asked import BedNeed
from mobicard.hands.schedule import DayPlan, on_the_hour, peak_together
from mobicard.hands.sharing import BY_HAND
from mobicard.hands.supply import OnDuty, Span, Supply, units_of
from mobicard.rules.policy import Policy

START = datetime(2026, 3, 2, 7, 0)
SHIFT = Span(START, START + timedelta(hours=12))
POLICY = Policy()
KINDS = (
    ("walks alone", {"standing": "steady", "stepping": "walks"}, "independent"),
    ("stand by", {"standing": "steady", "stepping": "walks"}, "standby"),
    ("one helper", {"standing": "supported", "stepping": "pivots"}, "contact_guard"),
    ("two helpers", {"standing": "supported", "stepping": "pivots"}, "minimal"),
    ("by lift", {"standing": "unable", "stepping": "unable"}, "total"),
)
SIZES = ((12, 5), (24, 8), (24, 10), (40, 12), (40, 16), (100, 30), (200, 60))


def beds(count: int, seed: int) -> Iterator[BedNeed]:
    """Invented patients of five kinds, each with goals and rounds that suit."""
    rng = random.Random(seed)
    for n in range(count):
        _, stance, effort = KINDS[kind := rng.choices(range(5), (2, 4, 6, 5, 3))[0]]
        tasks = ("boost", "turn", "sit_up", "stand", "chair", "toilet", "walk", "stretcher", "floor")
        facts = {
            "bed": f"7S-{n // 2 + 1:02d}{'AB'[n % 2]}",
            "weight_kg": rng.randint(48, 120),
            "assessed_at": START + timedelta(minutes=5),
            "alertness": "alert",
            "directions": "reliable",
            "behavior": "calm",
            "sitting": "steady",
            "arms": "both",
            "help": dict.fromkeys(tasks, effort),
            **stance,
            "goals": [{"task": "chair", "times_per_shift": rng.choice((1, 2, 2, 3))}],
        }
        if kind < 3:
            facts["goals"].append({"task": "walk", "times_per_shift": rng.choice((1, 2))})
        if kind >= 3:
            facts["turn_every_h"] = rng.choice((2, 2, 3, 4))
        if kind in (1, 2) and rng.random() < 0.4:
            facts["toilet_every_h"] = rng.choice((3, 4))
        record = Record.model_validate(facts)
        yield BedNeed(record, plan_for(record, POLICY, START + timedelta(minutes=10)), START)


def supply(count: int, needs: list[BedNeed]) -> Supply:
    """Nurses and aides, three to two, breaks in turn between the meals; the default inventory's lifts."""
    nurses = -(-count * 3 // 5)
    names = [need.record.bed for need in needs]
    people = []
    for n in range(count):
        place, group = (n, nurses) if n < nurses else (n - nurses, count - nurses)
        own = tuple(bed for k, bed in enumerate(names) if k * group // len(names) == place)
        staff = OnDuty(f"S{n + 1:02d}", "nurse" if n < nurses else "aide", own, (SHIFT,))
        for hour, length in ((9.75 + n % 4 * 0.25, 15), (14.25 + n % 4 * 0.5, 30)):
            start = START + timedelta(hours=hour - 7)
            staff = staff.away(Span(start, start + timedelta(minutes=length)))
        people.append(staff)
    return Supply(tuple(people), units_of(Inventory.default())[0])


def row(count: int, people: int, plan: DayPlan, there: Supply) -> str:
    """One line of the table."""
    q = plan.quality
    bounds = f"{q.waiting_bound}/{q.peak_bound}" if q.bound is not None else "-"
    value, bound = (str(q.value), str(q.bound)) if q.bound is not None else ("-", "-")
    gap = f"{q.gap:.2%}" if q.gap is not None else "-"
    return (
        f"{count:>4} {people:>6} {len(plan.moves):>6} {q.method:<12} {q.seconds:>7.2f} "
        f"{len(plan.waiting):>6} {q.waiting:>8} {q.peak:>5} {bounds:>9} {value:>10} {bound:>10} {gap:>8} "
        f"{peak_together(on_the_hour(plan.moves)):>8} {by_hand_says(plan):>8} {in_breaks(plan, there):>6}"
    )


def by_hand_says(plan: DayPlan) -> str:
    """The fewest and the most moves by hand of anybody who helps at all."""
    count = Counter({name: 0 for item in plan.placed for name in item.people})
    count.update(name for item in plan.placed if item.move.level in BY_HAND for name in item.people)
    return f"{min(count.values())}-{max(count.values())}" if count else "-"


def in_breaks(plan: DayPlan, there: Supply) -> int:
    """Moves given to somebody who is on a break then, or not on duty."""
    staff = {one.initials: one for one in there.staff}
    return sum(
        not staff[name].is_there(Span(item.start, item.end)) for item in plan.placed for name in item.people
    )


def main() -> None:
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else POLICY.hands.time_limit_s
    print(
        f"limit {limit:g} s\nbeds people  moves plan         seconds  waits  waiting  peak "
        "bounds w/p      value      bound      gap  on hour  by hand breaks"
    )
    for count, people in SIZES:
        needs = list(beds(count, seed=count))
        for solver in (False, True):
            there = supply(people, needs)
            plan = plan_day(needs, there, POLICY.hands, SHIFT, START, solver=solver, limit_s=limit)
            print(row(count, people, plan, there), flush=True)
        print(f"{'':12}{plan.quality.says}")


if __name__ == "__main__":
    main()
