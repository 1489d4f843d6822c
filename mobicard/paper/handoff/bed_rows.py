"""One line a bed on the handoff: level, people, flags, limits, how it is done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from mobicard.derive.model import Plan
from mobicard.derive.over_time.handoff_values import (
    BedLine,
)
from mobicard.facts import Record
from mobicard.facts.units import most_masses
from mobicard.facts.words import WeightBearing
from mobicard.paper import in_words
from mobicard.paper.bedside.body_figure import STATUS_SAYS, limb_name
from mobicard.paper.clinical_words import (
    PRECAUTION_SAYS,
    body_says,
    dated_ahead,
    history,
    kit_besides,
    look_again,
    nobody_moves,
    short_when,
    spaced,
)
from mobicard.paper.handoff.level_chart import step_chart
from mobicard.scheme.scheme import Scheme

SHOWN_LINES = 4
"""Lines and precautions said of one bed; what is not said is counted and stands on the bedside card."""


@dataclass(frozen=True, slots=True)
class BedRow:
    """One bed's line."""

    bed: str
    label: str
    assignment: str
    level: str
    word: str
    people: str
    flags: tuple[str, ...]
    how: str
    limits: str
    risk: str
    goals: str
    chart: Markup
    until: str


def bed_row(line: BedLine, scheme: Scheme, now: datetime) -> BedRow:
    plan = line.plan
    return BedRow(
        bed=line.bed,
        label=line.label or "",
        assignment=line.assignment or "",
        level=line.level.value,
        word=scheme.looks[line.level].word,
        people=_people(line),
        flags=tuple(_flags(line, scheme, now)),
        how=how(plan, now),
        limits="; ".join(_limits(plan, line.record)),
        risk=_risk(plan),
        goals="; ".join(
            goal.says or f"{spaced(goal.task.value)} {goal.done} of {goal.wanted}" for goal in line.goals
        ),
        chart=step_chart(line.history, now, scheme),
        until=_until(plan, now),
    )


def bed_with_label(bed: str, label: str | None) -> str:
    return f"{bed} {label}" if label else bed


def _people(line: BedLine) -> str:
    if line.plan.expired:
        return ""
    if line.helpers is None:
        return nobody_moves(line.plan, line.record)
    return in_words.helpers(line.helpers)


def _until(plan: Plan, now: datetime) -> str:
    if plan.valid_until is None:
        return "not assessed"
    return "not valid" if dated_ahead(plan, now) else short_when(plan.valid_until)


def _flags(line: BedLine, scheme: Scheme, now: datetime) -> Iterator[str]:
    """What must be read before the level."""
    plan = line.plan
    if plan.expired:
        late = "DATED AHEAD" if dated_ahead(plan, now) else "OUT OF DATE"
        yield ", ".join(filter(None, (late, history(plan, scheme)))) if plan.assessed_at else "NOT ASSESSED"
    if plan.after_fall is not None:
        yield f"AFTER A FALL: {plan.after_fall.in_full}"
    if plan.head_observations is not None:
        yield plan.head_observations.says
    if plan.override is not None and not plan.expired:
        word = scheme.looks[plan.derived_level].word
        yield f"Set by {plan.override.by}: {plan.override.reason} (the rules say {word})"
    if not line.door_ok:
        yield "Door card does not match"


def how(plan: Plan, now: datetime) -> str:
    if plan.expired:
        return look_again(plan, now)
    kit = kit_besides(plan.headline)
    return plan.headline.method + (f", with {kit}" if kit else "")


def _limits(plan: Plan, record: Record) -> Iterator[str]:
    """Limbs held back, precautions and lines, each counted where there are too many to say."""
    since = {order.what: f" {order.since_says}" for order in record.orders}
    for limit in plan.weight_bearing:
        if limit.status.rank >= WeightBearing.PWB.rank:
            figure = f" up to {most_masses(limit.limit_kg)}" if limit.limit_kg else ""
            age = since.get(limit.limb.value, "")
            yield f"{limb_name(limit.limb)} {STATUS_SAYS[limit.status]}{figure}{age}"
    told = [PRECAUTION_SAYS[p].split(":")[0].lower() + since.get(p.value, "") for p in record.precautions]
    yield from _counted([*told, *body_says(record)], "precautions")
    if record.operation is not None:
        yield record.operation.says
    yield from _counted([_line_says(line.kind, line.side) for line in record.lines], "lines")


def _line_says(kind: str, side: str | None) -> str:
    return kind if side is None else f"{kind} {spaced(side)}"


def _counted(told: Sequence[str], what: str) -> Iterable[str]:
    more = len(told) - SHOWN_LINES
    return [*told[:SHOWN_LINES], f"{more} more {what}"] if more > 0 else told


def _risk(plan: Plan) -> str:
    told = []
    if plan.fall_risk is not None:
        score = plan.fall_risk
        figure = f"{score.score}" if score.lowest == score.score else f"{score.lowest} to {score.score}"
        told.append(f"{score.instrument} {figure}, {score.band}")
    if plan.orthostatic is not None and plan.orthostatic.positive is not False:
        told.append(
            "pressure falls on standing" if plan.orthostatic.positive else "pressure not measured standing"
        )
    return "; ".join(told) or "not recorded"
