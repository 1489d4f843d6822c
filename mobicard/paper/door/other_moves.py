"""What else the door must say: the moves that take more than its large number, and the cautions it bears."""

from __future__ import annotations

from collections.abc import Iterator

from mobicard.derive.join.cautions import told
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts.moves import IN_CHAIR
from mobicard.facts.words import Equipment, Level, Task
from mobicard.paper import in_words
from mobicard.paper.clinical_words import spaced
from mobicard.rules.protocol import RULES

LIFTS = (Equipment.POWERED_STANDING_AID, Equipment.FULL_BODY_LIFT)
LIFTED = (Level.POWER, Level.HOIST)

BESIDE = (Task.WALK, *IN_CHAIR, Task.STRETCHER)
"""Moves of neither number. A floor move takes a lift for nearly everybody: it is no news here."""

BY_HAND = {
    caution: rule.tasks
    for rule in RULES
    if rule.id in ("caution.knees", "caution.edge_of_bed", "sternal.walker")
    for caution in rule.demand.cautions
}
"""Cautions with no sense for a patient whom a lift takes through every move they are for."""


MOVE_SAYS = {Task.STRETCHER: "onto a stretcher"}

PRIVATE = frozenset(
    caution
    for rule in RULES
    if rule.id.startswith(("pregnancy.", "skin.", "neglect."))
    for caution in rule.demand.cautions
)
"""Cautions that tell a passer-by more of the patient than of the move."""


def more_help(plan: Plan) -> str:
    """Moves of neither number that take more people, hands or lifts than out of bed, worst first."""
    if plan.expired or plan.shown_level is Level.REMAIN or plan.helpers is None:
        return ""
    groups: dict[tuple[int, str], list[str]] = {}
    for task in _harder(plan, plan.helpers):
        needed = (task.helpers or 0, _beyond(task, plan.headline))
        groups.setdefault(needed, []).append(MOVE_SAYS.get(task.task, spaced(task.task.value)))
    worst = sorted(groups, key=lambda need: (-need[0], need[1] in ("", "hands on")))
    told = "; ".join(f"{', '.join(groups[need])}: {_need(*need)}" for need in worst)
    return in_words.sentence(told)


def _harder(plan: Plan, people: int) -> Iterator[TaskPlan]:
    for task in (plan.tasks[task] for task in BESIDE):
        if (task.helpers or 0) > people or (task.helpers and _beyond(task, plan.headline)):
            yield task


def _beyond(task: TaskPlan, headline: TaskPlan) -> str:
    """The lift, or the hands, that the headline move does without."""
    used = headline.equipment if headline.level in LIFTED else ()
    if task.level in LIFTED:
        more = [in_words.EQUIPMENT_SAYS[one] for one in LIFTS if one in task.equipment and one not in used]
        return ", ".join(more) or ("" if headline.level in LIFTED else "a lift")
    hands_off = headline.level.rank < Level.LINK.rank
    return "hands on" if hands_off and task.level is Level.LINK else ""


def _need(people: int, beyond: str) -> str:
    needed = "1 person" if people == 1 else f"{people} people"
    return f"{needed}, {beyond}" if beyond else needed


def door_cautions(plan: Plan) -> Iterator[str]:
    """The headline move's cautions; with a lift, without those of moves a lift does anyway.

    What is left off stands on the bedside card beside its moves.
    """
    lifted = plan.headline.level in LIFTED and not plan.expired
    for caution in told(plan, plan.headline):
        if caution in PRIVATE:
            continue
        tasks = BY_HAND.get(caution, ())
        if lifted and tasks and all(plan.tasks[task].level.rank >= Level.POWER.rank for task in tasks):
            continue
        yield caution
