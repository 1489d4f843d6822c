"""What differs between two plans of one bed, hardest move first, and why."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from mobicard.derive.equipment import words
from mobicard.derive.model import FallRisk, LimbLimit, Plan, Reason, TaskPlan
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level, Task


@dataclass(frozen=True, slots=True)
class Change:
    """One difference: ``what`` went from ``old`` to ``new``; ``eases`` when it asks for less than before.

    ``task`` is None for what concerns every move (limits, fall risk, pressure). ``why``: for what grew, the
    reasons that are new; for what eased, the reasons that are gone.
    """

    task: Task | None
    what: str
    old: str
    new: str
    says: str
    why: tuple[Reason, ...]
    eases: bool


def changes(old: Plan | None, new: Plan) -> tuple[Change, ...]:
    """Every difference a reader of the card must know; none where there was no plan before."""
    if old is None:
        return ()
    found = [change for task in Task for change in _of_task(old.tasks[task], new.tasks[task])]
    found.sort(key=lambda change: _hardness(change, new))
    return (
        *_after_fall(old, new),
        *_head(old, new),
        *found,
        *_limbs(old, new),
        *_fall_band(old, new),
        *_pressure(old, new),
    )


def _hardness(change: Change, new: Plan) -> tuple[int, int, int]:
    """Harder moves first, the headline move before its equals."""
    plan = new.tasks[change.task or Task.CHAIR]
    return (-plan.level_rank, -(plan.helpers or 0), 0 if change.task is Task.CHAIR else 1)


# -- One move ---------------------------------------------------------------------------------------------


def _of_task(old: TaskPlan, new: TaskPlan) -> Iterator[Change]:
    name = MOVES[new.task].says
    if (old.level, old.helpers) != (new.level, new.helpers):
        was, now = _level(old), _level(new)
        what = "level" if old.level is not new.level else "helpers"
        eases = (new.level_rank, _people(new)) < (old.level_rank, _people(old))
        tools = f", {_names(new.equipment)}" if new.equipment and new.equipment != old.equipment else ""
        yield Change(new.task, what, was, now, f"{name}: {was} -> {now}{tools}", _why(old, new, eases), eases)
    elif old.equipment != new.equipment and new.level is not Level.REMAIN:
        was, now = _names(old.equipment), _names(new.equipment)
        eases = set(new.equipment) < set(old.equipment)
        yield Change(new.task, "equipment", was, now, f"{name}: {was} -> {now}", _why(old, new, eases), eases)
    added = [text for text in new.cautions if text not in old.cautions]
    gone = [text for text in old.cautions if text not in new.cautions]
    if added:
        says = f"{name}: now also: {'; '.join(added)}"
        yield Change(new.task, "cautions", "", "; ".join(added), says, _why(old, new, False), False)
    if gone:
        says = f"{name}: no longer: {'; '.join(gone)}"
        yield Change(new.task, "cautions", "; ".join(gone), "", says, _why(old, new, True), True)


def _people(plan: TaskPlan) -> int:
    return 99 if plan.helpers is None else plan.helpers


def _level(plan: TaskPlan) -> str:
    if plan.helpers is None:
        return plan.level.value
    return f"{plan.level.value}, {plan.helpers} helper{'' if plan.helpers == 1 else 's'}"


def _names(items: tuple[Equipment, ...]) -> str:
    return ", ".join(words(item) for item in items) or "no equipment"


def _why(old: TaskPlan, new: TaskPlan, eases: bool) -> tuple[Reason, ...]:
    """The reasons only one side has: new ones for what grew, gone ones for what eased.

    Where the rules are the same and only a figure moved (a weight, a count), those whose facts differ.
    """
    more, less = (old, new) if eases else (new, old)
    known = {reason.rule for reason in less.reasons}
    found = tuple(reason for reason in more.reasons if reason.rule not in known)
    facts = {(reason.rule, str(reason.because)) for reason in less.reasons}
    return found or tuple(
        reason for reason in more.reasons if (reason.rule, str(reason.because)) not in facts
    )


# -- What concerns every move -----------------------------------------------------------------------------


def _after_fall(old: Plan, new: Plan) -> Iterator[Change]:
    was, now = (plan.after_fall.says if plan.after_fall else "no fall open" for plan in (old, new))
    if was != now:
        why = new.after_fall.reasons if new.after_fall else ()
        yield _general("after a fall", was, now, why, eases=new.after_fall is None)


def _head(old: Plan, new: Plan) -> Iterator[Change]:
    was, now = (plan.head_observations.since if plan.head_observations else None for plan in (old, new))
    if was != now:
        said = [f"since {at:%H:%M}" if at else "none" for at in (was, now)]
        yield _general("head observations", said[0], said[1], (), eases=now is None)


def _limbs(old: Plan, new: Plan) -> Iterator[Change]:
    before = {limit.limb: limit for limit in old.weight_bearing}
    after = {limit.limb: limit for limit in new.weight_bearing}
    for limb in dict.fromkeys((*before, *after)):
        was, now = before.get(limb), after.get(limb)
        if was != now:
            eases = now is None or (was is not None and now.status.rank < was.status.rank)
            yield _general(limb.value.replace("_", " "), _limit(was), _limit(now), (), eases)


def _limit(limit: LimbLimit | None) -> str:
    return f"{limit.status.value} ({limit.says})" if limit else "no order"


def _fall_band(old: Plan, new: Plan) -> Iterator[Change]:
    was, now = old.fall_risk, new.fall_risk
    if (was and was.band) != (now and now.band):
        eases = (now.score if now else 0) < (was.score if was else 0)
        yield _general("fall risk", _band(was), _band(now), _rule(new, "falls.high"), eases)


def _band(risk: FallRisk | None) -> str:
    return f"{risk.band} ({risk.instrument} {risk.score})" if risk else "not scored"


def _pressure(old: Plan, new: Plan) -> Iterator[Change]:
    was, now = (bool(plan.orthostatic and plan.orthostatic.positive) for plan in (old, new))
    if was != now:
        said = {True: "falls on standing", False: "no fall known"}
        yield _general("pressure", said[was], said[now], _rule(new, "vitals.pressure_drops"), eases=was)


def _general(what: str, was: str, now: str, why: tuple[Reason, ...], eases: bool) -> Change:
    return Change(None, what, was, now, f"{what.capitalize()}: {was} -> {now}", why, eases)


def _rule(plan: Plan, rule: str) -> tuple[Reason, ...]:
    found = (reason for task in plan.tasks.values() for reason in task.reasons if reason.rule == rule)
    first = next(found, None)
    return (first,) if first else ()
