"""The second side of a bedside card: how the hardest move is done, why each thing stands, its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from mobicard.derive.brief import Phase
from mobicard.derive.brief.compose import brief_of
from mobicard.derive.brief.ways import Way
from mobicard.derive.conflicts import at_the_bed, in_the_record
from mobicard.derive.model import FallRisk, Plan, Reason, TaskPlan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.record import THREE_VALUED
from mobicard.facts.words import Aid, Level, Task
from mobicard.paper import in_words
from mobicard.paper.bedside.blocks import Block, made, of_moves, on_feet, open_at_the_bed, used_aids
from mobicard.paper.bedside.moves import cautions
from mobicard.paper.clinical_words import short_when, spaced
from mobicard.paper.points import Point
from mobicard.rules.by_patient import help_seen
from mobicard.rules.protocol import HELD, WRITTEN_DOWN

LOAD_NOTE = (
    "Limits per helper: the NIOSH lifting equation as adapted to patient handling, "
    "an adaptation, not a certificate of safety."
)
LOAD_SOURCE = "Waters, Am J Nurs 2007;107(8):53-58"

DEMANDS = {rule.id: rule.demand for rule in WRITTEN_DOWN}
ONLY_CAUTIONS = frozenset(rule for rule, demand in DEMANDS.items() if demand.only_cautions)

SEEN = {
    rule.id: rule.demand
    for rule in help_seen.RULES
    if rule.id in ("help.someone_near", "help.hand_on", "help.hand_on_belt", "help.half")
}
"""What the help a move was seen to take asks for: one observation may fire several of these."""

_NOT_SAID_AGAIN = (Phase.WHO, Phase.MIND)
"""Parts of the brief left to the first side, or to who is there."""


@dataclass(slots=True)
class Cited:
    """Sources numbered as they are first cited."""

    numbers: dict[str, int] = field(default_factory=dict)

    def __call__(self, source: str) -> str:
        """``[1, 3]`` for sources joined by semicolons; a source of its own keeps its commas."""
        if not source:
            return ""
        found = [self.numbers.setdefault(one, len(self.numbers) + 1) for one in source.split("; ")]
        return f"[{', '.join(str(number) for number in dict.fromkeys(found))}]"

    def listed(self) -> Iterator[Point]:
        """The sources by their numbers, a few to a paragraph."""
        named = [f"[{number}] {source}" for source, number in self.numbers.items()]
        yield from (
            Point(f"{'; '.join(named[at : at + _TOGETHER])}.") for at in range(0, len(named), _TOGETHER)
        )


_TOGETHER = 6


def back(plan: Plan, record: Record) -> tuple[Block, ...]:
    """Every block of the second side, the sources they cite last."""
    cited = Cited()
    told = made(
        Block(
            "how",
            f"How it is done: {MOVES[plan.headline_task].says.lower()}",
            tuple(_how(plan, record, cited)),
        ),
        Block("why", "Why so, by move", () if plan.expired else tuple(_why(plan, cited))),
        Block("mind", "Why take care", () if plan.expired else tuple(_why_mind(plan, cited))),
        Block("fall", "After the fall", tuple(_fall(plan, cited))),
        Block("risk", "Fall risk and pressure on standing", tuple(_risk(plan, cited))),
        Block("goals", "This shift", tuple(_shift(record))),
        Block("record", "To put right in the record", tuple(_disagrees(plan))),
        Block("asked", "Also recorded", tuple(_also(plan, record))),
    )
    return (*told, *made(Block("sources", "Sources", tuple(cited.listed()))))


def _how(plan: Plan, record: Record, cited: Cited) -> Iterator[Point]:
    """The brief of the move out of bed that asks for most, part by part."""
    if plan.expired:
        return
    brief = brief_of(record, plan, plan.headline_task)
    if brief.way is Way.NOT_NOW:
        return
    for phase in (part for part in Phase if part not in _NOT_SAID_AGAIN):
        lines = [line for line in brief.lines if line.phase is phase]
        if lines:
            numbers = cited("; ".join(dict.fromkeys(line.source for line in lines)))
            yield Point(f"{' '.join(line.says for line in lines)} {numbers}", f"{in_words.sentence(phase)}:")


# -- Why ------------------------------------------------------------------------------------------------


def _why(plan: Plan, cited: Cited) -> Iterator[Point]:
    """Each reason that carries a move's level, people or gear, with its moves and its sources' numbers."""
    found = [(reason, task) for task in _headline_first(plan) for reason in _carrying(task)]
    yield from _gathered(found, cited)
    for reason in plan.general:
        yield Point(f"{reason.says} {cited(reason.source)}")
    if any(task.share_kg is not None for task in plan.tasks.values()):
        yield Point(f"{LOAD_NOTE} {cited(LOAD_SOURCE)}")


def _why_mind(plan: Plan, cited: Cited) -> Iterator[Point]:
    """The reasons of what asks for a caution only, or is overruled but for it, where it is shown."""
    shown = {task.task: set(cautions(plan, task)) for task in plan.tasks.values()}
    found = [
        (reason, task)
        for task in _headline_first(plan)
        for reason in task.reasons
        if (reason.rule in ONLY_CAUTIONS or _overruled(reason, task))
        and _warns(reason, shown[task.task], plan)
    ]
    yield from _gathered(found, cited)


def _warns(reason: Reason, shown: Iterable[str], plan: Plan) -> bool:
    """Whether a caution of the reason's rule is shown; one that names a limb stands with its figure."""
    own = DEMANDS[reason.rule].cautions if reason.rule in DEMANDS else ()
    heads = tuple(caution.split(":")[0] for caution in own if plan.weight_bearing)
    return any(one in own or one.split(":")[0] in heads for one in shown)


def _headline_first(plan: Plan) -> Iterator[TaskPlan]:
    yield plan.headline
    yield from (task for task in plan.tasks.values() if task.task is not plan.headline_task)


def _carrying(task: TaskPlan) -> Iterator[Reason]:
    """Reasons of the way it is planned: neither those of a lesser way overruled, nor of a caution alone."""
    if task.helpers is None:
        yield from (one for one in task.reasons if one.rule in HELD)
        return
    reasons = [one for one in task.reasons if one.rule not in ONLY_CAUTIONS and not _overruled(one, task)]
    yield from (one for one in reasons if not any(_covers(other, one) for other in reasons))


def _overruled(reason: Reason, task: TaskPlan) -> bool:
    demand = DEMANDS.get(reason.rule)
    if demand is None:
        return False
    used = set(demand.equipment) & set(task.equipment)
    if demand.level is None:
        return bool(demand.equipment) and not used
    if demand.level.rank >= task.level.rank:
        return False
    counted = demand.helpers == task.helpers or (isinstance(demand.helpers, str) and task.level is Level.TEAM)
    return not used and not demand.watchers and not (counted and task.helpers)


def _gathered(found: Iterable[tuple[Reason, TaskPlan]], cited: Cited) -> Iterator[Point]:
    """Each sentence once, with every move it holds for."""
    moves: dict[str, list[Task]] = {}
    sources: dict[str, str] = {}
    for reason, task in found:
        moves.setdefault(reason.says, []).append(task.task)
        sources.setdefault(reason.says, reason.source)
    for says, tasks in moves.items():
        ordered = tuple(task for task in Task if task in tasks)
        yield Point(f"{says} {cited(sources[says])}", f"{in_words.sentence(of_moves(ordered))}:")


def _covers(more: Reason, less: Reason) -> bool:
    """Whether one look at one move asks in ``more`` for all of ``less``, and for a higher level."""
    if more.rule not in SEEN or less.rule not in SEEN or more.because != less.because:
        return False
    high, low = SEEN[more.rule], SEEN[less.rule]
    higher = high.level is not None and low.level is not None and high.level.rank > low.level.rank
    return higher and set(high.equipment) >= set(low.equipment)


def _fall(plan: Plan, cited: Cited) -> Iterator[Point]:
    """What stands beside the reasons by move; of an ended plan, whose moves give none, why nobody moves."""
    for reason in plan.after_fall.reasons if plan.after_fall and plan.expired else ():
        yield Point(f"{reason.says} {cited(reason.source)}")
    if plan.head_observations is not None:
        yield Point(f"Head observations are due by timetable. {cited(plan.head_observations.source)}")


# -- What is known beside the moves ---------------------------------------------------------------------


def _risk(plan: Plan, cited: Cited) -> Iterator[Point]:
    risk = plan.fall_risk
    if risk is None:
        yield Point("no score recorded, so counted as high", "Fall risk:")
    else:
        yield Point(f"{_score(risk)} {cited(risk.source)}", f"{risk.instrument.capitalize()}:")
        yield from (Point(note) for note in (risk.note,) if note)
    if plan.orthostatic is None:
        yield Point("pressure on standing not recorded")
    else:
        yield Point(f"{plan.orthostatic.says} {cited(plan.orthostatic.source)}")


def _score(risk: FallRisk) -> str:
    if risk.lowest == risk.score:
        return f"{risk.score}, {risk.band}"
    left = ", ".join(spaced(item) for item in risk.unanswered)
    return f"{risk.lowest} to {risk.score}, taken as {risk.band}; not answered: {left}"


def _shift(record: Record) -> Iterator[Point]:
    if record.goals:
        named = ((in_words.move_in_short(goal.task), goal.times_per_shift) for goal in record.goals)
        said = ", ".join(f"{move} {times} times" for move, times in named)
        yield Point(said, "Goal:")
    for head, hours in (("Turn", record.turn_every_h), ("Toilet", record.toilet_every_h)):
        if hours:
            yield Point(f"every {hours:g} h", f"{head}:")
    for visit in record.appointments:
        note = f", {visit.note}" if visit.note else ""
        yield Point(f"{MOVES[visit.task].says}{note}", f"{short_when(visit.at)}:")


def _disagrees(plan: Plan) -> Iterator[Point]:
    yield from (Point(conflict.says) for conflict in in_the_record(plan.conflicts))
    shown = open_at_the_bed(plan)
    yield from (Point(one.says) for one in at_the_bed(plan.conflicts) if one not in shown)


def _also(plan: Plan, record: Record) -> Iterator[Point]:
    """What was asked and is not there; aids at the bed that no planned move uses."""
    none = [spaced(fact) for fact in THREE_VALUED if record.asked(fact) and not record.as_json()[fact]]
    if none and plan.assessed_at:
        yield Point(f"asked {plan.assessed_at:%d %b %H:%M} by {plan.assessed_by}, none: {', '.join(none)}")
    unused = [] if on_feet(plan) else used_aids(record)
    belt = [spaced(Aid.GAIT_BELT.value)] if Aid.GAIT_BELT in record.aids else []
    if at_bed := [*belt, *unused]:
        yield Point(f"{', '.join(at_bed)}; used only where a move names it", "At the bed:")
