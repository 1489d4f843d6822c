"""What else the door must say: the moves that take more than its large number, and the cautions it bears."""

from __future__ import annotations

from collections.abc import Iterator

from mobicard.derive.join.cautions import told
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts.moves import BED, DAY
from mobicard.facts.words import Equipment, Level, Task
from mobicard.paper import in_words
from mobicard.paper.clinical_words import spaced
from mobicard.rules.protocol import RULES

LIFTS = (Equipment.POWERED_STANDING_AID, Equipment.FULL_BODY_LIFT)
LIFTED = (Level.POWER, Level.HOIST)

BESIDE = (*(task for task in DAY if task is not Task.CHAIR), Task.STRETCHER)
"""Moves held against the headline. A floor move takes a lift for nearly everybody: it is no news here."""

IN_BED = (*BED, Task.SIT_UP)
"""Moves that may go on for a patient who stays in bed."""

BY_HAND = {
    caution: rule.tasks
    for rule in RULES
    if rule.id in ("caution.knees", "caution.edge_of_bed", "sternal.walker")
    for caution in rule.demand.cautions
}
"""Cautions with no sense for a patient whom a lift takes through every move they are for."""


def more_help(plan: Plan) -> str | None:
    """Moves that take more helpers, hands or lifts than the card's large number says, worst first.

    None where there are none. A card that shows no number gives those of the moves in bed; a patient who fell
    is not in bed, or not to be moved there.
    """
    if plan.expired or (plan.shown_level is Level.REMAIN and plan.after_fall is not None):
        return None
    groups: dict[tuple[int, str], list[str]] = {}
    for task in _harder(plan):
        groups.setdefault((task.helpers or 0, _beyond(task, plan.headline)), []).append(
            spaced(task.task.value)
        )
    worst = sorted(groups, key=lambda need: (-need[0], need[1] in ("", "hands on")))
    told = "; ".join(f"{', '.join(groups[need])}: {_need(*need)}" for need in worst)
    return in_words.sentence(told) or None


def _harder(plan: Plan) -> Iterator[TaskPlan]:
    if plan.shown_level is Level.REMAIN or plan.helpers is None:
        yield from (plan.tasks[task] for task in IN_BED if plan.tasks[task].helpers)
        return
    for task in (plan.tasks[task] for task in BESIDE):
        if (task.helpers or 0) > plan.helpers or (task.helpers and _beyond(task, plan.headline)):
            yield task


def _beyond(task: TaskPlan, headline: TaskPlan) -> str:
    """The lift, or the hands, that the headline move does without."""
    used = headline.equipment if headline.level in LIFTED else ()
    if task.level in LIFTED:
        more = [in_words.EQUIPMENT_SAYS[one] for one in LIFTS if one in task.equipment and one not in used]
        return ", ".join(more) or ("" if headline.level in LIFTED else "a lift")
    hands_off = headline.level.rank < Level.LINK.rank
    return "hands on" if hands_off and task.level is Level.LINK else ""


def _need(helpers: int, beyond: str) -> str:
    return f"{in_words.helpers(helpers)}, {beyond}" if beyond else in_words.helpers(helpers)


def door_cautions(plan: Plan) -> Iterator[str]:
    """The headline move's cautions; with a lift, without those of moves a lift does anyway.

    What is left off stands on the bedside card beside its moves.
    """
    lifted = plan.headline.level in LIFTED and not plan.expired
    for caution in told(plan, plan.headline):
        tasks = BY_HAND.get(caution, ())
        if lifted and tasks and all(plan.tasks[task].level.rank >= Level.POWER.rank for task in tasks):
            continue
        yield caution
