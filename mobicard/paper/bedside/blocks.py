"""The first side of a bedside card below its moves, block by block: what is needed at the move."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from mobicard.derive.conflicts import at_the_bed
from mobicard.derive.loads import limb_holds
from mobicard.derive.model import Conflict, Plan
from mobicard.facts import Communication, Line, Record
from mobicard.facts.moves import UP
from mobicard.facts.words import Aid, Level, Side, Task, spoken_name
from mobicard.paper import in_words
from mobicard.paper.bedside.moves import served_otherwise, shared_cautions
from mobicard.paper.clinical_words import PRECAUTION_SAYS, WORN, body_says, spaced, unassessed
from mobicard.paper.points import Point
from mobicard.rules.words import DECIDING

KNEES = (
    "Do not catch or lift. Ease the patient down, close to you, onto the nearer seat or the floor; "
    "guard the head; call for help.",
    "Do not pull up from the floor: see “Up from the floor”. Head struck, or nobody knows: "
    "not moved until examined, never left alone.",
)
"""Common practice, no source."""

TAKEN_AS_WORST = (*DECIDING, "weight_kg", "fall_risk")
"""Facts that raise the plan while nobody has looked; the others are only missing."""

ON_FEET = (Task.STAND, Task.CHAIR, Task.TOILET, Task.WALK)


@dataclass(frozen=True, slots=True)
class Block:
    """A titled list. ``key`` names it for the style sheet; ``loud`` blocks are framed and never split."""

    key: str
    title: str
    items: tuple[Point, ...]
    loud: bool = False


def front(plan: Plan, record: Record) -> tuple[Block, ...]:
    """Every block of the first side, most needed first; a block with nothing to say is left out."""
    open_questions = open_at_the_bed(plan)
    knees = KNEES if on_feet(plan) else ()
    return made(
        Block("settle", "Open question", tuple(Point(one.says) for one in open_questions), loud=True),
        Block("care", "Take care", () if plan.expired else tuple(_care(plan, record))),
        Block("before", "Before getting up", tuple(_before_up(plan, record))),
        Block("precautions", "Orders and precautions", tuple(_precautions(record))),
        Block("lines", "Lines and drains (patient’s sides)", tuple(_lines(record.lines))),
        Block("knees", "If the legs give way", tuple(Point(text) for text in knees), loud=True),
        Block("reach", "Reaching the patient", tuple(_reach(record.communication))),
        Block("unknown", "Not looked at", tuple(_unknown(plan))),
    )


def open_at_the_bed(plan: Plan) -> list[Conflict]:
    """What is to be settled before the next move; not of gear that another, cleared, stands in for."""
    others = served_otherwise(plan)
    told = at_the_bed(plan.conflicts, plan.headline.equipment)
    return [
        one
        for one in told
        if not ("inventory" in one.fields and any(f"The {name} " in one.says for name in others))
    ]


def made(*blocks: Block) -> tuple[Block, ...]:
    """Those that have something to say."""
    return tuple(block for block in blocks if block.items)


def on_feet(plan: Plan) -> bool:
    """Whether any move is planned on the patient's own feet, without a machine."""
    return any(plan.tasks[task].level.rank <= Level.TEAM.rank for task in ON_FEET if task in plan.tasks)


def of_moves(tasks: Sequence[Task]) -> str:
    """The moves in few words: those a caution holds for, or of most the ones it does not."""
    others = [task for task in Task if task not in tasks]
    if not others:
        return "every move"
    if tuple(tasks) == UP:
        return "on the feet"
    named, but = (others, "all but ") if len(others) < 3 else (tasks, "")
    return but + ", ".join(in_words.move_in_short(task) for task in named)


def _care(plan: Plan, record: Record) -> Iterator[Point]:
    """Cautions of moves done in several ways, the most harmful first; then what holding a leg takes."""
    for caution, tasks in shared_cautions(plan).items():
        yield Point(f"({of_moves(tasks)})", caution)
    leg = next(iter(limb_holds(record.counted_kg)), None)
    moved = any(task.helpers is not None for task in plan.tasks.values())
    if moved and leg is not None and leg.device_advised:
        yield Point(leg.says, "Holding a leg:")


def _precautions(record: Record) -> Iterator[Point]:
    if record.operation is not None:
        yield Point(record.operation.says)
    yield from (Point(in_words.sentence(says)) for says in body_says(record))
    since = {order.what: order for order in record.orders}
    for item in record.precautions:
        order = since.get(item.value)
        yield Point(f"{PRECAUTION_SAYS[item]}{f' ({order.since_says})' if order else ''}")
    for what in (limb.value for limb in record.weight_bearing if limb.value in since):
        yield Point(since[what].since_says, f"{in_words.sentence(spaced(what))}, weight order:")
    if not record.weight_bearing:
        asked = record.asked("weight_bearing")
        yield Point(
            "no limit ordered" if asked else "nobody has asked whether it is limited", "Weight bearing:"
        )


def _before_up(plan: Plan, record: Record) -> Iterator[Point]:
    """What is worn, and what the patient stands or walks with: nothing of that is put on."""
    worn = [*record.on_before_up, *(spaced(aid.value) for aid in record.aids if aid in WORN)]
    if worn:
        yield Point(", ".join(worn), "Put on:")
    if (used := used_aids(record)) and on_feet(plan):
        walks = plan.tasks[Task.WALK].helpers is not None
        yield Point(", ".join(used) + ("" if walks else " (to stand with; no walking now)"), "Fetch:")


def used_aids(record: Record) -> list[str]:
    """What the patient uses on the feet, in words."""
    names = {item.value: says for item, says in in_words.EQUIPMENT_SAYS.items()}
    return [
        names.get(aid.value, spaced(aid.value))
        for aid in record.aids
        if aid not in WORN and aid is not Aid.GAIT_BELT
    ]


def _lines(lines: Sequence[Line]) -> Iterator[Point]:
    heads = {Side.RIGHT: "Right:", Side.LEFT: "Left:", Side.BOTH: "Both sides:", Side.MIDLINE: "Middle:"}
    order = [*heads, None]
    for line in sorted(lines, key=lambda line: order.index(line.side)):
        head = heads[line.side] if line.side else "Side not recorded:"
        yield Point(f"{line.kind} ({line.note})" if line.note else line.kind, head)


def _reach(spoken: Communication | None) -> Iterator[Point]:
    if spoken is None:
        return
    if spoken.language:
        helper = {True: ", interpreter needed", False: ", no interpreter needed", None: ""}[
            spoken.interpreter
        ]
        named = spoken_name(spoken.language)
        yield Point(f"{named}{helper}", "Language:")
    elif spoken.interpreter:
        yield Point("interpreter needed")
    for head, value in (("Hearing:", spoken.hearing), ("Sight:", spoken.vision), ("", spoken.note)):
        if value:
            yield Point(value, head)


def _unknown(plan: Plan) -> Iterable[Point]:
    """What nobody looked at: what the plan takes as the worst, and what it knows nothing of."""
    counted = [name for name in plan.not_assessed if name.split(".")[0] in TAKEN_AS_WORST]
    others = [name for name in plan.not_assessed if name not in (*counted, "weight_bearing")]
    if counted:
        yield Point(unassessed(counted), "Taken as the worst:")
    if others:
        yield Point(unassessed(others), "Not on record, so ask:")
