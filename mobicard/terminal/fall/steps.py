"""The questions after a fall, in the order of their danger, and what their answers come to as facts."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from mobicard.derive.model import Plan
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Alertness, Help, Injury, Level, LiftAs, Task, YesNoUnknown
from mobicard.terminal.fall.asked import TYPE_IT, UNKNOWN, Answers, Ask
from mobicard.terminal.fall.examined import CHECKED, CLEARED, LIFT_AS, PARTS, may_choose_how
from mobicard.ward.bedside.falls import EXAMINED, facts_beside

_YES, _NO, _NOBODY = YesNoUnknown.YES.value, YesNoUnknown.NO.value, YesNoUnknown.UNKNOWN.value

FIRST = (
    Ask(
        "alertness",
        "Does the patient answer you?",
        (
            ("a", "awake, answers as usual", Alertness.ALERT.value),
            ("c", "confused, and was not before", Alertness.NEW_CONFUSION.value),
            ("v", "only when spoken to loudly", Alertness.VOICE.value),
            ("p", "only when pinched", Alertness.PAIN.value),
            ("u", "not at all", Alertness.UNRESPONSIVE.value),
        ),
        "Airway, breathing, bleeding first. Call for help; somebody stays.",
    ),
    Ask(
        "head_strike",
        "Did the head hit anything?",
        (("y", "yes", _YES), ("n", "certainly not", _NO), ("u", "nobody knows", _NOBODY)),
    ),
    Ask(
        "neck_pain",
        "Does the neck hurt?",
        (("y", "yes", _YES), ("n", "no, asked and answered", _NO), ("u", "cannot say", _NOBODY)),
        "Hold head and neck as they lie while you ask.",
    ),
    Ask(
        "witnessed",
        "Did somebody see the fall?",
        (("y", "yes, from the start", True), ("n", "no, the patient was found", False)),
    ),
    Ask(
        "injury",
        "Is the patient hurt?",
        (
            ("n", "no, looked at from head to foot", Injury.NONE.value),
            ("m", "a little: bruise, skin tear, sprain, pain", Injury.MINOR.value),
            ("b", "badly: break, joint out, head injury, bleeding", Injury.MAJOR.value),
            ("u", "not looked at yet", UNKNOWN),
        ),
    ),
    Ask(
        "anticoagulated",
        "Does the patient take a blood thinner?",
        (("y", "yes", _YES), ("n", "no", _NO), ("u", "nobody knows", _NOBODY)),
        "Also: platelets low, or blood that does not clot.",
    ),
    Ask(
        "at",
        "When was it?",
        (
            ("n", "now, or found just now", 0),
            ("5", "five minutes ago", 5),
            ("q", "a quarter of an hour ago", 15),
            ("h", "half an hour ago", 30),
            ("t", "type the time", TYPE_IT),
        ),
    ),
)

GETS_UP = Ask(
    "floor",
    "Can the patient get up from the floor?",
    (
        ("a", "alone, somebody only near", Help.INDEPENDENT.value),
        ("l", "with a little help", Help.MINIMAL.value),
        ("m", "with much help", Help.MAXIMAL.value),
        ("n", "not at all", Help.TOTAL.value),
        ("u", "not to be tried", Help.NOT_ATTEMPTED_SAFETY.value),
    ),
    "Ask; do not lift to find out.",
)
UP = Ask(
    "up_at",
    "Is the patient up?",
    (("y", "yes, up now", 0), ("n", "not yet: record it so far", UNKNOWN)),
)

EVERY = {ask.name: ask for ask in (*FIRST, CLEARED, *PARTS, LIFT_AS, GETS_UP, UP)}


BEST: Answers = {
    "head_strike": _NO,
    "neck_pain": _NO,
    "witnessed": True,
    "injury": Injury.NONE.value,
    "anticoagulated": _NO,
}
"""The best that open questions can still turn out: what may not be done even then is said at once."""


def next_ask(answers: Answers, plan: Plan) -> Ask | None:
    """The question to ask now, or None when everything that can be asked is answered."""
    for ask in FIRST:
        if ask.name not in answers:
            return ask
    if "cleared_by" not in answers:
        return CLEARED if not_to_be_moved(plan) else CHECKED
    for ask in (*PARTS, LIFT_AS) if may_choose_how(answers) else PARTS:
        if ask.name not in answers:
            return ask
    if not_to_be_moved(plan):
        return None
    ways = (GETS_UP, UP) if answers.get("lift_as") == LiftAs.GUIDED.value else (UP,)
    return next((ask for ask in ways if ask.name not in answers), None)


def not_to_be_moved(plan: Plan) -> bool:
    """Whether the plan says that the patient stays where they lie."""
    fall = plan.after_fall
    return (fall is not None and fall.state == "do_not_move") or plan.tasks[Task.FLOOR].level is Level.REMAIN


def because_of(plan: Plan) -> tuple[str, ...]:
    """Why the patient may not be moved: the sentences of the rules that say so."""
    if plan.after_fall is None:
        return ()
    return tuple(reason.says for reason in plan.after_fall.reasons if reason.rule.startswith("fall."))


def event_of(answers: Answers, began: datetime) -> FallEvent:
    """The fall as a fact; what is unknown or not asked yet is left out, which counts as the worse answer."""
    facts: dict[str, Any] = {"at": began}
    for name in ("head_strike", "neck_pain", "witnessed", "injury", "anticoagulated"):
        value = answers.get(name)
        if value is not None and (value != UNKNOWN or name not in ("witnessed", "injury")):
            facts[name] = value
    if "at" in answers:
        facts["at"] = moment(answers["at"], began)
    for name in (*EXAMINED, "up_at"):
        if answers.get(name) not in (None, UNKNOWN):
            facts[name] = answers[name]
    return FallEvent.model_validate(facts)


def moment(value: Any, began: datetime) -> datetime:
    """Ward time of an answer: minutes before the form was opened, or ISO text."""
    if isinstance(value, int):
        return began - timedelta(minutes=value)
    return datetime.fromisoformat(str(value))


def record_with(record: Record, answers: Answers, began: datetime) -> Record:
    """The record with the fall as answered so far: what the plan is derived from while asking."""
    event = event_of(answers, began).model_dump(exclude_none=True)
    return record.changed(fall_event=event, **facts_beside(record, answers))


def answers_of(record: Record) -> dict[str, Any]:
    """The answers of a fall that is recorded and still open; what was not known then is asked again."""
    fall = record.fall_event
    if fall is None:
        return {}
    answers = fall.model_dump(mode="json", exclude_none=True)
    if record.alertness is not None:
        answers["alertness"] = record.alertness.value
    if Task.FLOOR in record.help:
        answers["floor"] = record.help[Task.FLOOR].value
    return answers
