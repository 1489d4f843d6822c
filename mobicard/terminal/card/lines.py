"""A plan as lines: what the derived card says, top down, each with the reasons it opens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from mobicard.derive.join.cautions import by_caution
from mobicard.derive.model import Plan, Reason, TaskPlan
from mobicard.facts.text import plain_says
from mobicard.facts.words import Task
from mobicard.paper.sub_line import sub_line
from mobicard.scheme import Scheme
from mobicard.terminal.card.line import CardLine
from mobicard.terminal.card.table import table_lines
from mobicard.terminal.looks import Depth, Part, alarm_style, badge, banned, people_say, rail_of, safe
from mobicard.terminal.record.form.questions import LIMB_SAYS


def card_lines(plan: Plan, scheme: Scheme, depth: Depth, width: int = 76) -> list[CardLine]:
    """Every line of the card in so many cells, most urgent first. Nothing the plan says is left out."""
    return [
        *_head(plan, scheme, depth, width),
        *_warnings(plan),
        *table_lines(plan, scheme, depth, width),
        *_limits(plan),
        *_cautions(plan, width),
        *_rest(plan),
    ]


def _head(plan: Plan, scheme: Scheme, depth: Depth, width: int) -> Iterator[CardLine]:
    look = scheme.looks[plan.shown_level]
    parts: list[Part] = [
        badge(look, depth),
        (f" {rail_of(plan.shown_level)} ", ""),
        (people_say(plan), alarm_style(depth) if banned(plan) else "bold"),
    ]
    sub = sub_line(plan, scheme)
    fits = sum(len(text) for text, _ in parts) + len(sub) + 4 <= width
    parts.append((f"  {sub}" if fits else f"\n{sub}", ""))
    yield CardLine("level", tuple(parts), plan.headline.reasons)
    if plan.last_known is not None:
        says = f"No longer holds; {safe(plan.last_known.says)}. Assess again."
        yield CardLine("expired", ((says, "bold"),))


def _warnings(plan: Plan) -> Iterator[CardLine]:
    if plan.after_fall is not None:
        text = "\n".join([safe(plan.after_fall.in_full), *(f"  - {step}" for step in plan.after_fall.steps)])
        yield CardLine("after_fall", ((f"After the fall: {text}", "bold"),), plan.after_fall.reasons)
    if plan.head_observations is not None:
        yield CardLine("head_observations", ((plan.head_observations.says, "bold"),))
    over = plan.override
    if over is not None:
        turn = "lowered from" if over.lowers else "raised from"
        says = f"Own judgement of {safe(over.by)}: {over.level.value}, {turn} {plan.derived_level.value}"
        if over.lowers and over.level is not plan.level:
            says += f", shown as {plan.level.value}: somebody is still needed"
        says += f" until {over.lapses_at:%H:%M}. {safe(over.reason)}"
        yield CardLine("override", ((says, "bold"),))
    for number, conflict in enumerate(plan.conflicts):
        yield CardLine(f"conflict{number}", (("! ", "bold"), (safe(conflict.says), "bold")))


def _limits(plan: Plan) -> Iterator[CardLine]:
    for limit in plan.weight_bearing:
        yield CardLine(
            f"limb.{limit.limb.value}", ((f"{LIMB_SAYS[limit.limb]}: ", "bold"), (safe(limit.says), ""))
        )
    if plan.orthostatic is not None:
        drop = plan.orthostatic
        fall = {"systolic down": drop.drop_sbp, "diastolic down": drop.drop_dbp}
        why = Reason("orthostatic", drop.says, fall, drop.source)
        yield CardLine("orthostatic", (("Pressure: ", "bold"), (safe(drop.says), "")), (why,))


def _cautions(plan: Plan, width: int) -> Iterator[CardLine]:
    """Each caution, and which moves it is for; where that does not fit beside it, it opens below."""
    for caution, lines in by_caution(plan).items():
        every = len(lines) == len(plan.tasks)
        where = "" if every else ", ".join(_brief(line.task) for line in lines)
        text = safe(caution)
        fits = len(text) + len(where) + 7 <= width
        beside = f"{text} ({where})" if where and fits else text
        more: tuple[Part, ...] = (("for ", "bold"), (where, "")) if where and not fits else ()
        line = (("- ", "bold"), (beside, ""))
        yield CardLine(f"caution.{caution}", line, _why(caution, lines), more)


def _why(caution: str, lines: Sequence[TaskPlan]) -> tuple[Reason, ...]:
    every = {reason.rule: reason for line in lines for reason in line.reasons}
    shared = [r for r in every.values() if all(any(o.rule == r.rule for o in line.reasons) for line in lines)]
    exact = [reason for reason in every.values() if reason.says.rstrip(".") == caution.rstrip(".")]
    return tuple(exact or shared or every.values())


def _brief(task: Task) -> str:
    return task.value.replace("_", " ")


def _rest(plan: Plan) -> Iterator[CardLine]:
    if plan.fall_risk is not None:
        risk = plan.fall_risk
        span = f"{risk.score}" if risk.lowest == risk.score else f"{risk.lowest} to {risk.score}"
        left = f", {len(risk.unanswered)} unanswered" if risk.unanswered else ""
        says = f"{risk.band}, score {span} ({plain_says(risk.instrument)}){left}"
        because = {"unanswered": ", ".join(risk.unanswered)} if risk.unanswered else {}
        why = Reason(
            f"fall_risk.{risk.instrument}", risk.note or "The score as published.", because, risk.source
        )
        yield CardLine("fall_risk", (("Fall risk: ", "bold"), (says, "")), (why,))
    if plan.not_assessed:
        names = [plain_says(name.replace(".", ": ")) for name in plan.not_assessed]
        yield CardLine("not_assessed", (("Not assessed: ", "bold"), (", ".join(names), "")))
    until = f"{plan.valid_until:%d %b %H:%M}" if plan.valid_until else "no time: it was never assessed"
    holds = "Ended " if plan.last_known else "Holds until "
    yield CardLine("until", ((holds, "bold"), (f"{until}   code {plan.code}", "")), plan.general)


def reason_parts(reason: Reason) -> tuple[Part, ...]:
    """One reason as it opens under its line: the rule's sentence, the facts, the source."""
    facts = "; ".join(
        f"{name.replace('_', ' ')} {plain_says(value)}" for name, value in reason.because.items()
    )
    because = f"\nbecause {facts}" if facts else ""
    return (
        ("  > ", "bold"),
        (safe(reason.says), ""),
        (because, "italic"),
        (f"\n{reason.source}  [{reason.rule}]", "dim"),
    )
