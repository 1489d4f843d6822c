"""What a bedside card says, block by block, as plain text; the page only sets it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.conflicts import at_the_bed, in_the_record
from mobicard.derive.join.cautions import MOST, by_caution
from mobicard.derive.loads import limb_holds
from mobicard.derive.model import Conflict, FallRisk, Plan, Reason, TaskPlan
from mobicard.facts import Communication, Line, Record
from mobicard.facts.moves import MOVES, UP
from mobicard.facts.record import THREE_VALUED
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Level, Side, Task
from mobicard.paper import in_words
from mobicard.paper.clinical_words import (
    PRECAUTION_SAYS,
    WORN,
    body_says,
    kit_besides,
    look_again,
    nobody_moves,
    short_when,
    spaced,
    unassessed,
)
from mobicard.rules.by_patient import help_seen
from mobicard.rules.protocol import RULES

KNEES = (
    "Nobody holds the weight up. Stay close and let the patient slide down against you to sit on the floor; "
    "shield the head; call for help.",
    "Do not pull up from the floor: see “Up from the floor”. Head struck, or nobody knows: "
    "not moved until examined, never left alone.",
)
"""Common practice, no source."""

LOAD_NOTE = (
    "Limits per helper: the NIOSH lifting equation as adapted to patient handling (Waters, Am J Nurs 2007), "
    "an adaptation, not a certificate of safety."
)

CAUTION = f"{in_words.SUPPORT} If the patient looks different from this card, stop and ask the nurse."

HEADS = ("Move", "Level", "Helpers", "How, with what", "Each helper bears")

NO_BREAK = ",\u00a0"

SEEN = {
    rule.id: rule.demand
    for rule in help_seen.RULES
    if rule.id in ("help.someone_near", "help.hand_on", "help.hand_on_belt", "help.half")
}
"""What the help a move was seen to take asks for: one observation may fire several of these."""

_OWN_ROW = 2


@dataclass(frozen=True, slots=True)
class Point:
    """One line of a block: what is set strong, the rest, and the small print after it."""

    text: str
    strong: str = ""
    small: str = ""


@dataclass(frozen=True, slots=True)
class Block:
    """A titled list. ``key`` names it for the style sheet; ``loud`` blocks are framed."""

    key: str
    title: str
    items: tuple[Point, ...]
    loud: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One move's line in the table."""

    task: str
    level: str
    people: str
    how: str
    share: str


def rows(plan: Plan, record: Record, now: datetime) -> tuple[Row, ...]:
    """The moves in the order of a day; an out-of-date plan says only to look again."""
    stays = nobody_moves(plan, record)
    if plan.expired:
        how = in_words.sentence(look_again(plan, now))
        return tuple(Row(MOVES[task].says, plan.shown_level.value, stays, how, "") for task in Task)
    own = {task: _own_cautions(plan, task) for task in plan.tasks}
    limit = _one_limit(plan)
    return tuple(
        Row(
            MOVES[task].says,
            plan.tasks[task].level.value,
            _people(plan.tasks[task].helpers, stays),
            _how(plan.tasks[task], own[task]),
            _share(plan.tasks[task], record.counted_kg is not None, limit),
        )
        for task in Task
        if task in plan.tasks
    )


def _people(helpers: int | None, stays: str) -> str:
    if helpers is None:
        return stays
    return in_words.helpers(helpers)


def _how(task: TaskPlan, cautions: Iterable[str]) -> str:
    kit, mind = kit_besides(task), "; ".join(cautions)
    parts = (in_words.sentence(task.method), f"With: {kit}" if kit else "", f"Mind: {mind}" if mind else "")
    return ". ".join(part for part in parts if part)


def _share(task: TaskPlan, weight_known: bool, limit: float | None) -> str:
    if task.share_kg is None or task.share_lb is None:
        lifted = task.level in (Level.LINK, Level.TEAM)
        return "weight not recorded" if lifted and not weight_known else ""
    share = f"{task.share_kg:.1f} kg ({task.share_lb:.0f} lb)"
    if task.limit_lb is None or limit is not None:
        return share
    return f"{share}, most {_limit(task.limit_lb)}"


def _limit(lb: float) -> str:
    return f"{kg_from_lb(lb):.1f} kg ({lb:g} lb)"


def _one_limit(plan: Plan) -> float | None:
    """The per-helper limit, lb, when it is the same for every move that has one; None otherwise."""
    limits = {task.limit_lb for task in plan.tasks.values() if task.limit_lb is not None}
    return limits.pop() if len(limits) == 1 else None


def load_note(plan: Plan) -> str:
    """What stands under a table that names loads: the per-helper limit and what it is not."""
    if plan.expired or all(task.share_kg is None for task in plan.tasks.values()):
        return ""
    limit = _one_limit(plan)
    most = "" if limit is None else f"At most {_limit(limit)} for each helper. "
    return most + LOAD_NOTE


def _own_cautions(plan: Plan, task: Task) -> Iterator[str]:
    """Cautions of this move and at most one other; the rest stand once, under “Take care”."""
    for caution, moves in by_caution(plan).items():
        if plan.tasks[task] in moves and len(moves) <= _OWN_ROW:
            yield caution


def blocks(plan: Plan, record: Record) -> tuple[Block, ...]:
    """Every block of the lower half, most needed first; a block with nothing to say is left out."""
    made = (
        Block(
            "settle", "Settle first", _items(at_the_bed(plan.conflicts, plan.headline.equipment)), loud=True
        ),
        Block("before", "On before getting up", tuple(_before_up(record))),
        Block("precautions", "Precautions", tuple(_precautions(record))),
        Block("lines", "Lines and drains (patient’s sides)", tuple(_lines(record.lines))),
        Block("knees", "If the knees give way", tuple(Point(text) for text in KNEES), loud=True),
        Block("care", "Take care", () if plan.expired else tuple(_shared_cautions(plan))),
        Block("reach", "Reaching the patient", tuple(_reach(record.communication))),
        Block("risk", "Fall risk and pressure on standing", tuple(_risk(plan, record))),
        Block("unknown", "Not assessed, so not taken as fine", tuple(_unknown(plan, record))),
        Block("goals", "This shift", tuple(_shift(record))),
        Block("record", "The record disagrees with itself", _items(in_the_record(plan.conflicts))),
        Block("why", "Why this level", () if plan.expired else tuple(_why(plan))),
    )
    return tuple(block for block in made if block.items)


def _items(conflicts: Iterable[Conflict]) -> tuple[Point, ...]:
    return tuple(Point(conflict.says) for conflict in conflicts)


def _precautions(record: Record) -> Iterator[Point]:
    if record.operation is not None:
        yield Point(record.operation.says)
    yield from (Point(in_words.sentence(says)) for says in body_says(record))
    since = {order.what: order for order in record.orders}
    for item in record.precautions:
        order = since.get(item.value)
        yield Point(PRECAUTION_SAYS[item], small=f"({order.since_says})" if order else "")
    for what in (limb.value for limb in record.weight_bearing if limb.value in since):
        yield Point(since[what].since_says, f"{what.replace('_', ' ').capitalize()}, weight order:")


def _before_up(record: Record) -> Iterator[Point]:
    for name in record.on_before_up:
        yield Point(name)
    worn = [spaced(aid.value) for aid in record.aids if aid in WORN]
    if worn:
        yield Point(", ".join(worn), "Wears:")
    used = [spaced(aid.value) for aid in record.aids if aid not in WORN]
    if used:
        yield Point(", ".join(used), "Uses:")


def _shared_cautions(plan: Plan) -> Iterator[Point]:
    """Cautions of three moves or more, the most harmful first."""
    held = [(caution, moves) for caution, moves in by_caution(plan).items() if len(moves) > _OWN_ROW]
    for place, (caution, moves) in enumerate(held):
        said = _of_moves(tuple(move.task for move in moves))
        yield Point(caution, "More:" if place == MOST else "", f"({said})")


def _of_moves(tasks: Sequence[Task]) -> str:
    """The moves in few words: those a caution holds for, or of most the ones it does not."""
    others = [task for task in Task if task not in tasks]
    if not others:
        return "every move"
    if tasks == UP:
        return "on the feet"
    named, but = (others, "all but ") if len(others) < 3 else (tasks, "")
    return but + ", ".join(move_name(task) for task in named)


def move_name(task: Task) -> str:
    """A move in a word or two, for lists: ``sit up``."""
    return spaced(task.value)


def _lines(lines: Sequence[Line]) -> Iterator[Point]:
    heads = {Side.RIGHT: "Right:", Side.LEFT: "Left:", Side.BOTH: "Both sides:", Side.MIDLINE: "Middle:"}
    order = [*heads, None]
    for line in sorted(lines, key=lambda line: order.index(line.side)):
        head = heads[line.side] if line.side else "Side not recorded:"
        yield Point(f"{line.kind} ({line.note})" if line.note else line.kind, head)


ONLY_CAUTIONS = frozenset(rule.id for rule in RULES if rule.demand.only_cautions)


def _why(plan: Plan) -> Iterator[Point]:
    """Each reason of the headline move with the numbers of its sources, then the sources.

    What asks for no more than a caution stands under “Take care” already.
    """
    numbers: dict[str, int] = {}
    seen: set[str] = set()
    reasons = [one for one in (*plan.headline.reasons, *plan.general) if one.rule not in ONLY_CAUTIONS]
    for reason in reasons:
        if reason.says in seen or any(_covers(other, reason) for other in reasons):
            continue
        seen.add(reason.says)
        cited = [numbers.setdefault(source, len(numbers) + 1) for source in reason.source.split("; ")]
        yield Point(reason.says, "", f"[{NO_BREAK.join(str(number) for number in cited)}]")
    if numbers:
        yield Point("", "Sources:", "; ".join(f"[{number}] {source}" for source, number in numbers.items()))


def _covers(more: Reason, less: Reason) -> bool:
    """Whether one look at one move asks in ``more`` for all of ``less``, and for a higher level."""
    if more.rule not in SEEN or less.rule not in SEEN or more.because != less.because:
        return False
    high, low = SEEN[more.rule], SEEN[less.rule]
    higher = high.level is not None and low.level is not None and high.level.rank > low.level.rank
    return higher and set(high.equipment) >= set(low.equipment)


def _risk(plan: Plan, record: Record) -> Iterator[Point]:
    risk = plan.fall_risk
    if risk is not None:
        yield Point(_score(risk), f"{risk.instrument.capitalize()}:", f"[{risk.source}]")
        if risk.note:
            yield Point("", "", risk.note)
    else:
        yield Point("no fall-risk score recorded")
    if plan.orthostatic is not None:
        yield Point(plan.orthostatic.says, "", f"[{plan.orthostatic.source}]")
    else:
        yield Point("pressure on standing not recorded")
    yield Point(_weight(record), "Weight:")
    leg = next(iter(limb_holds(record.counted_kg)), None)
    if leg is not None and leg.device_advised:
        yield Point(leg.says, "Holding a leg:")


def _weight(record: Record) -> str:
    if record.weight_kg is not None:
        return both_masses(record.weight_kg)
    if record.weight_by_eye is None:
        return "not recorded: counted as the heaviest; weigh first"
    most = record.weight_by_eye.at_most_kg
    return f"by eye, at most {both_masses(most)}" if most else "by eye, very heavy; weigh first"


def _score(risk: FallRisk) -> str:
    if risk.lowest == risk.score:
        return f"{risk.score}, {risk.band}"
    left = ", ".join(spaced(item) for item in risk.unanswered)
    return f"{risk.lowest} to {risk.score}, taken as {risk.band}; not answered: {left}"


def _reach(spoken: Communication | None) -> Iterator[Point]:
    if spoken is None:
        return
    if spoken.language:
        helper = {True: ", interpreter needed", False: ", no interpreter needed", None: ""}[
            spoken.interpreter
        ]
        yield Point(f"{spoken.language}{helper}", "Language:")
    elif spoken.interpreter:
        yield Point("interpreter needed")
    for head, value in (("Hearing:", spoken.hearing), ("Sight:", spoken.vision), ("", spoken.note)):
        if value:
            yield Point(value, head)


def _shift(record: Record) -> Iterator[Point]:
    if record.goals:
        said = ", ".join(f"{move_name(goal.task)} {goal.times_per_shift} times" for goal in record.goals)
        yield Point(said, "Goal:")
    for head, hours in (("Turn", record.turn_every_h), ("Toilet", record.toilet_every_h)):
        if hours:
            yield Point(f"every {hours:g} h", f"{head}:")
    for visit in record.appointments:
        note = f", {visit.note}" if visit.note else ""
        yield Point(f"{MOVES[visit.task].says}{note}", f"{short_when(visit.at)}:")


def _unknown(plan: Plan, record: Record) -> Iterator[Point]:
    if plan.not_assessed:
        yield Point(unassessed(plan.not_assessed))
    none = [spaced(fact) for fact in THREE_VALUED if record.asked(fact) and not record.as_json()[fact]]
    if none and plan.assessed_at:
        yield Point(f"asked {plan.assessed_at:%d %b %H:%M} by {plan.assessed_by}, none: {', '.join(none)}")
