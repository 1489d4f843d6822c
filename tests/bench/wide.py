"""The invariants over many combinations at once: one bit a combination, one whole number a word.

A rule's condition is "and" and "or" of words, so over a block of combinations it is "and" and "or" of whole
numbers, whose bits are the combinations. A block holds every combination of the seven deciding facts and of
the help seen, 307,200 of them; what else is true of the patient (weight, orders, tests, aids, what stands)
is the same in a block and differs between blocks. The engine itself, record by record, is compared with it
on a seeded sample.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from itertools import product
from math import ceil, prod
from typing import Any

from mobicard.derive import Policy
from mobicard.derive.fall_risk import assess
from mobicard.derive.join.what_is_true import (
    FACTS,
    Figures,
    common,
    load_lb,
    most_by_hand,
    words_of,
)
from mobicard.derive.loads import Condition, helper_limit_lb
from mobicard.derive.vitals import orthostatic
from mobicard.facts import Record, read_record
from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Level,
    Stepping,
    Task,
)
from mobicard.rules import words as w
from mobicard.rules.protocol import RULES_FOR
from mobicard.rules.rule import Rule

NOW = datetime(2026, 3, 2, 8, 0)
POLICY = Policy()
RANKS = {level: level.rank for level in Level}
TEAM, POWER, REMAIN = (RANKS[level] for level in (Level.TEAM, Level.POWER, Level.REMAIN))
MOST = 12
"""More people than any rule asks for."""

INNER: dict[str, tuple[Any, ...]] = {
    "alertness": (*Alertness, None),
    "directions": (*Directions, None),
    "behavior": (*Behavior, None),
    "sitting": (*Balance, None),
    "standing": (*Balance, None),
    "stepping": (*Stepping, None),
    "arms": (*Arms, None),
    "help": (*[answer for answer in Help if answer.was_done], Help.REFUSED, None),
}
"""Each fact from best to worst, absent last: walked inside a block."""

SIZES = tuple(len(ladder) for ladder in INNER.values())
IN_A_BLOCK = prod(SIZES)
ALL = (1 << IN_A_BLOCK) - 1

PART: dict[str, Any] = {"status": "PWB", "percent": 50}
LOW = {"instrument": "morse", "answers": {"history": False, "secondary_diagnosis": False, "aid": "none",
       "iv": False, "gait": "normal", "mental": "oriented"}}  # fmt: skip
HIGH = {"instrument": "morse", "answers": {**LOW["answers"], "history": True, "gait": "impaired"}}  # type: ignore[dict-item]

OUTER: dict[str, tuple[dict[str, Any], ...]] = {
    "weight": (
        *({"weight_kg": kg} for kg in (40.0, 60.0, 95.0, 140.0, 200.0)),
        {},
    ),
    "legs": (
        {},
        {"weight_bearing": {"left_leg": PART}},
        {"weight_bearing": {"left_leg": {"status": "TTWB"}}},
        {"weight_bearing": {"left_leg": {"status": "NWB"}}},
        {"weight_bearing": {"left_leg": {"status": "NWB"}, "right_leg": PART}},
        {"weight_bearing": {"left_leg": {"status": "NWB"}, "right_leg": {"status": "NWB"}}},
    ),
    "arm": ({}, {"left_arm": {"status": "PWB", "percent": 50}}, {"left_arm": {"status": "NWB"}}),
    "tested": (
        {},
        {"legs": {"right_leg": {"straight_leg_raise": False}}},
        {"legs": {"right_leg": {"straight_leg_raise": False}, "left_leg": {"straight_leg_raise": False}}},
    ),
}
"""Ladders between blocks, each from best to worst."""

STANDS: tuple[dict[str, Any], ...] = (
    {},
    *({"precautions": [item]} for item in (
        "spinal", "spinal_cervical", "spinal_cleared", "sternal", "hip_posterior_left", "groin_left",
        "abdominal", "bed_rest", "head_up_30", "head_flat", "no_gait_belt",
    )),
    *({"lines": [{"kind": kind}]} for kind in (
        "airway tube", "lumbar drain", "external ventricular drain", "chest drain", "epidural",
        "leg nerve block", "femoral sheath", "femoral balloon pump or ECMO", "dialysis fistula or graft",
    )),
    {"lines": [{"kind": "IV line"}] * 4},
    {"lines": [{"kind": "airway tube"}, *[{"kind": "IV line"}] * 4]},
    {"weak_side": "left"},
    {"weak_side": "both"},
    {"neglect": "right"},
    {"sore_sites": ["sacrum", "left_heel"]},
    {"skin_risk": "high"},
    {"pregnancy_weeks": 30},
    {"vitals": {"lying": {"sbp": 130, "dbp": 80}, "standing_1min": {"sbp": 104, "dbp": 70}}},
    {"vitals": {"spo2": 84}},
    {"fall_risk": HIGH},
    {"fall_risk": None},
    {"operation": {"at": "2026-03-02T07:40", "what": "hip nailing", "by": "AB"}},
    {"child": True},
    {"height_cm": 150},
)  # fmt: skip
"""What may stand beside it all, one at a time: each asks for no less than nothing does."""

BESIDE: tuple[dict[str, Any], ...] = (
    {},
    {"aids": ["front_wheeled_walker"]},
    {"aids": ["crutches"], "proficient_with": ["crutches"]},
)
"""Aids at the bed: no ladder, a plan may ask for less with them."""

Place = tuple[int, ...]
"""Where a block is: weight, legs, arm, tested, what stands, aids."""

AXES = (*(len(ladder) for ladder in OUTER.values()), len(STANDS), len(BESIDE))


def facts_at(place: Place) -> dict[str, Any]:
    """What is the same all over a block, as a record spells it."""
    *ladders, stands, beside = place
    weight, legs, arm, tested = (ladder[at] for ladder, at in zip(OUTER.values(), ladders, strict=True))
    orders = {**legs.get("weight_bearing", {}), **arm}
    base = {"bed": "4W-12A", "assessed_at": "2026-03-02T07:10", "fall_risk": LOW, "height_cm": 190}
    return {**base, **weight, **tested, "weight_bearing": orders, **BESIDE[beside], **STANDS[stands]}


def _masks() -> dict[str, list[int]]:
    """For each fact and each of its answers, the combinations of a block that have it."""
    found: dict[str, list[int]] = {}
    stride = IN_A_BLOCK
    for name, ladder in INNER.items():
        period, stride = stride, stride // len(ladder)
        one = (1 << stride) - 1
        times = sum(1 << (period * at) for at in range(IN_A_BLOCK // period))
        found[name] = [(one << (stride * at)) * times for at in range(len(ladder))]
    return found


MASKS = _masks()


@dataclass
class Asked:
    """What one move comes to in a block: where each level is reached, where so many people are."""

    level: list[int] = field(default_factory=list)
    people: list[int] = field(default_factory=list)
    movers: list[int] = field(default_factory=list)


Said = Mapping[int, int]
"""For each word's bit, the combinations in which it is said."""


def said(record: Record) -> dict[int, int]:
    """The words that are the same for every move; which aids serve hangs on the arms."""
    found = dict.fromkeys(w.FACT_OF, 0)
    unknown = sum(w.UNKNOWN[fact].bit for fact in FACTS)
    for arms, where in zip(INNER["arms"], MASKS["arms"], strict=True):
        one = record.model_copy(update={"arms": arms})
        risk, _ = assess(one, POLICY)
        fixed = common(one, POLICY, NOW, risk, orthostatic(one, POLICY, NOW)).said & ~unknown
        _add(found, fixed, where)
    for fact in FACTS:
        for answer, where in zip(INNER[fact], MASKS[fact], strict=True):
            _add(found, w.UNKNOWN[fact].bit if answer is None else words_of(fact, answer), where)
    return found


def figures(record: Record) -> Figures:
    """The counts a rule may name."""
    return common(record, POLICY, NOW, None, None).figures


def _add(said: dict[int, int], bits: int, where: int) -> None:
    while bits:
        bit = bits & -bits
        bits ^= bit
        said[bit] |= where


def _loads(task: Task, record: Record, said: Said) -> Iterator[tuple[int, int]]:
    """How many people each kind of help takes by its load, and in which combinations: the limit differs."""
    steady = ALL & ~said[w.unpredictable.bit]
    lines = [Condition.LINES] if said[w.many_lines.bit] else []
    for where, conditions in ((steady, lines), (ALL & ~steady, [Condition.UNPREDICTABLE, *lines])):
        limit = helper_limit_lb(POLICY, conditions)
        for answer, seen in zip(INNER["help"], MASKS["help"], strict=True):
            if answer is None or not answer.was_done:
                continue
            load = load_lb(task, answer, record.counted_kg, POLICY)
            needed = ceil(round(load / limit, 9)) if load else 1
            if record.counted_kg is None and load_lb(task, answer, 1.0, POLICY):
                needed = most_by_hand(task, POLICY) + 1
            yield needed, where & seen


def _of_the_move(task: Task, record: Record, shared: Said) -> tuple[dict[int, int], list[int]]:
    """The words for one move, and where its load takes at least so many people."""
    said, needs = dict(shared), [0] * (MOST + 1)
    for answer, where in zip(INNER["help"], MASKS["help"], strict=True):
        if answer is None:
            _add(said, w.UNKNOWN["help"].bit, where)
        else:
            _add(said, words_of("help", answer) if answer.was_done else w.NOT_DONE[answer].bit, where)
    most = most_by_hand(task, POLICY)
    for needed, where in _loads(task, record, shared):
        _add(said, w.load_needs_more.bit, where if needed > 1 else 0)
        _add(said, w.load_beyond_hands.bit, where if needed > most else 0)
        for people in range(1, min(needed, MOST) + 1):
            needs[people] |= where
    return said, needs


def _holds(rule: Rule, said: Said) -> int:
    """The combinations in which a rule fires."""
    fires = 0
    for group in rule.when.groups:
        where, bits = ALL, group
        while bits and where:
            bit = bits & -bits
            bits ^= bit
            where &= said[bit]
        fires |= where
        if fires == ALL:
            break
    return fires


def asked(task: Task, record: Record, shared: Said, counts: Figures, rules: tuple[Rule, ...]) -> Asked:
    """One move joined over a block, by the same steps as the engine's join."""
    spoken, needs = _of_the_move(task, record, shared)
    level, movers, watchers = [0] * len(RANKS), [0] * (MOST + 1), [0] * 4
    most = most_by_hand(task, POLICY)
    for rule in rules:
        fires = _holds(rule, spoken)
        if not fires:
            continue
        for rank in range(RANKS[rule.demand.level] + 1 if rule.demand.level else 0):
            level[rank] |= fires
        by_load = rule.demand.helpers == "load"
        count = rule.demand.helpers if isinstance(rule.demand.helpers, int) else 0
        if isinstance(rule.demand.helpers, str) and not by_load:
            count = int(getattr(counts, rule.demand.helpers))
        for people in range(1, MOST + 1):
            movers[people] |= fires & needs[people] if by_load and people <= most else 0
            movers[people] |= fires if people <= count else 0
        for people in range(1, rule.demand.watchers + 1):
            watchers[people] |= fires
    return _settled(level, movers, watchers, spoken, counts)


def _settled(
    level: list[int], movers: list[int], watchers: list[int], spoken: Said, counts: Figures
) -> Asked:
    """Someone is at least NEARBY, two are a team, a lift has its own least number."""
    stays = level[REMAIN]
    lifted = level[POWER] & ~stays
    heavy = spoken[w.heavy.bit]
    for people in range(1, MOST + 1):
        movers[people] |= lifted & ~heavy if people <= counts.lift_helpers else 0
        movers[people] |= lifted & heavy if people <= counts.lift_helpers_heavy else 0
    people_ = [ALL, *([0] * MOST)]
    for people in range(1, MOST + 1):
        people_[people] = movers[people]
        for extra in range(1, min(people, 3) + 1):
            people_[people] |= watchers[extra] & (movers[people - extra] if people > extra else ALL)
    for rank in range(1, TEAM + 1):
        level[rank] |= people_[2] | (people_[1] if rank <= RANKS[Level.NEARBY] else 0)
    return Asked(level, people_, [ALL, *movers[1:]])


Block = dict[Task, Asked]


def block_of(place: Place, rules: Mapping[Task, tuple[Rule, ...]] = RULES_FOR) -> Block:
    """Every move joined over the block at a place."""
    record = read_record(facts_at(place))
    spoken, counts = said(record), figures(record)
    return {task: asked(task, record, spoken, counts, rules[task]) for task in Task}


block = lru_cache(maxsize=400)(block_of)


# -- What must hold ---------------------------------------------------------------------------------------


def broken(place: Place, found: Block) -> Iterator[str]:
    """What a block breaks in itself; nothing, if the rules are right."""
    record = read_record(facts_at(place))
    spoken = said(record)
    for task, move in found.items():
        if move.level[0] != ALL:
            yield f"{place} {task}: no rule speaks"
        if move.level[POWER] & ~move.level[REMAIN] & ~move.people[2]:
            yield f"{place} {task}: a lift with fewer than two"
        for needed, where in _loads(task, record, spoken):
            by_hand = where & ~move.level[POWER] & move.movers[1]
            if 1 < needed <= MOST and by_hand & ~move.movers[needed]:
                yield f"{place} {task}: a helper is loaded beyond the limit"
        yield from _unknown(place, task, move)
        yield from _worse_inside(place, task, move)


def _unknown(place: Place, task: Task, move: Asked) -> Iterator[str]:
    """A move waits for each of its deciding facts."""
    from mobicard.facts.moves import MOVES

    for fact in MOVES[task].decided_by:
        if MASKS[fact][-1] & ~move.level[REMAIN]:
            yield f"{place} {task}: moved though {fact} is not assessed"


def _worse_inside(place: Place, task: Task, move: Asked) -> Iterator[str]:
    """One answer worse, of any fact of the block: no level and no people lost."""
    stays = move.level[REMAIN]
    steps = {one for one in (*move.level, *(people | stays for people in move.people)) if one not in (0, ALL)}
    stride = IN_A_BLOCK
    for name, ladder in INNER.items():
        stride //= len(ladder)
        not_last = ALL & ~MASKS[name][-1]
        if any(one & not_last & ~(one >> stride) for one in steps):
            yield f"{place} {task}: {name} one answer worse asks for less"


def lost(less: Block, more: Block) -> Iterator[str]:
    """Moves for which a worse block asks for less than a better one."""
    for task in Task:
        stays = more[task].level[REMAIN]
        pairs = (*zip(less[task].level, more[task].level, strict=True),)
        fewer = zip(less[task].people, (one | stays for one in more[task].people), strict=True)
        if any(one & ~other for one, other in (*pairs, *fewer)):
            yield task.value


def worse_beside(place: Place) -> Iterator[str]:
    """One step worse along each ladder between blocks, and from nothing to what stands."""
    for axis, size in enumerate(AXES[:-1]):
        stands = axis == len(OUTER)
        if place[axis] + 1 < size and not stands:
            yield from _lost(place, axis, place[axis] + 1)
        elif stands and place[axis]:
            yield from _lost((*place[:axis], 0, *place[axis + 1 :]), axis, place[axis])


def _lost(place: Place, axis: int, to: int) -> Iterator[str]:
    worse = (*place[:axis], to, *place[axis + 1 :])
    for task in lost(block(place), block(worse)):
        yield f"{task}: {place} to {worse} asks for less"


def places() -> Iterator[Place]:
    """Every block, those that stand next to each other near in time."""
    for stands, beside, *rest in product(
        range(len(STANDS)), range(len(BESIDE)), *(range(size) for size in AXES[:-2])
    ):
        yield (*rest, stands, beside)
