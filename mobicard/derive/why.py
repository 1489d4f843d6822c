"""Why a plan says what it says; what it would say with one fact changed; and the whole protocol listed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from difflib import get_close_matches
from typing import Any

from mobicard.derive.as_json import AsJson
from mobicard.derive.equipment import Inventory, words
from mobicard.derive.join.cautions import told
from mobicard.derive.model import Plan, Reason, TaskPlan
from mobicard.derive.over_time.changes import changes
from mobicard.derive.plan import plan_for
from mobicard.facts import Record, read_record
from mobicard.facts.moves import MOVES
from mobicard.facts.units import both_masses, kg_from_lb
from mobicard.facts.words import Task
from mobicard.rules.policy import Policy
from mobicard.rules.protocol import WRITTEN_DOWN

# -- Why --------------------------------------------------------------------------------------------------


def explain(plan: Plan, task: Task | str) -> str:
    """The reasons of one move as a person reads them, what asks for most first.

    Raises ValueError with the moves' names for a task nobody knows.
    """
    move = plan.tasks[_task(task)]
    lines = [_headline(move)]
    if move.equipment:
        lines.append(f"With: {', '.join(words(item) for item in move.equipment)}.")
    if move.share_lb is not None and move.limit_lb is not None:
        lines.append(
            f"Each helper bears about {both_masses(kg_from_lb(move.share_lb))}; "
            f"the limit is {both_masses(kg_from_lb(move.limit_lb))}."
        )
    lines += [f"Mind: {text}." for text in told(plan, move)]
    lines += ["", "Because:"]
    lines += [f"  {number}. {_reason(item)}" for number, item in enumerate(move.reasons, start=1)]
    if plan.override is not None:
        lines += ["", f"Override by {plan.override.by}: {plan.override.level.value}. {plan.override.reason}"]
    if plan.expired:
        lines += ["", _ended(plan)]
    return "\n".join(lines)


def _ended(plan: Plan) -> str:
    if plan.assessed_at is None:
        return "No time of assessment: nobody can say how old this is; look at the patient first."
    known = f" History: {plan.last_known.says}." if plan.last_known else ""
    return f"Expired: nobody stands behind this plan until the patient is assessed again.{known}"


def _task(task: Task | str) -> Task:
    try:
        return Task(task)
    except ValueError:
        names = ", ".join(item.value for item in Task)
        raise ValueError(f"“{task}” is not a move mobicard knows; write one of {names}") from None


def _headline(move: TaskPlan) -> str:
    people = "" if move.helpers is None else f", {move.helpers} helper{'' if move.helpers == 1 else 's'}"
    return f"{MOVES[move.task].says}: {move.level.value}{people}, {move.method}."


def _reason(item: Reason) -> str:
    facts = ", ".join(f"{name} is {_shown(value)}" for name, value in item.because.items())
    seen = f" ({facts})" if facts else ""
    return f"{item.says}{seen}\n     rule {item.rule}; {item.source}"


def _shown(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{name} {_shown(part)}" for name, part in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(str(part) for part in value) or "none"
    return str(value).replace("_", " ")


# -- What if ----------------------------------------------------------------------------------------------

YES_NO = ("dizzy", "witnessed", "interpreter")
LISTS = ("precautions", "aids", "on_before_up")


def what_if(
    record: Record,
    facts: Mapping[str, Any],
    policy: Policy,
    now: datetime,
    inventory: Inventory | None = None,
) -> tuple[Plan, Plan, str]:
    """The plan as it is, the plan with these facts changed, and both side by side as text.

    Facts are spelled as on the command line: ``standing``, ``help.chair``, ``weight_bearing.left_leg`` (NWB,
    or ``PWB 50%`` or ``PWB 20 kg``), ``weight`` (``200 lb``); ``none`` takes a fact away; lists take items
    separated by commas. Raises RecordRefused or ValueError in words.
    """
    data = record.as_json()
    for name, value in facts.items():
        _set(data, name.strip(), value)
    changed = read_record(data)
    before = plan_for(record, policy, now, inventory)
    after = plan_for(changed, policy, now, inventory)
    return before, after, side_by_side(before, after)


def _set(data: dict[str, Any], name: str, value: Any) -> None:
    """Change one fact of a record spelled as JSON; the record itself checks what comes out."""
    top, _, inner = name.partition(".")
    if top in ("weight", "height"):
        data.pop("weight_kg" if top == "weight" else "height_cm", None)
    elif top not in Record.model_fields:
        near = get_close_matches(top, [*Record.model_fields, "weight", "height"], n=1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise ValueError(f"“{name}” is not a fact mobicard knows{hint}")
    value = _read(top, inner, value)
    if inner:
        group = dict(data.get(top) or {})
        _put(group, inner, value)
        data[top] = group
    else:
        _put(data, top, value)


def _put(group: dict[str, Any], name: str, value: Any) -> None:
    key, _, rest = name.partition(".")
    if rest:
        part = dict(group.get(key) or {})
        _put(part, rest, value)
        group[key] = part
    elif value is None:
        group.pop(key, None)
    else:
        group[key] = value


def _read(top: str, inner: str, value: Any) -> Any:
    if not isinstance(value, str):
        return value
    text = value.strip()
    if text.lower() in ("none", ""):
        return None
    if top == "weight_bearing" and "." not in inner:
        return _order(text)
    if top in LISTS:
        return [item.strip() for item in text.split(",") if item.strip()]
    if top == "fall_risk" or inner in YES_NO:
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    return text


_PERCENT = re.compile(r"^(\w+)[ ,:]+(\d+(?:\.\d+)?) ?%$")
_LOAD = re.compile(r"^(\w+)[ ,:]+(\d.*)$")


def _order(text: str) -> dict[str, Any]:
    """An order for a limb: ``NWB``, ``PWB 50%``, ``PWB 20 kg``, ``TTWB 20 lb``."""
    if found := _PERCENT.match(text):
        return {"status": found[1], "percent": float(found[2])}
    if found := _LOAD.match(text):
        return {"status": found[1], "load": found[2]}
    return {"status": text}


def side_by_side(before: Plan, after: Plan) -> str:
    """Two plans, move by move, with what differs marked and the new reasons below."""
    rows = [(MOVES[task].says, _short(before.tasks[task]), _short(after.tasks[task])) for task in Task]
    left = max(len(name) for name, _, _ in rows)
    middle = max(len("as recorded"), *(len(was) for _, was, _ in rows))
    lines = [f"  {'':<{left}}  {'as recorded':<{middle}}  with the change"]
    for name, was, now in rows:
        mark = " " if was == now else "*"
        lines.append(f"{mark} {name:<{left}}  {was:<{middle}}  {now}")
    found = changes(before, after)
    if before.last_known:
        lines += ["", _ended(before)]
    if not found:
        return "\n".join([*lines, "", "Nothing on the card changes."])
    lines += ["", "What changes:"]
    for change in found:
        lines.append(f"  {change.says}")
        lines += [
            f"    {'no longer: ' if change.eases else ''}{item.says} [{item.source}]" for item in change.why
        ]
    return "\n".join(lines)


def _short(move: TaskPlan) -> str:
    return move.level.value if move.helpers is None else f"{move.level.value} {move.helpers}"


# -- The protocol -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class RuleLine(AsJson):
    """One rule as it is listed: its id, the moves it speaks of, its sentence, its source."""

    id: str
    tasks: tuple[Task, ...]
    says: str
    source: str


def rules_listing(policy: Policy | None = None) -> list[RuleLine]:
    """Every rule from the code itself, in the protocol's order, with the policy's figures filled in."""
    figures = vars((policy or Policy()).handling)
    return [
        RuleLine(rule.id, rule.tasks, rule.says.format_map(figures), rule.shown_source)
        for rule in WRITTEN_DOWN
    ]
