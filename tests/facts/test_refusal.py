"""Refusals: which field, and what to write instead, in a nurse's words."""

from typing import Any

import pytest

from mobicard.facts import RecordRefused, read_from_outside, read_record

CASES: list[tuple[dict[str, Any], str, str]] = [
    ({"weigth_kg": 82}, "weigth_kg", "did you mean weight_kg"),
    ({"pain_score": 4}, "pain_score", "is not a fact mobicard knows"),
    ({"alertness": "awake"}, "alertness", "write alert, new_confusion, voice, pain or unresponsive"),
    ({"standing": "stedy"}, "standing", "did you mean steady?"),
    ({"help": {"chiar": "minimal"}}, "help.chiar", "did you mean chair?"),
    ({"help": {"chair": "min"}}, "help.chair", "did you mean minimal?"),
    ({"weight_bearing": {"left_leg": "pwb"}}, "weight_bearing.left_leg.status", "did you mean PWB?"),
    ({"weight_bearing": {"left_leg": {"status": "PWB"}}}, "weight_bearing.left_leg", "needs its figure"),
    (
        {"weight_bearing": {"left_leg": {"status": "PWB", "percent": 50, "kg": 20}}},
        "weight_bearing.left_leg",
        "both percent and kg",
    ),
    ({"weight_bearing": {"left_leg": {"status": "NWB", "kg": 5}}}, "weight_bearing.left_leg", "no figure"),
    (
        {"weight_bearing": {"left_leg": {"status": "PWB", "load": 44}}},
        "weight_bearing.left_leg",
        "like “44 lb”",
    ),
    ({"weight_bearing": "NWB"}, "weight_bearing", "key by key"),
    ({"weight": 82}, "weight", "needs its unit"),
    ({"weight": "82"}, "weight_kg", "write it like 82 kg or 181 lb"),
    ({"weight": "82 kg", "weight_kg": 82}, "weight", "keep one"),
    ({"weight_kg": "eighty"}, "weight_kg", "write it like 82 kg or 181 lb"),
    ({"weight_kg": True}, "weight_kg", "is not a figure"),
    ({"weight_kg": float("nan")}, "weight_kg", "is not a number"),
    ({"weight_kg": 0.2}, "weight_kg", "the least is 0.3"),
    ({"weight_kg": 501}, "weight_kg", "the most is 500"),
    ({"turn_every_h": 0}, "turn_every_h", "must be more than 0"),
    ({"vitals": {"lying": {"sbp": 76, "dbp": 128}}}, "vitals.lying", "check the two figures"),
    ({"vitals": {"lying": {"sbp": 128}}}, "vitals.lying.dbp", "is missing"),
    ({"vitals": {"lying": "120/80"}}, "vitals.lying", "key by key"),
    ({"assessed_at": "07:10"}, "assessed_at", "write it like 2026-03-02T07:10"),
    ({"assessed_at": 5}, "assessed_at", "write it like 2026-03-02T07:10"),
    ({"assessed_at": "2026-03-02T07:10Z"}, "assessed_at", "time zone"),
    ({"assessed_by": "\x00"}, "assessed_by", "is empty"),
    ({"precautions": "spinal"}, "precautions", "square brackets"),
    ({"precautions": ["spinal", "spinal"]}, "precautions", "listed twice"),
    ({"aids": ["cane", "walker", "cane"]}, "aids.1", "is not one of the answers"),
    ({"aids": ["cane", "cane"]}, "aids", "listed twice"),
    ({"lines": [{"kind": "drain", "side": "up"}]}, "lines.0.side", "left, right, midline or both"),
    ({"lines": [{"kind": "x"}] * 21}, "lines", "at most 20"),
    ({"goals": [{"task": "walk", "times_per_shift": 0}]}, "goals.0.times_per_shift", "the least is 1"),
    ({"label": "thirteen char"}, "label", "at most 12"),
    ({"communication": {"language": "English!"}}, "communication.language", "cannot stand here"),
    ({"fall_event": {"at": "2026-03-02T07:10", "cleared_by": "DR"}}, "fall_event", "both who"),
    ({"fall_event": {"at": "2026-03-02T07:10", "bones": "clear"}}, "fall_event", "needs who examined"),
    ({"fall_event": {"at": "2026-03-02T07:10", "head_strike": "maybe"}}, "fall_event.head_strike", "unknown"),
    (
        {"override": {"level": "SELF", "reason": "ok", "by": "JN", "at": "2026-03-02T07:10"}},
        "override.reason",
        "at least 3",
    ),
    ({"bed": ""}, "bed", "is empty"),
    ({"bed": 12}, "bed", "write it in quotes"),
    ({"bed": "<b>"}, "bed", "cannot stand here"),
]


@pytest.mark.parametrize(
    ("facts", "field", "says"), CASES, ids=[f"{field}-{n}" for n, (_, field, _) in enumerate(CASES)]
)
def test_a_refusal_names_the_field_and_what_to_write(facts: dict[str, Any], field: str, says: str) -> None:
    with pytest.raises(RecordRefused) as refused:
        read_record({"bed": "4W-12A", **facts})
    problems = {problem.field: problem.says for problem in refused.value.problems}
    assert says in problems[field]


def test_a_record_without_a_bed_is_refused() -> None:
    with pytest.raises(RecordRefused, match="bed: is missing; it is the one fact every record must have"):
        read_record({})


def test_what_is_no_record_at_all_is_refused_in_words() -> None:
    with pytest.raises(RecordRefused, match="starting with the bed"):
        read_record(["4W-12A"])  # type: ignore[arg-type]


def test_every_problem_is_told_at_once() -> None:
    with pytest.raises(RecordRefused) as refused:
        read_record({"bed": "1", "standing": "no", "arms": 3, "pain": 2})
    assert {problem.field for problem in refused.value.problems} == {"standing", "arms", "pain"}


def test_no_sentence_speaks_of_the_program() -> None:
    for facts, _, _ in CASES:
        with pytest.raises(RecordRefused) as refused:
            read_record({"bed": "4W-12A", **facts})
        text = str(refused.value).lower()
        assert not any(
            word in text for word in ("input should", "pydantic", "instance of", "tuple", "dict", "type=")
        )


@pytest.mark.parametrize("name", ["cleared_at", "up_at"])
def test_a_fall_s_times_are_in_order(name: str) -> None:
    """A clearing or a getting up before the fall is a slip of the pen, and says which time to look at."""
    fall = {"at": "2026-03-02T07:40", name: "2026-03-02T07:30"}
    if name == "cleared_at":
        fall["cleared_by"] = "MD"
    with pytest.raises(RecordRefused, match=f"{name}.*before the fall"):
        read_record({"bed": "1", "fall_event": fall})


@pytest.mark.parametrize("year", ["0001", "9999"])
def test_a_year_that_cannot_be_is_refused(year: str) -> None:
    """No plan is asked to count shifts at the end of time."""
    with pytest.raises(RecordRefused, match="cannot be"):
        read_record({"bed": "1", "assessed_at": f"{year}-12-31T23:59"})


@pytest.mark.parametrize(
    ("what", "where", "facts"),
    [
        ("bed_rest", "precautions", {"precautions": ["bed_rest"]}),
        ("left_leg", "weight_bearing", {"weight_bearing": {"left_leg": {"status": "NWB"}}}),
    ],
)
def test_an_order_from_outside_that_the_facts_know_nothing_of_is_refused(
    what: str, where: str, facts: dict[str, Any]
) -> None:
    """The plan follows from precautions and limbs: told among the orders alone, bed rest meant nothing."""
    told = {"bed": "5N-01", "orders": [{"what": what, "at": "2026-03-01T07:40"}]}
    with pytest.raises(RecordRefused, match=f"“{what}” stands since 2026-03-01 07:40, but {where}"):
        read_from_outside(told)
    assert read_from_outside({**told, **facts}).orders
    over = {"ended": [{"what": what, "at": "2026-03-01T08:40", "by": "Dr NN"}]}
    assert read_from_outside({**told, **over}).orders
