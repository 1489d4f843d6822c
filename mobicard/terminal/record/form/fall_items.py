"""The questions of a fall-risk instrument, from the instrument's own data."""

from __future__ import annotations

from mobicard.derive.fall_risk import instruments
from mobicard.derive.instrument import Instrument, ScoreItem
from mobicard.facts import Record
from mobicard.rules.policy import Policy
from mobicard.terminal.record.form.choices import YES_NO, Choice, with_keys
from mobicard.terminal.record.form.questions import FALL, Kind, Question


def instrument_for(record: Record, policy: Policy) -> Instrument:
    """The instrument the record was scored with, else the first the ward has."""
    known = instruments(policy)
    named = record.fall_risk.instrument if record.fall_risk else ""
    return known.get(named) or next(iter(known.values()))


def fall_questions(instrument: Instrument) -> list[Question]:
    """One question an item, each answer with a key of its own."""
    return [
        Question(
            f"fall_risk.answers.{item.key}",
            FALL,
            item.asks,
            Kind.ONE,
            _choices(item),
            hint=f"{instrument.name}. {instrument.note}" if number == 0 else "",
        )
        for number, item in enumerate(instrument.items.values())
    ]


def _choices(item: ScoreItem) -> tuple[Choice, ...]:
    if all(isinstance(answer.value, bool) for answer in item.answers):
        says = {answer.value: answer.label for answer in item.answers}
        return tuple(Choice(yes_no.key, yes_no.value, says[yes_no.value]) for yes_no in YES_NO)
    return with_keys([(answer.value, answer.label) for answer in item.answers])
