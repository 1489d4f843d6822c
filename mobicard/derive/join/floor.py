"""The floor under a judgement: what the record shows, below which no name and no reason lowers a level."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mobicard.derive.join.groups import most, out_of_bed
from mobicard.derive.join.most_protective import RANK, outcome
from mobicard.derive.join.what_is_true import Common, all_said, for_task
from mobicard.derive.model import TaskPlan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES, STANDING
from mobicard.facts.words import Behavior, Level, Task
from mobicard.rules import words as w
from mobicard.rules.policy import Policy

OBSERVED = all_said(
    (word, True)
    for word in (
        *(word for _, word in w.LADDERS["help"]),
        w.used_two,
        w.heavy,
        w.load_needs_more,
        w.load_beyond_hands,
    )
)
"""What was seen of the move itself: the help it took, the people it took, the load of it."""

CONTRADICT = (w.fell, w.on_the_floor, w.operated, w.cannot_sit, w.cannot_stand)
"""What a lowered level would deny. House rule: facts are put right by looking again, not by judgement."""


AGAIN = "If that changed, record what you saw"


@dataclass(frozen=True, slots=True)
class Floor:
    """The least that the help seen allows, over all moves of the headline's kind, and what shows it."""

    level: Level
    helpers: int
    why: str


def floor(record: Record, words: Common, policy: Policy) -> Floor:
    """The join of the help seen for standing up, the chair and the toilet, and of nothing else."""
    seen = []
    for task in STANDING:
        now = for_task(task, words, record, policy, None)
        bits = now.said & OBSERVED
        found = outcome(task, bits, bits, now.figures)
        seen.append((RANK[found.level], found.helpers or 0, f"{MOVES[task].says}: {found.stated[0].says}"))
    rank, helpers, why = max(seen, key=lambda one: one[:2])
    return Floor(tuple(RANK)[rank], helpers, why)


def effective(asked: Level, chair: TaskPlan) -> Level:
    """The level a lowering comes to: nobody goes alone where somebody is needed."""
    return Level.NEARBY if asked is Level.SELF and chair.helpers else asked


def above(tasks: Mapping[Task, TaskPlan], asked: Level) -> tuple[TaskPlan, ...]:
    """The moves out of bed that a lowering to this level would lower."""
    return tuple(move for move in out_of_bed(tasks) if RANK[effective(asked, move)] < move.level_rank)


def why_not_lower(
    asked: Level, tasks: dict[Task, TaskPlan], record: Record, words: Common, policy: Policy
) -> str:
    """Why no judgement may lower the moves out of bed to ``asked``, in words; nothing where one may."""
    worst = most(out_of_bed(tasks))
    if worst.level is Level.REMAIN:
        return f"clear the reason first: {worst.reasons[0].says}"
    denied = [w.SAYS[word.bit] for word in CONTRADICT if word.holds(words.said)]
    if record.behavior is Behavior.COMBATIVE:
        denied.append("combative")
    if denied:
        return f"the record says: {', '.join(denied)}. {AGAIN}"
    return _not_to_stand(asked, tasks[Task.STAND], words) or _too_low(asked, worst, record, words, policy)


def _not_to_stand(asked: Level, stand: TaskPlan, words: Common) -> str:
    if stand.level is Level.REMAIN:
        return f"{MOVES[Task.STAND].says}: {stand.reasons[0].says}"
    unsafe = asked is Level.POWER and w.no_standing_aid.holds(words.said)
    return "a powered standing aid is not safe here" if unsafe else ""


def _too_low(asked: Level, worst: TaskPlan, record: Record, words: Common, policy: Policy) -> str:
    level, least = effective(asked, worst), floor(record, words, policy)
    if RANK[level] >= worst.level_rank:
        return f"{MOVES[worst.task].says}: {worst.reasons[0].says}"
    return f"{least.why} {AGAIN}" if RANK[level] < RANK[least.level] else ""
