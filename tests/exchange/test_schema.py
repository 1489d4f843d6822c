"""The published schemas: kept equal to the types, true of real records and plans, and with teeth."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings

from mobicard.derive import Policy, plan_for
from mobicard.exchange import schema
from mobicard.facts import RecordRefused, read_record
from mobicard.facts.refusal import PLAN_ID, RECORD_ID
from tests.exchange.strategies import FACTS
from tests.records import SEEN


def packaged(name: str) -> dict[str, Any]:
    """The schema file shipped in the wheel."""
    text = (Path(schema.__file__).parent / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


RECORD = jsonschema.Draft202012Validator(packaged("record"))
PLAN = jsonschema.Draft202012Validator(packaged("plan"))
NOW = datetime(2026, 3, 2, 8, 0)


def test_the_files_in_the_wheel_are_what_the_types_say_now() -> None:
    write_anew = "the types have changed: python -m mobicard.exchange.schema"
    assert packaged("record") == schema.record_schema(), write_anew
    assert packaged("plan") == schema.plan_schema(), write_anew


@pytest.mark.parametrize("name", ["record", "plan"])
def test_each_is_a_right_schema_with_an_address_of_its_own(name: str) -> None:
    found = packaged(name)
    jsonschema.Draft202012Validator.check_schema(found)
    assert found["$id"] == f"https://w3id.org/mobicard/schema/{name}/1"


@pytest.mark.parametrize("key", ["$id", "$schema"])
def test_a_document_may_say_which_spelling_it_is_in(key: str) -> None:
    facts = {key: RECORD_ID, "bed": "1"}
    assert read_record(facts) == read_record({"bed": "1"})
    assert RECORD.is_valid(facts)
    plan = plan_for(read_record(facts), Policy(), NOW).as_json()
    assert PLAN.is_valid({"$id": PLAN_ID, **plan})


@pytest.mark.parametrize(
    ("id_", "says"),
    [
        (RECORD_ID.replace("/1", "/2"), "of a newer mobicard"),
        (PLAN_ID, "is not the address of a record's schema"),
        (7, "is not the address of a record's schema"),
    ],
)
def test_a_newer_spelling_and_another_kind_are_refused_unread(id_: object, says: str) -> None:
    facts = {"$id": id_, "bed": "1"}
    assert not RECORD.is_valid(facts)
    with pytest.raises(RecordRefused, match=says):
        read_record(facts)


@settings(max_examples=50, deadline=None)
@given(FACTS)
def test_every_record_and_its_plan_are_right_by_them(facts: dict[str, Any]) -> None:
    record = read_record(facts)
    assert [error.message for error in RECORD.iter_errors(facts)] == []
    assert [error.message for error in RECORD.iter_errors(record.as_json())] == []
    assert [error.message for error in PLAN.iter_errors(plan_for(record, Policy(), NOW).as_json())] == []


FULL = {
    **SEEN,
    "bed": "1",
    "assessed_at": "2026-03-02T07:10",
    "fall_event": {"at": "2026-03-02T07:20", "witnessed": False},
    "override": {"level": "HOIST", "reason": "seen by physio", "by": "JN", "at": "2026-03-02T07:10"},
    "vitals": {"lying": {"sbp": 128, "dbp": 76}, "standing_1min": {"sbp": 104, "dbp": 70}},
    "fall_risk": {"instrument": "morse", "answers": {"history": True}},
    "weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}},
}


@pytest.mark.parametrize(
    ("part", "left_out"),
    [("fall_risk", ""), ("orthostatic", ""), ("after_fall", ""), ("override", "fall_event")],
)
def test_a_plan_that_has_this_part_is_right_by_the_schema(part: str, left_out: str) -> None:
    facts = {key: value for key, value in FULL.items() if key != left_out}
    plan = plan_for(read_record(facts), Policy(), NOW).as_json()
    assert plan[part] is not None
    assert [error.message for error in PLAN.iter_errors(plan)] == []


@pytest.mark.parametrize(
    "facts",
    [
        {"weight": "181 lb", "height": "5 ft 9 in"},
        {"weight_kg": "181 lb"},
        {"help": {"chair": "minimal", "helpers_used": {"chair": 2}}},
        {"help": None, "precautions": None},
        {"help": {"chair": None}},
        {"weight_bearing": {"left_leg": "NWB", "right_leg": {"status": "PWB", "load": "44 lb"}}},
    ],
)
def test_the_spellings_taken_at_the_edges_are_in_the_schema(facts: dict[str, Any]) -> None:
    read_record({"bed": "1", **facts})
    assert [error.message for error in RECORD.iter_errors({"bed": "1", **facts})] == []


@pytest.mark.parametrize(
    "facts",
    [
        {"bed": ""},
        {"bed": "X" * 17},
        {"standing": "firm"},
        {"weight_kg": 9000},
        {"weight": "181"},
        {"mood": "fine"},
        {"help": {"fly": "minimal"}},
        {"help": {"chair": "a lot"}},
        {"weight_bearing": {"left_leg": {"status": "PWB", "percent": 101}}},
        {"assessed_at": "soon"},
    ],
)
def test_what_the_schema_refuses_the_program_refuses_too(facts: dict[str, Any]) -> None:
    assert not RECORD.is_valid({"bed": "1", **facts})
    with pytest.raises(RecordRefused):
        read_record({"bed": "1", **facts})


@pytest.mark.parametrize("change", [{"level": "BLUE"}, {"level_rank": 7}, {"tasks": {}}, {"mood": "fine"}])
def test_a_plan_that_is_not_one_is_refused(change: dict[str, Any]) -> None:
    plan = plan_for(read_record({"bed": "1"}), Policy(), NOW).as_json()
    assert PLAN.is_valid(plan)
    assert not PLAN.is_valid({**plan, **change})
