"""The round's text: what was recorded at a bed, what is due and asked for, what the round came to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from textual.content import Content

from mobicard.derive.model import HeadObservations, Plan
from mobicard.facts.text import hour_says
from mobicard.scheme import Scheme
from mobicard.terminal.board.rows import DOOR_SAYS
from mobicard.terminal.looks import (
    Depth,
    Part,
    alarm_style,
    badge,
    banned,
    hang,
    in_people,
    named,
    people_say,
    safe,
)
from mobicard.terminal.record.form.questions import Question
from mobicard.terminal.record.form.shown import answer_says, seen_says
from mobicard.terminal.round.state import CHANGED, DONE_SAYS, LATER, PART, SAME, RoundState, fall_says
from mobicard.ward import BedView, Door, Due

_STANDING = ("weight_bearing.", "precautions", "lines")


def limits_recorded(view: BedView, questions: Sequence[Question]) -> str:
    """Limb orders, precautions, lines as last recorded: who says *same as before* says it of these too."""
    facts = view.record.as_json()
    said = []
    for question in questions:
        if not question.path.startswith(_STANDING):
            continue
        head, _, limb = question.path.partition(".")
        value = facts.get(head, {}).get(limb) if limb else facts.get(head)
        if value:
            name = f"{question.asks.lower()} " if limb else ""
            said.append(name + answer_says(question, value))
    return "; ".join(said) or "no limb order, precaution or line recorded"


def bed_text(
    view: BedView,
    state: RoundState,
    *,
    refusal: str | None,
    asked: Sequence[str],
    questions: Sequence[Question],
    width: int,
    now: datetime,
    depth: Depth,
) -> Content:
    """The bed's head: who recorded what and when, what changed, what is due, what is asked."""
    done = state.done.get(view.stay)
    place = state.stays.index(view.stay) + 1
    parts: list[Part] = [
        (f" {named(view.bed, view.label)} ", "bold reverse"),
        (f"  bed {place} of {len(state.stays)}", ""),
        (f"; {DONE_SAYS[done]}" if done else "", "bold"),
    ]
    lines = [hang(parts, width), *_known(view, questions, width, now, depth)]
    fell = fall_says(view)
    next_ = hang(_after_fall(fell, view.plan, depth) if fell else _asked(refusal, asked, questions), width)
    lines.insert(1 if fell or refusal else len(lines), next_)  # what bars *same* has room before all else
    return Content("\n").join(lines)


def _known(
    view: BedView, questions: Sequence[Question], width: int, now: datetime, depth: Depth
) -> Iterator[Content]:
    """What is known: when and by whom recorded, what was seen then, what stands, what changed."""
    due = (f" {view.due_says[:1].upper()}{view.due_says[1:]} ", _if_late(view, depth))
    yield hang([("Last record: ", "bold"), (f"{_last(view)}.", ""), due], width)
    if view.plan.head_observations is not None:
        yield hang(_head(view.plan.head_observations, now, depth), width)
    yield hang([("Seen then: ", "bold"), (safe(seen_says(view.record.as_json(), questions)), "")], width)
    yield hang([("Limits then: ", "bold"), (safe(limits_recorded(view, questions)), "")], width)
    if view.record.orders:
        says = "; ".join(safe(order.says) for order in view.record.orders)
        yield hang([("Open, D when over: ", "bold"), (says, "")], width)
    if view.changed:
        says = "; ".join(in_people(change.says) for change in view.changed[:2])
        more = f"; and {len(view.changed) - 2} more" if len(view.changed) > 2 else ""
        yield hang([("This shift: ", "bold"), (says + more, "")], width)


def _if_late(view: BedView, depth: Depth) -> str:
    return alarm_style(depth) if view.due is Due.OVERDUE else ""


def _last(view: BedView) -> str:
    at, by = view.record.assessed_at, view.record.assessed_by
    return f"{at:%d %b %H:%M} by {safe(by or 'somebody')}" if at else "none"


def _head(head: HeadObservations, now: datetime, depth: Depth) -> list[Part]:
    """When the next head observation is due, and the key that notes it."""
    late = (" late ", alarm_style(depth)) if head.late else ("", "")
    return [("Head: ", "bold"), (f"due {hour_says(head.due, now)} ", ""), late, ("  G notes it.", "")]


def _after_fall(says: str, plan: Plan, depth: Depth) -> list[Part]:
    return [
        ("The fall is not over: ", "bold"),
        (f"{safe(says)}.\n", ""),
        (" DO NOT MOVE ", alarm_style(depth)) if banned(plan) else ("", ""),
        (" F ", "bold"),
        ("goes on with it; no other answer clears a move.", ""),
    ]


def _asked(refusal: str | None, asked: Sequence[str], questions: Sequence[Question]) -> list[Part]:
    if refusal is None:
        return [("Unchanged? ", "bold"), ("S, then Enter. ", ""), ("One fact changed? ", "bold"), ("C.", "")]
    names = [question.asks for question in questions if question.path in asked]
    says = f"{safe(refusal)}."
    shown = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    return [
        ("Not same as before: ", "bold"),
        (says, ""),
        ("\nA asks: ", "bold"),
        (shown or "the record", ""),
    ]


def sure_text(view: BedView, width: int) -> Content:
    """What is said by *same as before*, before it is recorded: of whom, and what it leaves standing."""
    level = f"{view.plan.shown_level.value}, {people_say(view.plan)}"
    parts: list[Part] = [
        (f" {named(view.bed, view.label)}: same as before? ", "bold reverse"),
        (f"  It stays {level}. You have seen the patient just now, and all above is as it was. ", "bold"),
        ("Enter records it; any other key does not.", ""),
    ]
    return hang(parts, width, 0)


# -- the end ----------------------------------------------------------------------------------------


def end_text(
    views: Sequence[BedView], state: RoundState, scheme: Scheme, depth: Depth, width: int
) -> Content:
    """What the round changed, what is left, and which doors need a new card."""
    mine = {view.stay: view for view in views}
    beds = [mine[stay] for stay in state.stays if stay in mine]
    count = {how: sum(state.done.get(view.stay) == how for view in beds) for how in DONE_SAYS}
    left = [view for view in beds if state.done.get(view.stay) not in (SAME, CHANGED)]
    lines = [
        Content.assemble(
            (f"{state.says()}: ", "bold"),
            f"{count[SAME]} same as before, {count[CHANGED]} recorded anew, "
            f"{len(left)} not yet" + (f" ({count[PART]} in part)" if count[PART] else ""),
        )
    ]
    lines += _part("Level changed in this round", [_moved(v, state, scheme, depth) for v in beds], width)
    lines += _part("Changed since the last shift", [_differs(view) for view in beds], width)
    lines += _part("Doors that need a new card", [_door(view) for view in beds], width)
    rest = [[(f"{view.bed}: ", "bold"), (_why_left(view, state), "")] for view in left]
    lines += _part("Still to be seen", rest, width)
    return Content("\n").join(lines)


def _part(title: str, rows: Sequence[list[Part]], width: int) -> list[Content]:
    kept = [hang([("  ", ""), *row], width, 6) for row in rows if row]
    return [Content(""), Content.styled(f"{title}: {len(kept) or 'none'}", "bold"), *kept]


def _moved(view: BedView, state: RoundState, scheme: Scheme, depth: Depth) -> list[Part]:
    was, now = state.was.get(view.stay, ""), view.plan.shown_level
    if was == now.value or view.stay not in state.done:
        return []
    word = next((look.word for level, look in scheme.looks.items() if level.value == was), was)
    return [(f"{view.bed}: ", "bold"), (f"{word} -> ", ""), badge(scheme.looks[now], depth)]


def _differs(view: BedView) -> list[Part]:
    if not view.changed:
        return []
    more = f"; and {len(view.changed) - 1} more" if len(view.changed) > 1 else ""
    return [(f"{view.bed}: ", "bold"), (in_people(view.changed[0].says) + more, "")]


def _door(view: BedView) -> list[Part]:
    if view.door is Door.CURRENT:
        return []
    return [(f"{view.bed}: ", "bold"), (DOOR_SAYS[view.door].lower(), "")]


def _why_left(view: BedView, state: RoundState) -> str:
    how = state.done.get(view.stay)
    return f"{DONE_SAYS[how]}; {view.due_says}" if how in (LATER, PART) else view.due_says
