"""One row a bed: level, people, gear; what hurts if moved wrong; what is next; if it goes wrong."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.derive.handing_over.direction import Direction
from mobicard.derive.handing_over.gravity import Gravity
from mobicard.derive.handing_over.if_then import ANY_BED, if_then
from mobicard.derive.handing_over.next_due import NextDue, next_due
from mobicard.derive.model import Plan
from mobicard.derive.over_time.handoff_values import BedLine, GoalLine
from mobicard.derive.weight_bearing import stronger_side
from mobicard.facts import Record
from mobicard.facts.moves import MOVES
from mobicard.facts.text import hour_says
from mobicard.facts.units import both_masses
from mobicard.facts.words import Alertness, Behavior, Directions, WeightBearing, spoken_name
from mobicard.paper import in_words
from mobicard.paper.bedside.body_figure import STATUS_SAYS, limb_name
from mobicard.paper.clinical_words import (
    PRECAUTION_SAYS,
    body_says,
    dated_ahead,
    equipment,
    history,
    kit_besides,
    look_again,
    short_when,
    spaced,
    uncleared,
)
from mobicard.paper.handoff.cautions import worst_cautions
from mobicard.paper.handoff.changed import direction_say
from mobicard.paper.handoff.level_chart import StepChart, step_chart, trend
from mobicard.paper.handoff.people import level_word, plan_people, stays_because
from mobicard.paper.handoff.say import Say
from mobicard.scheme.scheme import Scheme


@dataclass(frozen=True, slots=True)
class BedRow:
    """One bed's row; each cell is its lines, the most important first."""

    bed: str
    label: str
    assignment: str
    level: str
    until: tuple[Say, ...]
    moved: tuple[Say, ...]
    hurts: tuple[Say, ...]
    due: tuple[Say, ...]
    wrong: tuple[Say, ...]
    course: tuple[Say, ...]
    chart: StepChart | None


LOOK_FIRST = "look first"
"""What is next where nothing is known: “nothing by the hour” was read as nothing to do."""


def bed_row(line: BedLine, scheme: Scheme, now: datetime, common: datetime | None = None) -> BedRow:
    """Everything a bed's row says, before it is fitted; its end where that is not the ``common`` one."""
    plan, record = line.plan, line.record
    blind = line.gravity in (Gravity.UNSEEN, Gravity.EXPIRED)
    return BedRow(
        bed=line.bed,
        label=line.label or "",
        assignment=line.assignment or "",
        level=line.level.value,
        until=tuple(_until(plan, now, common)),
        moved=tuple(_moved(line, scheme, now)),
        hurts=(*_or_nothing(tuple(hurts(plan, record)), record), *_scored(plan)),
        due=tuple(_due(line, now)) or (Say(LOOK_FIRST if blind else "nothing by the hour"),),
        wrong=(*_reach(record), *_wrong(plan, record), *_conduct(record))
        or (Say(f"not known: {LOOK_FIRST}" if blind else "as at every bed"),),
        course=(Say("not known now"),) if plan.expired else tuple(_course(line)),
        chart=step_chart(line.history, now, scheme),
    )


def bed_with_label(bed: str, label: str | None) -> str:
    return f"{bed} {label}" if label else bed


def every_bed(lines: Sequence[BedLine]) -> Iterator[Say]:
    """What is done at every bed if it goes wrong, and the end that most of the plans share."""
    yield from (Say(f"{one.happens}: {one.then}") for one in ANY_BED)
    if (common := common_end(lines)) is not None:
        yield Say("unless its row says otherwise", f"Each bed’s plan is good until {short_when(common)}")


def common_end(lines: Sequence[BedLine]) -> datetime | None:
    """The end that most of the beds share, said once for all of them; None where none holds."""
    ends = Counter(line.plan.valid_until for line in lines if line.plan.valid_until and not line.plan.expired)
    return ends.most_common(1)[0][0] if ends else None


def _course(line: BedLine) -> Iterator[Say]:
    """More or less help than before, and since when the level is what it is; one line where both are one."""
    mark, (way, since) = direction_say(line.direction), trend(line.history)
    if mark.mark and mark.lead == f"{way} help":
        yield Say(since, way, mark=mark.mark)
        return
    if mark.mark:
        yield mark
    if since or not mark.mark:
        yield Say(f"{'level ' if mark.mark else ''}{way.lower()} {since}".strip())


def _until(plan: Plan, now: datetime, common: datetime | None) -> Iterator[Say]:
    """A row's own end where it is not the common one; none may seem good till then that is not."""
    if plan.after_fall is not None and plan.after_fall.state == "do_not_move":
        yield Say("", "until cleared")
    elif plan.valid_until is None or plan.assessed_at is None:
        yield Say("", "no plan")
    elif plan.expired or dated_ahead(plan, now):
        yield Say("", "not valid")
    elif plan.valid_until != common:
        yield Say(hour_says(plan.valid_until, now), "good until")


# -- Level, people, gear ----------------------------------------------------------------------------------


def _moved(line: BedLine, scheme: Scheme, now: datetime) -> Iterator[Say]:
    plan = line.plan
    says = "" if plan.expired else plan_people(plan)
    yield Say(says, level=line.level.value, word=level_word(plan, scheme))
    yield from _flags(line, scheme, now)
    fallen = plan.after_fall is not None and plan.after_fall.state == "do_not_move"
    if not plan.expired and not fallen:
        why = stays_because(plan, scheme)
        yield Say(why, "Why:") if why else Say(how(plan))


def _flags(line: BedLine, scheme: Scheme, now: datetime) -> Iterator[Say]:
    """What must be read before the people."""
    plan = line.plan
    if plan.after_fall is not None:
        yield Say(plan.after_fall.says, "AFTER A FALL:", mark="open")
    elif plan.expired:
        yield Say("; ".join(filter(None, (_look_again(plan, now), history(plan, scheme)))))
    if plan.override is not None and not plan.expired:
        word = scheme.looks[plan.derived_level].word
        reason = "" if line.direction is not Direction.SAME else f" {plan.override.reason}"
        yield Say(reason.strip(), f"Judged by {plan.override.by}, the rules say {word}", "own judgement")
    for item in uncleared(plan):
        yield Say(f"no {item} here is cleared for the weight", "STOP, get one:", "gear")


def _look_again(plan: Plan, now: datetime) -> str:
    return "not looked at: no move till then" if plan.assessed_at is None else look_again(plan, now)


def how(plan: Plan) -> str:
    """How the patient gets out of bed, with the gear the way does not name."""
    kit = kit_besides(plan.headline)
    return plan.headline.method + (f", with {kit}" if kit else "")


# -- What hurts if moved wrong ----------------------------------------------------------------------------


def hurts(plan: Plan, record: Record) -> Iterator[Say]:
    """What hurts if this patient is moved wrong, the gravest first; what is put on before what may be cut."""
    for limit in sorted(plan.weight_bearing, key=lambda one: one.status is WeightBearing.ABSENT_LIMB):
        if limit.status.rank >= WeightBearing.PWB.rank:
            figure = f", at most {both_masses(limit.limit_kg)}" if limit.limit_kg else ""
            limb = limb_name(limit.limb)
            yield Say(f"{STATUS_SAYS[limit.status]}{figure}", f"{in_words.sentence(limb)}:", limb)
    strong = stronger_side(record)
    limited = {one.limb.side for one in plan.weight_bearing if one.status.rank >= WeightBearing.PWB.rank}
    if strong is not None and strong not in limited:
        yield Say(strong, "Strong side:", "strong side")
    for one in record.precautions:
        head, _, what = PRECAUTION_SAYS[one].partition(": ")
        yield Say(what, f"{head}{':' if what else ''}", head.lower())
    if record.on_before_up:
        yield Say(", ".join(record.on_before_up), "Put on first:", "put on first")
    yield from (
        Say(caution, about=caution.partition(":")[0].partition(",")[0].lower())
        for caution in worst_cautions(plan)
    )
    yield from (Say(body, about=body) for body in body_says(record))
    if record.operation is not None:
        yield Say(record.operation.says, about="which operation")
    if record.lines:
        told = ", ".join(line_says(one.kind, one.side) for one in record.lines)
        yield Say(told, "Lines:", "lines")


_ASKED = ("weight_bearing", "precautions", "lines")
"""What must have been asked before a row may say that nothing is known to hurt."""


def _or_nothing(known: tuple[Say, ...], record: Record) -> tuple[Say, ...]:
    """What is known; where nothing is, whether nobody asked: silence was read as “nothing hurts”."""
    if known:
        return known
    missing = [spaced(fact) for fact in _ASKED if not record.asked(fact)]
    return (Say(", ".join(missing), "Not recorded, ask:") if missing else Say("asked: nothing known"),)


def _scored(plan: Plan) -> Iterator[Say]:
    if (risk := fall_risk(plan)) != "":
        yield Say(risk, "Fall risk:", "fall risk")


def line_says(kind: str, side: str | None) -> str:
    """``chest tube left``; a line in the middle has no side to say."""
    return kind if side in (None, "midline") else f"{kind} {spaced(side or '')}"


def fall_risk(plan: Plan) -> str:
    """``morse 65, high``; empty where nothing is scored."""
    if plan.fall_risk is None:
        return ""
    score = plan.fall_risk
    figure = f"{score.score}" if score.lowest == score.score else f"{score.lowest} to {score.score}"
    return f"{score.instrument} {figure}, {score.band}"


# -- What is next, and if it goes wrong -------------------------------------------------------------------


def _due(line: BedLine, now: datetime) -> Iterator[Say]:
    for asked in line.questions:
        yield Say(asked.says, "Open question:", "open question", mark="open")
    yield from (_next(one) for one in next_due(line.plan, line.record, now, line.turned_at))
    for goal in line.goals:
        yield Say(goal_says(goal), "Goal:", "goals")


def goal_says(goal: GoalLine) -> str:
    """``walk 1 of 2 times``, and what more was noted of it; the column's head says that it is done."""
    count = f"{goal.done} of {goal.wanted}"
    more = goal.says.partition(count)[2]
    return f"{MOVES[goal.task].says_short} {count} times{more}"


def _next(one: NextDue) -> Say:
    people = (
        ""
        if one.people is None
        else in_words.sentence(f"{one.people} people" if one.people != 1 else "1 person")
    )
    gear = equipment(one.equipment)
    needs = ", ".join(part for part in (people if one.people else "", gear) if part)
    at = "" if one.at is None else f"{one.at:%H:%M}"
    text = one.what + (f": {needs[:1].lower()}{needs[1:]}" if needs else "")
    return Say(
        text,
        f"{'LATE ' if one.late else ''}{at}".strip(),
        one.what.partition(",")[0],
        mark="late" if one.late else "",
    )


def _reach(record: Record) -> Iterator[Say]:
    spoken = record.communication
    if spoken is None:
        return
    if spoken.language or spoken.interpreter:
        named = spoken_name(spoken.language) if spoken.language else "language not noted"
        helper = {True: ", INTERPRETER", False: ", no interpreter needed", None: ", interpreter: not asked"}
        yield Say(f"{named}{helper[spoken.interpreter]}", "Speaks", "language")
    for lead, value in (("Hearing:", spoken.hearing), ("Sight:", spoken.vision), ("", spoken.note)):
        if value:
            yield Say(_which_way(value), lead, lead.strip(":").lower() or "how to reach them")


_SIDE_ALONE = re.compile(r"(the )?(left|right|both|one)( (ears?|eyes?|sides?))?", re.IGNORECASE)


def _which_way(value: str) -> str:
    """A side alone says neither that it hears nor that it does not."""
    return f"{value} noted, ask: better or worse?" if _SIDE_ALONE.fullmatch(value.strip()) else value


def _wrong(plan: Plan, record: Record) -> Iterator[Say]:
    yield from (Say(one.then, f"{one.happens}:", one.happens.lower()) for one in if_then(plan, record))


_ALERTNESS = {
    Alertness.NEW_CONFUSION: "newly confused",
    Alertness.VOICE: "wakes only to voice",
    Alertness.PAIN: "wakes only to pain",
    Alertness.UNRESPONSIVE: "unresponsive",
}
_DIRECTIONS = {Directions.WITH_CUES: "needs each step cued", Directions.UNABLE: "follows no directions"}
_BEHAVIOR = {Behavior.UNPREDICTABLE: "sudden moves", Behavior.COMBATIVE: "combative"}


def _conduct(record: Record) -> Iterator[Say]:
    """Alertness, behavior and directions where they are not as at most beds."""
    told = [_ALERTNESS[record.alertness]] if record.alertness in _ALERTNESS else []
    told += [_BEHAVIOR[record.behavior]] if record.behavior in _BEHAVIOR else []
    told += [_DIRECTIONS[record.directions]] if record.directions in _DIRECTIONS else []
    if told:
        yield Say(in_words.sentence(", ".join(told)), about="behavior")
