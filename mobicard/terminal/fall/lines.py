"""The fall's screen as text: the question large, what was answered, what may be done now."""

from __future__ import annotations

from textual.content import Content

from mobicard.derive.over_time.fall_cleared import fall_conflicts
from mobicard.facts.words import Equipment, Task
from mobicard.paper.in_words import EQUIPMENT_SAYS
from mobicard.terminal.commands import Place, key_for
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.fall.asked import UNKNOWN, Ask
from mobicard.terminal.fall.save import FallSaving
from mobicard.terminal.looks import Part, alarm_style, badge, hang, helpers_say, press, rail_of, safe
from mobicard.ward.bedside.falls import EXAMINED

EDGE = 4
TALL = 34


def question_text(fall: FallSaving, width: int, height: int) -> Content:
    """The open question with its answers, one a line; on a tall screen with room between them."""
    ask = fall.ask
    if ask is None:
        return _end_text(fall, width)
    gap = "\n\n" if height >= TALL else "\n"
    left = sum(one.name not in fall.answers for one in fall_steps.FIRST)
    stage = "examined before any move" if ask.name in EXAMINED else "to get up"
    count = f"question {len(fall_steps.FIRST) - left + 1} of {len(fall_steps.FIRST)}" if left else stage
    parts: list[Part] = [(f"{count}{gap}", ""), (ask.asks, "bold")]
    if ask.note:
        parts.append((f"\n{ask.note}", "italic"))
    parts.append(("\n", ""))
    for key, says, _ in ask.choices:
        chip, words = (f" {key} ", press(key, "bold reverse")), (f"  {safe(says)}", press(key, "bold"))
        parts += [(gap, ""), chip, words]
    return hang([*parts, ("\n\n", ""), *_so_far(fall), *_told(fall)], width - 2 * EDGE, 0)


def _told(fall: FallSaving) -> list[Part]:
    return [(f"\n! {safe(fall.told)}", "bold")] if fall.told else []


def _so_far(fall: FallSaving) -> list[Part]:
    """The answers given; once the first round is over, those of the examination alone: so all have room."""
    said = []
    past = {one.name for one in fall_steps.FIRST} if "cleared_by" in fall.answers else set()
    for name, value in fall.answers.items():
        ask = fall_steps.EVERY.get(name)
        if ask is not None and ask is not fall.ask and name not in past:
            said.append(f"{_SHORT[name]} {_value_says(ask, value)}")
    return [("So far: ", "bold"), ("; ".join(said), "")] if said else []


_SHORT = {
    "alertness": "answers:",
    "head_strike": "head hit:",
    "neck_pain": "neck hurts:",
    "witnessed": "seen:",
    "injury": "hurt:",
    "anticoagulated": "blood thinner:",
    "at": "when:",
    "cleared_by": "examined by",
    "head": "head:",
    "spine": "neck and back:",
    "bones": "hips and bones:",
    "lift_as": "up:",
    "floor": "gets up:",
    "up_at": "up at",
}


def _value_says(ask: Ask, value: object) -> str:
    says = safe(ask.says(value))
    if ask.name in ("at", "up_at") and says[10:11] == "T":
        return says[11:16]
    return "not known" if value == UNKNOWN else says.split(",")[0].split(":")[0]


def state_text(fall: FallSaving, width: int) -> Content:
    """What the plan derived from the answers allows now, most urgent word first."""
    plan, station = fall.plan, fall.station
    floor = plan.tasks[Task.FLOOR]
    if fall.ended:
        look = station.scheme.looks[plan.shown_level]
        parts: list[Part] = [
            badge(look, station.depth),
            (f" {rail_of(plan.shown_level)} ", ""),
            (plan.after_fall.says if plan.after_fall else "", "bold"),
        ]
    elif _open(fall) or fall_steps.not_to_be_moved(plan):
        parts = [(" DO NOT MOVE THE PATIENT ", alarm_style(station.depth)), (f"  {_why_says(fall)}", "bold")]
    else:
        people = f"{helpers_say(floor.helpers, plan)}, {safe(floor.method)}"
        flat = Equipment.FLAT_LIFT in floor.equipment
        may = " FLAT LIFT ONLY " if flat else " MAY BE HELPED UP "
        parts = [(may, "bold reverse"), (f"  {people}", "bold")]
        gear = ", ".join(EQUIPMENT_SAYS[item] for item in floor.equipment)
        parts += [(f"\nBring: {gear}", "bold")] if gear else []
    waits = _open(fall) and not fall_steps.not_to_be_moved(plan)
    steps = plan.after_fall.steps if plan.after_fall and not waits else ()
    parts += [(f"\n- {safe(step)}", "") for step in steps]
    return hang(parts, width - 2 * EDGE, 0)


def _open(fall: FallSaving) -> bool:
    """Whether a question of the first round still waits: nobody is moved before."""
    return any(ask.name not in fall.answers for ask in fall_steps.FIRST)


def _why_says(fall: FallSaving) -> str:
    """The reason the answers give; as long as they give none, that questions are open."""
    if not fall_steps.not_to_be_moved(fall.at_best):
        return "until the questions are answered"
    why = fall_steps.because_of(fall.at_best)
    return safe(why[0]) if why else (fall.plan.after_fall.says if fall.plan.after_fall else "")


def _end_text(fall: FallSaving, width: int) -> Content:
    open_ = fall.plan.after_fall
    if fall.ended and open_ is not None and not open_.ends_by_a_look:
        parts: list[Part] = [
            ("It is recorded; the patient is up, and the fall is not over.\n\n", "bold"),
            (f"{safe(open_.says)}.\n\n", ""),
            (f" {key_for(Place.FALL, 'examine_again')} ", "bold reverse"),
            ("  examined again: said clear, or hurt and its orders recorded\n", "bold"),
            (" Esc ", "bold reverse"),
            ("     later; until then every move is REMAIN", ""),
        ]
    elif fall.ended:
        at = fall.view.record.fall_event.at if fall.view.record.fall_event else fall.began
        parts = [
            (f"The fall of {at:%H:%M} is recorded; the patient is up.\n\n", "bold"),
            ("The assessment from before no longer counts, nor does the card on the door: ", ""),
            ("the print desk has it as old.\n\n", ""),
            (" Enter ", "bold reverse"),
            ("  assess again now, question by question\n", "bold"),
            (" Esc ", "bold reverse"),
            ("    later; until then every move is REMAIN", ""),
        ]
    else:
        parts = [
            ("It is recorded so far.\n\n", "bold"),
            ("The patient stays where they lie, and somebody with them.\n\n", "bold"),
            *[(f"{safe(conflict.says)}\n\n", "") for conflict in fall_conflicts(fall.view.record)],
            (f" {key_for(Place.FALL, 'examine_again')} ", "bold reverse"),
            ("  examined again, or the neck asked again\n", "bold"),
            (" Esc ", "bold reverse"),
            ("     to the board", ""),
        ]
    return hang([*parts, ("\n\n", ""), *_so_far(fall), *_told(fall)], width - 2 * EDGE, 0)
