"""Typed keys become answers: each kind of question, without a screen."""

from __future__ import annotations

import pytest

from mobicard.derive.fall_risk import instruments
from mobicard.facts import Record, RecordRefused
from mobicard.facts.text import plain_says
from mobicard.facts.words import Alertness, Arms, Balance, Behavior, Directions, Help, Precaution, Stepping
from mobicard.terminal.board.rows import jump
from mobicard.terminal.record.form.answers import Answers
from mobicard.terminal.record.form.choices import with_keys
from mobicard.terminal.record.form.fall_items import fall_questions
from mobicard.terminal.record.form.keys import answered_by, split_pressure
from mobicard.terminal.record.form.questions import Kind, questions, with_instrument
from mobicard.terminal.record.form.shown import answer_says

BY_PATH = {question.path: question for question in questions()}


def typed(path: str, keys: str, now: object = None) -> object:
    """The answer that these keys give to a question, or None when they give none."""
    half, answer = "", None
    for key in keys:
        step = answered_by(BY_PATH[path], half, "enter" if key == "\n" else key, now)
        if step is None:
            continue
        half = step.typed
        if step.done:
            answer = now = step.value
    return answer


@pytest.mark.parametrize(
    ("keys", "figures"),
    [
        ("1287680", ["128", "76", "80"]),
        ("987254", ["98", "72", "54"]),
        ("210105112", ["210", "105", "112"]),
        ("128/76/80", ["128", "76", "80"]),
        ("12876", ["128", "76"]),
        ("90/25/60", ["90", "25", "60"]),
    ],
)
def test_pressures_run_together_come_apart(keys, figures):
    """A figure that starts with 1 or 2 has three digits, any other two; a slash ends one early."""
    assert split_pressure(keys) == figures


@pytest.mark.parametrize(
    ("path", "keys", "answer"),
    [
        ("vitals.lying", "1287680", {"sbp": 128, "dbp": 76, "hr": 80}),
        ("vitals.lying", "12876\n", {"sbp": 128, "dbp": 76}),
        ("vitals.lying", "128\n", None),
        ("vitals.spo2", "94\n", 94),
        ("weight_kg", "82k", 82.0),
        ("weight_kg", "82,5k", 82.5),
        ("weight_kg", "82", None),
        ("height_cm", "175c", 175.0),
        ("height_cm", "69i", 175.3),
        ("height_cm", "5f9i", 175.3),
        ("weight_bearing.left_leg", "p50%", {"status": "PWB", "percent": 50.0}),
        ("weight_bearing.left_leg", "p20k", {"status": "PWB", "kg": 20.0}),
        ("weight_bearing.left_leg", "p%", None),
        ("weight_bearing.left_leg", "n", {"status": "NWB"}),
        ("precautions", "sb", ["spinal", "bed_rest"]),
        ("precautions", "sbs", ["bed_rest"]),
        ("lines", "cl", [{"kind": "chest tube", "side": "left"}]),
        ("lines", "clir", [{"kind": "chest tube", "side": "left"}, {"kind": "IV line", "side": "right"}]),
        ("lines", "0", []),
        ("precautions", "0", []),
        ("aids", "b0", []),
        ("on_before_up", "0", []),
        ("sore_sites", "sh", ["sacrum", "left_heel"]),
        ("weight_bearing.left_leg", "0", {}),
        ("weak_side", "l", "left"),
        ("legs.left_leg.straight_leg_raise", "n", False),
        ("legs.left_leg.block", "2", {"scale": "modified_bromage", "number": 2}),
        ("legs.left_leg.block", "b", {"scale": "bromage", "number": 2}),
        ("pregnancy_weeks", "31\n", 31),
        ("goals", "c3w2", [{"task": "chair", "times_per_shift": 3}, {"task": "walk", "times_per_shift": 2}]),
        ("goals", "c3c0", []),
        ("turn_every_h", "2", 2),
        ("communication.interpreter", "y", True),
    ],
)
def test_keys_give_the_answer(path, keys, answer):
    """The keys a nurse presses, the value the record keeps. 69 in is 175.3 cm by NIST SP 811."""
    assert typed(path, keys) == answer


def test_every_choice_of_a_question_has_its_own_key():
    """No two answers of one question share a key, packaged fall-risk instruments included."""
    every = list(questions())
    for instrument in instruments().values():
        every += fall_questions(instrument)
    for question in every:
        keys = [choice.key for choice in question.choices]
        assert len(keys) == len(set(keys)), question.path
        assert all(len(key) == 1 and not key.isupper() for key in keys)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("alertness", Alertness),
        ("directions", Directions),
        ("behavior", Behavior),
        ("sitting", Balance),
        ("standing", Balance),
        ("stepping", Stepping),
        ("arms", Arms),
        ("help.chair", Help),
        ("precautions", Precaution),
    ],
)
def test_every_word_of_the_ward_can_be_answered(path, words):
    """The form offers every answer the record knows, in the record's order."""
    assert [choice.value for choice in BY_PATH[path].choices] == [word.value for word in words]


def test_no_digit_answers_a_level_of_help():
    """Help is answered by letters: published scales number it in opposite directions."""
    assert not any(choice.key.isdigit() for choice in BY_PATH["help.chair"].choices)


def test_the_form_reaches_every_fact_a_nurse_observes():
    """Every field of the record is on the form, save what other places write."""
    elsewhere = {
        "orders",
        "ended",
        "bed",
        "label",
        "assessed_at",
        "assessed_by",
        "helpers_used",
        "fall_event",
        "head_watch",
        "operation",
        "pressure_drop",
        "readings_cleared",
        "override",
        "appointments",
    }
    asked = {
        question.path.split(".")[0] for question in with_instrument(fall_questions(instruments()["morse"]))
    }
    assert asked == set(Record.model_fields) - elsewhere


def test_found_keys_are_letters_of_the_words():
    """Keys for data-file answers: a first letter where free, else another letter of the words."""
    assert [choice.key for choice in with_keys([(1, "cane"), (2, "crutches"), (3, "chair")])] == [
        "c",
        "r",
        "h",
    ]


def test_answers_are_kept_only_if_the_record_takes_them():
    """A diastolic above the systolic is refused and nothing changes."""
    answers = Answers(Record(bed="1"))
    with pytest.raises(RecordRefused, match="diastolic 90 is not below systolic 80"):
        answers.put("vitals.lying", {"sbp": 80, "dbp": 90})
    assert answers.facts == {"bed": "1"}
    assert not answers.touched


def test_taking_away_the_last_answer_of_a_group_takes_the_group_away():
    """An instrument with no answer left is no fall risk at all."""
    answers = Answers(Record(bed="1"))
    answers.put("fall_risk.answers.history", True, ("fall_risk.instrument", "morse"))
    assert answers.record.fall_risk is not None
    answers.put("fall_risk.answers.history", None, ("fall_risk.instrument", "morse"))
    assert answers.record.fall_risk is None


def test_a_bed_among_six_hundred_takes_five_keys():
    """Ten units of thirty rooms with two beds: unit figure, room, bed letter and Enter find each one."""
    beds = [_Named(f"{u}W-{r:02d}{b}") for u in range(10) for r in range(1, 31) for b in "AB"]
    assert len(beds) == 600
    for place, bed in enumerate(beds):
        keys = bed.bed.replace("W-", "").lower()
        assert len(keys) + len(["enter"]) == 5
        assert jump(beds, keys) == place


class _Named:
    def __init__(self, bed: str) -> None:
        self.bed = bed


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        ("weight_kg", 82.1, "82.1 kg (181 lb)"),
        ("weight_bearing.left_leg", {"status": "PWB", "percent": 50.0}, "partial, 50 % of body weight"),
        ("lines", [{"kind": "chest tube", "side": "left", "note": "low"}], "chest tube left (low)"),
        ("vitals.lying", {"sbp": 128, "dbp": 76, "hr": 80}, "128/76, pulse 80"),
        ("goals", [{"task": "chair", "times_per_shift": 3}], "chair x 3"),
        ("alertness", None, ""),
    ],
)
def test_answers_read_as_words(path, value, says):
    """What stands on the form for an answer."""
    assert answer_says(BY_PATH[path], value) == says
    assert BY_PATH[path].kind in Kind


def test_values_without_a_question_read_as_words_too():
    """In a conflict any value of the record is shown in words."""
    assert plain_says({"status": "NWB"}) == "status NWB"
    assert plain_says({"at": "2026-03-02T05:15:00"}) == "at 02 Mar 05:15"
    assert plain_says([True, None]) == "yes; nothing"


def test_asked_and_none_is_kept_and_told_from_not_asked() -> None:
    """One key: the list is empty because somebody asked; taking the last one off asks again."""
    answers = Answers(Record(bed="5N-01"))
    for path in ("precautions", "lines", "weight_bearing.left_leg"):
        answers.put(path, typed(path, "0"))
    assert answers.record.as_json() == {"bed": "5N-01", "precautions": [], "lines": [], "weight_bearing": {}}
    assert answer_says(BY_PATH["lines"], answers.get("lines")) == "none"
    answers.put("precautions", typed("precautions", "ss"))
    assert "precautions" not in answers.record.as_json()
    answers.put("weight_bearing.left_leg", {"status": "NWB"})
    answers.put("weight_bearing.right_leg", typed("weight_bearing.right_leg", "0"))
    assert answers.record.as_json()["weight_bearing"] == {"left_leg": {"status": "NWB"}}
