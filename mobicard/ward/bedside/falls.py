"""A fall told step by step without a screen: the fall, the examination, up again; each refuses as it must."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from mobicard.derive.over_time.fall_cleared import contradicted, fall_conflicts
from mobicard.facts import FallEvent, Record, RecordRefused
from mobicard.facts.refusal import problems_of
from mobicard.facts.words import Found, Level, LiftAs, Task
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView, WardRefused

EXAMINED = ("cleared_by", "cleared_at", "head", "spine", "bones", "lift_as")
"""What an examination after a fall answers."""

Told = Mapping[str, Any]


def fell(ward: Recording, view: BedView, told: Told, beside: Told) -> BedView:
    """A new fall; what is not told counts as the worse answer. Raises RecordRefused, and as ``Recording``."""
    return _save(ward, view, told, beside)


def told_more(ward: Recording, view: BedView, told: Told, beside: Told) -> BedView:
    """More about the fall that is open. Raises WardRefused where none is, and as ``fell``."""
    return _save(ward, view, {**_facts(_open(view)), **told}, {**_floor(view.record), **beside})


def cleared(ward: Recording, view: BedView, told: Told, at: datetime) -> BedView:
    """Somebody examined the patient at ``at`` and allowed the move; ``told`` says who, and what was found.

    Raises WardRefused where no fall is open, in the minute of the fall, and for findings that contradict.
    """
    fall = _open(view)
    if at <= fall.at:
        raise WardRefused(f"it is {at:%H:%M} and the fall was at {fall.at:%H:%M}: examine first, then say so")
    before = {name: value for name, value in _facts(fall).items() if name not in EXAMINED}
    facts = {**before, **told, "cleared_at": at}
    event = _event(facts)
    if event.lift_as in (LiftAs.GUIDED, LiftAs.SLING) and not _clear(event):
        raise WardRefused("with spine or bones not found clear the patient is lifted flat, and no other way")
    if contradicted(event):
        raise WardRefused(fall_conflicts(view.record.changed(fall_event=facts))[0].says)
    return _save(ward, view, facts, _floor(view.record))


def up(ward: Recording, view: BedView, at: datetime, floor: str | None) -> BedView:
    """The patient is up at ``at``; ``floor`` is the help it took. Raises WardRefused where it may not be."""
    fall = _open(view)
    _may_get_up(view, fall)
    if fall.lift_as is LiftAs.GUIDED and floor is None:
        raise WardRefused("say how the patient got up from the floor: how much help it took")
    if fall.cleared_at is not None and at < fall.cleared_at:
        raise WardRefused(f"the patient was examined at {fall.cleared_at:%H:%M}: nobody got up before that")
    beside = {"floor": floor} if floor else _floor(view.record)
    return _save(ward, view, {**_facts(fall), "up_at": at}, beside)


def _may_get_up(view: BedView, fall: FallEvent) -> None:
    if fall.cleared_at is None:
        raise WardRefused("nobody has examined the patient and allowed the move, by name")
    missing = [part for part in ("head", "spine", "bones") if getattr(fall, part) is None]
    missing += ["lift_as"] if _clear(fall) and fall.lift_as is None else []
    if missing:
        raise WardRefused(f"the examination does not say: {', '.join(missing)}")
    if why := not_to_be_moved(view):
        raise WardRefused(why)


def not_to_be_moved(view: BedView) -> str:
    """Why the patient stays where they lie, or nothing."""
    fall = view.plan.after_fall
    if fall is not None and fall.state == "do_not_move":
        return fall.says
    return (
        "the plan has nobody bring the patient up"
        if view.plan.tasks[Task.FLOOR].level is Level.REMAIN
        else ""
    )


def facts_beside(record: Record, told: Told) -> dict[str, Any]:
    """What is told besides the fall itself: how awake, how up from the floor; only what is new.

    How the patient got up before the fall says nothing of now: until it is told it is not known.
    """
    facts: dict[str, Any] = {}
    if "alertness" in told and record.alertness != told["alertness"]:
        facts["alertness"] = told["alertness"]
    if record.help.get(Task.FLOOR) != told.get("floor"):
        rest = {task: seen for task, seen in record.help.items() if task is not Task.FLOOR}
        facts["help"] = {**rest, Task.FLOOR: told["floor"]} if "floor" in told else rest
    return facts


def _save(ward: Recording, view: BedView, told: Told, beside: Told) -> BedView:
    return ward.fell(view.stay, _event(told), view.version, facts_beside(view.record, beside))


def _open(view: BedView) -> FallEvent:
    fall = view.record.fall_event
    if fall is None or view.plan.after_fall is None:
        raise WardRefused(f"no fall is open at {view.bed}")
    return fall


def _facts(fall: FallEvent) -> dict[str, Any]:
    return fall.model_dump(exclude_none=True)


def _floor(record: Record) -> dict[str, Any]:
    return {"floor": record.help[Task.FLOOR]} if Task.FLOOR in record.help else {}


def _clear(fall: FallEvent) -> bool:
    return fall.spine is Found.CLEAR and fall.bones is Found.CLEAR


def _event(facts: Told) -> FallEvent:
    try:
        return FallEvent.model_validate(facts)
    except ValidationError as refused:
        raise RecordRefused(problems_of(refused)) from None
