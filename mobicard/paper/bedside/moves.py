"""The moves on a bedside card: those done alike share a row, with gear cleared for this patient only."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.equipment import WORDS, seat_sling
from mobicard.derive.join.cautions import by_caution, told
from mobicard.derive.join.cleared import cleared_by
from mobicard.derive.model import Gear, Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Equipment, Level, Limb, Task
from mobicard.paper import in_words
from mobicard.paper.clinical_words import EITHER, look_again, nobody_moves
from mobicard.paper.door.other_moves import BY_HAND
from mobicard.paper.points import Point
from mobicard.rules.by_move.floor import LIFT_FROM_THE_FLOOR
from mobicard.rules.by_move.in_chair import RECLINED, WHEELS_LOCKED

HEADS = ("Move", "People, you included", "With what, and how", "Load on each helper")

EVERY = "Every move"
_OWN_ROW = 2


@dataclass(frozen=True, slots=True)
class Row:
    """Moves done alike: their names, level, people, what is done with what, and the load on each helper."""

    tasks: tuple[Task, ...]
    moves: str
    level: str
    people: str
    says: tuple[Point, ...]
    share: str


def rows(plan: Plan, record: Record, now: datetime) -> tuple[Row, ...]:
    """The moves in the order of a day, those done alike together; an ended plan says only to look again."""
    stays = nobody_moves(plan, record)
    if plan.expired:
        again = (Point(in_words.sentence(look_again(plan, now))),)
        return (Row(tuple(Task), EVERY, plan.shown_level.value, stays, again, ""),)
    alike: dict[tuple[object, ...], list[TaskPlan]] = {}
    shared = shared_cautions(plan)
    for task in (plan.tasks[task] for task in Task if task in plan.tasks):
        alike.setdefault(_done(task), []).append(task)
    return tuple(
        Row(
            tuple(task.task for task in group),
            _named([task.task for task in group]),
            group[0].level.value,
            people(group[0].helpers, stays),
            (
                *_gear(group[0], plan, record),
                *_how(group),
                *_until_cleared(group),
                *_mind(group, plan, shared),
            ),
            _shares(group, plan, record),
        )
        for group in alike.values()
    )


def cautions(plan: Plan, task: TaskPlan) -> tuple[str, ...]:
    """The cautions of a move as planned: where a lift takes the patient, or nobody, none of standing."""
    by_hand, hangs = task.level.rank < Level.POWER.rank, task.level is Level.HOIST
    return tuple(
        one
        for one in told(plan, task)
        if (by_hand or one not in BY_HAND) and not (hangs and one.startswith(_NOT_IN_A_LIFT))
    )


_NOT_IN_A_LIFT = (
    *(RECLINED, LIFT_FROM_THE_FLOOR, WHEELS_LOCKED),
    *(f"{in_words.sentence(leg.side)} leg: " for leg in Limb if leg.is_leg),
)
"""How cautions begin that a lift leaves without sense: no sheet is slid on, no leg carries its limit."""


def shared_cautions(plan: Plan) -> dict[str, tuple[Task, ...]]:
    """Cautions of three moves or more that are not all done alike, with their moves, the worst harm first."""
    held = {
        caution: [task for task in moves if caution in cautions(plan, task)]
        for caution, moves in by_caution(plan).items()
    }
    return {
        caution: tuple(task.task for task in tasks)
        for caution, tasks in held.items()
        if len(tasks) > _OWN_ROW and len({_done(task) for task in tasks}) > 1
    }


def people(helpers: int | None, stays: str) -> str:
    """How many people, whoever reads it included."""
    if helpers is None:
        return stays
    return {0: "nobody needed", 1: "1 person"}.get(helpers, f"{helpers} people")


def _done(task: TaskPlan) -> tuple[object, ...]:
    return task.level, task.helpers, task.equipment


def _named(tasks: Sequence[Task]) -> str:
    """The moves by name: the first as it heads a row, the others in short."""
    if len(tasks) == len(Task):
        return EVERY
    return ", ".join([MOVES[tasks[0]].says, *(MOVES[task].says_short for task in tasks[1:])])


def served_otherwise(plan: Plan) -> tuple[str, ...]:
    """Gear that is not cleared and not needed, in words: another that serves as well is cleared."""
    uses = [[item for item in task.equipment if item in EITHER] for task in plan.tasks.values()]
    needed = {item for items in uses if not any(_cleared(plan, item) for item in items) for item in items}
    return tuple(WORDS[item] for item in EITHER if not _cleared(plan, item) and item not in needed)


def _cleared(plan: Plan, item: Equipment) -> bool:
    return plan.gear.get(item, _NONE).cleared


# -- With what ------------------------------------------------------------------------------------------


def _gear(task: TaskPlan, plan: Plan, record: Record) -> Iterator[Point]:
    """Each piece cleared for the patient, with rating and place; where none is: STOP, and what to get."""
    missing: list[dict[Equipment, Gear]] = []
    either = [item for item in task.equipment if item in EITHER]
    for items in ([either] if either else []) + [[one] for one in task.equipment if one not in EITHER]:
        found = {item: plan.gear.get(item, _NONE) for item in items}
        cleared = [(item, gear) for item, gear in found.items() if gear.cleared]
        for number, (item, gear) in enumerate(cleared):
            named = ("or " if number else "") + _name(item, gear)
            held = _bears(gear, at_bed=item.value in {aid.value for aid in record.aids})
            yield Point(held, f"{in_words.sentence(named)}{':' if held else ''}")
        if not cleared:
            missing.append(found)
    if Equipment.FULL_BODY_LIFT in task.equipment and not set(task.equipment) & SLINGS:
        yield Point(_rolled_under(task, plan), f"{in_words.sentence(seat_sling(record))}:")
    if missing:
        yield _stop(missing, record)


SLINGS = {Equipment.SUPINE_SLING, Equipment.REPOSITIONING_SLING}
"""What lifts one who lies; a lift to a seat needs one that no list of a unit's gear names."""


def _rolled_under(task: TaskPlan, plan: Plan) -> str:
    """How a sling gets under who lies in bed, and with how many where the turn takes more than the lift."""
    turn = plan.tasks[Task.TURN]
    more = task.task is not Task.UP_IN_CHAIR and (turn.helpers or 0) > (task.helpers or 0)
    people_too = f"; rolled under by {turn.helpers} people, as a turn" if more else ""
    return f"right size, limit on its label{people_too}."


WEIGH = "weigh, or judge the weight by eye and record it"
"""What is done about a weight nobody has recorded; the same words wherever it is asked for."""

_NONE = Gear("", None, "", cleared=False)


def _name(item: Equipment, gear: Gear) -> str:
    own = gear.name and gear.name != WORDS[item]
    return gear.name if own else in_words.EQUIPMENT_SAYS[item]


def _bears(gear: Gear, *, at_bed: bool = False) -> str:
    rated = f"up to {both_masses(gear.safe_load_kg)}" if gear.safe_load_kg else ""
    return ", ".join(part for part in (rated, "at the bed" if at_bed else gear.where) if part)


def _stop(missing: Sequence[dict[Equipment, Gear]], record: Record) -> Point:
    """Nothing here is known to hold the patient: weigh or judge by eye first, or what to ask for."""
    here = {item: gear for found in missing for item, gear in found.items() if gear.name}
    if record.counted_kg is None and here:
        rated = "; ".join(f"{_name(item, gear)}, {_bears(gear)}" for item, gear in here.items())
        return Point(f"{in_words.sentence(rated)}.", "Not used before that:", f"STOP: {WEIGH}")
    wanted = ", ".join(" or ".join(in_words.EQUIPMENT_SAYS[item] for item in found) for found in missing)
    weight = f" rated for {both_masses(record.counted_kg)} or more" if record.counted_kg else ""
    return Point("None on the unit is cleared for this patient.", f"{wanted}{weight}.", "STOP: get one")


# -- How ------------------------------------------------------------------------------------------------


def _how(group: Sequence[TaskPlan]) -> Iterator[Point]:
    """Each method of a row, with its moves where there are several; none that only names gear said above."""
    methods: dict[str, list[str]] = {}
    for task in group:
        if cleared_by(task) and task.task is not Task.TOILET and task.method == MOVES[task.task].withheld:
            continue
        if not set(task.method.split(", ")) <= {WORDS[item] for item in task.equipment}:
            methods.setdefault(task.method, []).append(in_words.move_in_short(task.task))
    for method, moves in methods.items():
        several = len(moves) < len(group) and group[0].helpers is not None
        head = f"{in_words.sentence(', '.join(moves))}:" if several else ""
        yield Point(f"{method if several else in_words.sentence(method)}.", head)


def _until_cleared(group: Sequence[TaskPlan]) -> Iterator[Point]:
    """Who or what clears moves that nobody makes now, each with its moves where they differ."""
    held: dict[str, list[str]] = {}
    for task in group:
        for says in cleared_by(task):
            held.setdefault(says, []).append(in_words.move_in_short(task.task))
    told = [
        says if len(moves) == len(group) else f"{says} ({', '.join(moves)})" for says, moves in held.items()
    ]
    if told:
        yield Point(f"{'; and '.join(told)}.", "Cleared by:")


def _mind(group: Sequence[TaskPlan], plan: Plan, shared: Collection[str]) -> Iterator[Point]:
    """The row's own cautions; one that does not hold for all of its moves with those it holds for."""
    held: dict[str, list[str]] = {}
    for task in group:
        for caution in cautions(plan, task):
            if caution not in shared:
                held.setdefault(caution, []).append(in_words.move_in_short(task.task))
    told = [
        caution if len(moves) == len(group) else f"{caution} ({', '.join(moves)})"
        for caution, moves in held.items()
    ]
    if told:
        yield Point(f"{'; '.join(told)}.", "Mind:")


# -- The load on each helper ----------------------------------------------------------------------------


def _shares(group: Sequence[TaskPlan], plan: Plan, record: Record) -> str:
    """The share of each move of a row; each by its name where they differ."""
    limit = one_limit(plan)
    shares = [_share(task, record.counted_kg is not None, limit) for task in group]
    if len(set(shares)) == 1:
        return shares[0]
    named = zip(group, shares, strict=True)
    return "; ".join(f"{in_words.move_in_short(task.task)}: {share}" for task, share in named if share)


def _share(task: TaskPlan, weight_known: bool, limit: float | None) -> str:
    if task.share_lb is None:
        lifted = task.level in (Level.LINK, Level.TEAM)
        return "weight not recorded" if lifted and not weight_known else ""
    share = both_masses(kg_from_lb(task.share_lb))
    if task.limit_lb is None or limit is not None:
        return share
    return f"{share}, at most {both_masses(kg_from_lb(task.limit_lb))}"


def one_limit(plan: Plan) -> float | None:
    """The per-helper limit, lb, when it is the same for every move that has one; None otherwise."""
    limits = {task.limit_lb for task in plan.tasks.values() if task.limit_lb is not None}
    return limits.pop() if len(limits) == 1 else None


def load_note(plan: Plan, record: Record) -> str:
    """What stands under the table: the patient's weight, and what a share is of."""
    said = [] if plan.expired else [f"Patient’s weight: {_weight(record)}."]
    if not plan.expired and any(task.share_kg is not None for task in plan.tasks.values()):
        limit = one_limit(plan)
        most = "" if limit is None else f", at most {both_masses(kg_from_lb(limit))}"
        said.append(f"Load: what the patient does not carry alone, shared by those who move them{most}.")
    return " ".join(said)


def _weight(record: Record) -> str:
    if record.weight_kg is not None:
        return both_masses(record.weight_kg)
    if record.weight_by_eye is None:
        return f"not recorded, counted as the heaviest: {WEIGH}"
    most = record.weight_by_eye.at_most_kg
    return f"by eye, at most {both_masses(most)}" if most else "by eye, very heavy: weigh"
