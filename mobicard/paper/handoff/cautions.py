"""The cautions that injure if missed, without those that a bed's row tells in another place."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from mobicard.derive.join.cautions import told
from mobicard.derive.model import Plan
from mobicard.facts.words import Task
from mobicard.paper.bedside.body_figure import limb_name
from mobicard.paper.door.other_moves import door_cautions
from mobicard.rules.protocol import RULES, harm

INJURES = 1
"""Up to this harm (0 kills or maims, 1 injures); the rest stands on the bedside card."""

_ELSEWHERE = (
    *("spine.in_line", "sternal.arms", "hip.posterior", "hip.anterior", "groin.", "head_up", "lines.clear"),
    *("vitals.pressure", "falls.high", "caution.sudden"),
)
"""Said by the precaution's own words, the lines, if-then, or the fall risk."""


def worst_cautions(plan: Plan) -> Iterator[str]:
    """Of the moves out of bed and of turning, each once, the gravest first; none of a plan that ended."""
    if plan.expired or plan.after_fall is not None:
        return
    limbs = {limb_name(limit.limb) for limit in plan.weight_bearing}
    for caution in dict.fromkeys((*door_cautions(plan), *told(plan, plan.tasks[Task.TURN]))):
        if caution.partition(":")[0].lower() in limbs:
            continue
        if _shown(caution):
            yield caution


@cache
def _shown(caution: str) -> bool:
    """Whether it injures if missed, and the row says it nowhere else."""
    rules = [rule for rule in RULES if caution in rule.demand.cautions]
    worst = min((harm(rule) for rule in rules), default=0)
    return worst <= INJURES and not any(rule.id.startswith(_ELSEWHERE) for rule in rules)
