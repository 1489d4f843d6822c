"""The Record: edge spellings, both sides of its bounds, and the way through JSON and back."""

import json
import tomllib
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.facts import Record, RecordRefused, read_record
from mobicard.facts.words import (
    Aid,
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Injury,
    Level,
    Limb,
    Precaution,
    Side,
    Stepping,
    Task,
    Word,
    YesNoUnknown,
)

EXAMPLE: dict[str, Any] = {
    "bed": "4W-12A",
    "label": "RT",
    "weight_kg": 82.0,
    "height_cm": 175,
    "assessed_at": "2026-03-02T07:10",
    "assessed_by": "JN",
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "steady",
    "stepping": "walks",
    "arms": "both",
    "help": {"turn": "independent", "sit_up": "minimal", "chair": "minimal", "helpers_used": {"chair": 2}},
    "weight_bearing": {
        "left_leg": {"status": "PWB", "percent": 50},
        "right_leg": {"status": "WBAT"},
        "left_arm": {"status": "NWB"},
    },
    "precautions": ["spinal", "sternal", "hip_posterior_left", "bed_rest", "no_gait_belt"],
    "lines": [{"kind": "chest tube", "side": "left", "note": "keep below chest"}],
    "on_before_up": ["cervical collar"],
    "aids": ["gait_belt", "front_wheeled_walker", "glasses", "hearing_aids"],
    "communication": {"language": "es", "interpreter": True, "hearing": "right ear"},
    "vitals": {
        "lying": {"sbp": 128, "dbp": 76, "hr": 80},
        "standing_1min": {"sbp": 104, "dbp": 70, "hr": 98},
        "standing_3min": None,
        "dizzy": True,
    },
    "fall_risk": {"instrument": "morse", "answers": {"history": True, "aid": "walker"}},
    "fall_event": None,
    "turn_every_h": 2,
    "goals": [{"task": "chair", "times_per_shift": 3}],
    "override": None,
}


def with_facts(**facts: Any) -> Record:
    return read_record({"bed": "4W-12A", **facts})


def test_a_full_record_is_read_whole() -> None:
    record = read_record(EXAMPLE)
    assert record.help[Task.CHAIR] is Help.MINIMAL
    assert record.helpers_used == {Task.CHAIR: 2}
    assert record.assessed_at == datetime(2026, 3, 2, 7, 10)
    assert record.weight_bearing[Limb.LEFT_LEG].percent == 50


def test_json_and_toml_spell_a_record_alike() -> None:
    text = 'bed = "4W-12A"\nweight = "181 lb"\nassessed_at = 2026-03-02T07:10:00\n[help]\nchair = "minimal"\n'
    spelled = {
        "bed": "4W-12A",
        "weight": "181 lb",
        "assessed_at": "2026-03-02T07:10",
        "help": {"chair": "minimal"},
    }
    assert read_record(tomllib.loads(text)) == read_record(spelled)


def test_pounds_and_inches_become_kilograms_and_centimetres() -> None:
    record = with_facts(weight="181 lb", height="5 ft 9 in")
    assert record.weight_kg == pytest.approx(82.1002, abs=1e-4)  # computed: 181 x 0.45359237
    assert record.height_cm == pytest.approx(175.26)  # computed: 69 x 2.54


def test_an_order_may_be_its_term_alone_or_a_load_with_its_unit() -> None:
    record = with_facts(weight_bearing={"left_leg": "NWB", "right_leg": {"status": "PWB", "load": "44 lb"}})
    assert record.weight_bearing[Limb.LEFT_LEG].status == "NWB"
    assert record.weight_bearing[Limb.RIGHT_LEG].kg == pytest.approx(19.958, abs=1e-3)  # computed: 44 lb


def test_yes_and_no_after_a_fall_may_be_true_and_false() -> None:
    event = with_facts(
        fall_event={"at": "2026-03-02T07:10", "head_strike": False, "anticoagulated": True}
    ).fall_event
    assert event is not None
    assert (event.head_strike, event.anticoagulated) == (YesNoUnknown.NO, YesNoUnknown.YES)


def test_absent_and_null_are_the_same_not_assessed() -> None:
    nulls = dict.fromkeys((name for name in Record.model_fields if name != "bed"), None)
    assert read_record({"bed": "4W-12A", **nulls}) == with_facts()


def test_control_and_direction_signs_never_reach_a_page() -> None:
    record = with_facts(label="R\u202eT", lines=[{"kind": "chest\ttube", "note": "a\nb"}])
    assert record.label == "R T"
    assert (record.lines[0].kind, record.lines[0].note) == ("chest tube", "a b")


@pytest.mark.parametrize(
    ("facts", "inside", "outside"),
    [
        ("weight_kg", 0.3, 0.29),
        ("weight_kg", 500, 500.1),
        ("height_cm", 20, 19.9),
        ("height_cm", 260, 260.1),
        ("turn_every_h", 24, 24.1),
        ("toilet_every_h", 0.1, 0),
    ],
)
def test_both_sides_of_each_bound(facts: str, inside: float, outside: float) -> None:
    assert getattr(with_facts(**{facts: inside}), facts) == inside
    with pytest.raises(RecordRefused):
        with_facts(**{facts: outside})


def test_a_change_is_a_new_record_checked_like_any_other() -> None:
    record = read_record(EXAMPLE)
    changed = record.changed(standing="supported")
    assert (record.standing, changed.standing) == (Balance.STEADY, Balance.SUPPORTED)
    with pytest.raises(ValueError, match="standing"):
        record.changed(standing="wobbly")


def test_a_record_cannot_be_changed_in_place() -> None:
    with pytest.raises(ValueError, match="frozen"):
        with_facts().standing = Balance.STEADY  # type: ignore[misc]


# -- Through JSON and back --------------------------------------------------------------------------------

TIMES = st.datetimes(datetime(2020, 1, 1), datetime(2040, 1, 1))
TEXT = st.text(st.characters(codec="utf-8"), min_size=1, max_size=20)
NAMES = st.from_regex(r"[A-Za-zÀ-ž][A-Za-zÀ-ž -]{0,10}[a-z]", fullmatch=True)


def word(words: type[Word]) -> st.SearchStrategy[str]:
    return st.sampled_from([one.value for one in words])


def maybe(**facts: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=facts)


ORDERS = st.one_of(
    st.sampled_from([{"status": "FWB"}, {"status": "WBAT"}, {"status": "NWB"}, {"status": "absent_limb"}]),
    st.floats(0, 100).map(lambda percent: {"status": "PWB", "percent": percent}),
    st.floats(0, 250).map(lambda kg: {"status": "TTWB", "kg": kg}),
)
PRESSURES = st.tuples(st.integers(10, 120), st.integers(1, 100)).map(
    lambda two: {"dbp": two[0], "sbp": max(30, two[0] + two[1])}
)

RECORDS = st.builds(
    lambda facts, bed: {"bed": bed, **facts},
    maybe(
        label=st.from_regex(r"[A-Z]{1,12}", fullmatch=True),
        weight_kg=st.floats(0.3, 500),
        height_cm=st.floats(20, 260),
        assessed_at=TIMES,
        assessed_by=NAMES,
        alertness=word(Alertness),
        directions=word(Directions),
        behavior=word(Behavior),
        sitting=word(Balance),
        standing=word(Balance),
        stepping=word(Stepping),
        arms=word(Arms),
        help=st.dictionaries(word(Task), word(Help)),
        helpers_used=st.dictionaries(word(Task), st.integers(0, 12)),
        weight_bearing=st.dictionaries(word(Limb), ORDERS),
        precautions=st.lists(word(Precaution), unique=True),
        lines=st.lists(st.fixed_dictionaries({"kind": NAMES}, optional={"side": word(Side)}), max_size=4),
        aids=st.lists(word(Aid), unique=True),
        vitals=maybe(at=TIMES, lying=PRESSURES, standing_3min=PRESSURES, dizzy=st.booleans()),
        fall_risk=st.fixed_dictionaries(
            {"instrument": NAMES},
            optional={"answers": st.dictionaries(NAMES, st.one_of(st.booleans(), st.integers(0, 9), TEXT))},
        ),
        fall_event=st.fixed_dictionaries(
            {"at": TIMES}, optional={"head_strike": word(YesNoUnknown), "injury": word(Injury)}
        ),
        goals=st.lists(
            st.fixed_dictionaries({"task": word(Task), "times_per_shift": st.integers(1, 24)}), max_size=3
        ),
        override=st.fixed_dictionaries(
            {"level": word(Level), "reason": NAMES.map("{} it is".format), "by": NAMES, "at": TIMES}
        ),
    ),
    st.from_regex(r"[0-9A-Z]{1,8}", fullmatch=True),
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(RECORDS)
def test_a_record_comes_back_from_json_as_it_went(facts: dict[str, Any]) -> None:
    record = read_record(facts)
    spelled = json.loads(json.dumps(record.as_json()))
    assert read_record(spelled).as_json() == spelled
    assert read_record(spelled) == read_record({**facts, "vitals": facts.get("vitals") or None})


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | TEXT,
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(TEXT, inner, max_size=2),
    max_leaves=4,
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.dictionaries(st.sampled_from(list(Record.model_fields)), VALUES))
def test_whatever_comes_in_is_read_or_refused_in_words(facts: dict[str, Any]) -> None:
    said = ["read"]
    try:
        read_record(facts)
    except RecordRefused as refused:
        said = [problem.says for problem in refused.problems]
    assert said
    assert all(said)
