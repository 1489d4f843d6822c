"""The handling plan as a CarePlan, and what is wanted of the patient as Goals."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from mobicard.derive import Plan
from mobicard.derive.model import TaskPlan
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.exchange.fhir.resources import Resources
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Level, Task

Json = dict[str, Any]


def goals(resources: Resources) -> Iterable[tuple[str, Json]]:
    """Each goal of the record, so many times a shift."""
    for goal in resources.facts.get("goals", ()):
        task, times = Task(goal["task"]), goal["times_per_shift"]
        measure = concept(coding(codes.TASK, task.value), text=MOVES[task].says)
        target = {"measure": measure, "detailQuantity": {"value": times, "unit": "times a shift"}}
        yield (
            f"goal.{task.value}.{times}",
            {
                "resourceType": "Goal",
                "lifecycleStatus": "active",
                "description": {"text": f"{MOVES[task].says}: {times} times a shift"},
                "subject": resources.subject,
                "target": [target],
            },
        )


def care_plan(resources: Resources, plan: Plan) -> Json:
    """How each move is done, for as long as the look holds; revoked once that is over."""
    by = resources.facts.get("assessed_by")
    return {
        "resourceType": "CarePlan",
        "extension": [{"url": codes.LOOK, "valueString": resources.look}],
        "status": "revoked" if plan.expired else "active",
        "intent": "plan",
        "title": "Moving and handling",
        **resources.whose,
        **resources.period(resources.facts.get("assessed_at"), plan.valid_until),
        **resources.when("created", resources.stay.recorded_at),
        **({"author": {"display": by}} if by else {}),
        **_goals(resources),
        "activity": [{"detail": _move(task, how, plan)} for task, how in plan.tasks.items()],
    }


def _goals(resources: Resources) -> Json:
    wanted = [resources.reference("Goal", resources.id(name)) for name, _ in goals(resources)]
    return {"goal": wanted} if wanted else {}


def _move(task: Task, how: TaskPlan, plan: Plan) -> Json:
    """One move: not to be done where the level says so or nobody has looked in time."""
    no = plan.expired or how.level is Level.REMAIN
    return {
        "code": concept(coding(codes.TASK, task.value), text=MOVES[task].says),
        "status": "stopped" if plan.expired else "on-hold" if no else "in-progress",
        "doNotPerform": no,
        "description": "assess again before moving" if plan.expired else _said(how),
    }


def _said(how: TaskPlan) -> str:
    people = [] if how.helpers is None else [f"helpers: {how.helpers}"]
    items = [item.value.replace("_", " ") for item in how.equipment]
    return "; ".join([how.level.value, *people, how.method, *items, *how.cautions])
