"""A bed's people, said one way everywhere: out of bed and in bed, the same groups as on its door."""

from __future__ import annotations

from dataclasses import dataclass

from mobicard.derive.join import groups
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts.words import Task

AT_ONCE = {"spine.at_once": 4, "spine.at_once_neck": 5}
"""The people a log roll takes at once, whatever else is known of the patient: who vomits cannot wait."""


@dataclass(frozen=True, slots=True)
class People:
    """How many people, whoever reads it included; None is a move nobody makes now."""

    out_of_bed: int | None
    in_bed: int | None

    @property
    def known(self) -> bool:
        """Whether any of these moves is made now."""
        return self.out_of_bed is not None or self.in_bed is not None

    @property
    def most(self) -> int:
        """The most that any of these moves takes; none where nobody moves the patient."""
        return max(self.out_of_bed or 0, self.in_bed or 0)


def people_of(plan: Plan) -> People:
    """The people of a plan; nobody stands behind one that has ended, so it has none."""
    if plan.expired:
        return People(None, None)
    out, lying = groups.out_of_bed(plan.tasks), groups.in_bed(plan.tasks)
    return People(groups.people(out), _in_bed(plan, lying))


def _in_bed(plan: Plan, lying: tuple[TaskPlan, ...]) -> int | None:
    at_once = [AT_ONCE[one.rule] for one in plan.tasks[Task.TURN].reasons if one.rule in AT_ONCE]
    if at_once:
        return max(at_once)
    return groups.people(tuple(move for move in lying if move.helpers is not None) or lying)
