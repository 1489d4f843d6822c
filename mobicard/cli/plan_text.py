"""A plan as plain text for a person at a shell: level, then each move in a line, then what to mind."""

from __future__ import annotations

from mobicard.derive.join.cautions import by_caution
from mobicard.derive.loads import limb_holds
from mobicard.derive.model import Plan, TaskPlan
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Limb
from mobicard.paper.sub_line import sub_line
from mobicard.scheme import Scheme, rail

LIMB_SAYS = {limb: limb.value.replace("_", " ").capitalize() for limb in Limb}
CAUTION = "Decision support only: licensed judgement, orders and facility policy come first."


def plan_text(plan: Plan, record: Record, scheme: Scheme, *, signs: bool = True) -> str:
    """The plan in lines that hold without colour; without ``signs`` also when they are read aloud."""
    look = scheme.looks[plan.shown_level]
    lines = [f"{plan.bed}  {look.glyph} {look.word}  {rail(look.rank)}  {sub_line(plan, scheme)}"]
    if not signs:
        lines = [f"{plan.bed}: {look.word}, {sub_line(plan, scheme)}"]
    if plan.expired and plan.assessed_at is None:
        lines.append("NO TIME OF ASSESSMENT: nobody can say when this was seen; assess before moving.")
    elif plan.expired:
        since = f"since {plan.assessed_at:%d %b %H:%M}"
        lines.append(f"NOT LOOKED AT {since}: assess before moving. Orders as last recorded.")
        lines += [f"history: {plan.last_known.says}"] if plan.last_known else []
    elif plan.valid_until:
        lines.append(f"holds until {plan.valid_until:%d %b %H:%M}   code {plan.code}")
    if plan.override:
        over = plan.override
        lines.append(
            f"override to {over.level.value} by {over.by}: {over.reason} (derived: {plan.derived_level})"
        )
    if fall := plan.after_fall:
        lines += [f"AFTER A FALL: {fall.in_full}", *(f"  - {step}" for step in fall.steps)]
    if plan.head_observations:
        lines.append(plan.head_observations.says)
    lines += ["", *(_task_line(one, scheme, signs) for one in plan.tasks.values()), ""]
    lines += _section("Mind", _cautions(plan))
    lines += _section("Limits", [f"{LIMB_SAYS[limit.limb]}: {limit.says}" for limit in plan.weight_bearing])
    lines += _section("Holding a limb", [hold.says for hold in limb_holds(record.counted_kg)])
    lines += _section("Conflicts", [conflict.says for conflict in plan.conflicts])
    if plan.fall_risk:
        risk = plan.fall_risk
        score = f"{risk.lowest}-{risk.score}" if risk.lowest != risk.score else str(risk.score)
        lines.append(f"Fall risk: {risk.band} ({risk.instrument} {score})")
    if plan.orthostatic and plan.orthostatic.positive is not None:
        lines.append(plan.orthostatic.says)
    if plan.not_assessed:
        lines.append(f"Not assessed: {', '.join(name.replace('_', ' ') for name in plan.not_assessed)}")
    lines += ["", CAUTION]
    return "\n".join(lines)


def _task_line(one: TaskPlan, scheme: Scheme, signs: bool) -> str:
    look, says = scheme.looks[one.level], MOVES[one.task].says
    people = "not now" if one.helpers is None else f"{one.helpers} helper{'' if one.helpers == 1 else 's'}"
    kit = ", ".join(item.value.replace("_", " ") for item in one.equipment)
    load = f"; {both_masses(kg_from_lb(one.share_lb))} a helper" if one.share_lb else ""
    if not signs:
        return f"{says}: {look.word}, {people}; {one.method}{load}" + (f"; {kit}" if kit else "")
    return f"  {look.glyph} {says:<27} {look.word:<6}  {people:<11} {one.method}{load}" + (
        f" [{kit}]" if kit else ""
    )


def _cautions(plan: Plan) -> list[str]:
    return [
        says if len(moves) > 1 else f"{says} ({MOVES[moves[0].task].says.lower()})"
        for says, moves in by_caution(plan).items()
    ]


def _section(title: str, lines: list[str]) -> list[str]:
    return [f"{title}:", *(f"  - {line}" for line in lines)] if lines else []
