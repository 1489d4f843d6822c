"""JSON lines in, plans out: a bad line is answered, the others go on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.derive import Policy, plan_for
from mobicard.exchange.json_lines import plans_from_lines
from mobicard.facts import read_record
from mobicard.facts.refusal import PLAN_ID
from tests.exchange.strategies import FACTS

NOW = datetime(2026, 3, 2, 8, 0)


def answers(*lines: str | bytes) -> list[dict[str, Any]]:
    return list(plans_from_lines(lines, Policy(), NOW))


@settings(max_examples=25, deadline=None)
@given(FACTS)
def test_a_line_gives_the_plan_of_its_record(facts: dict[str, Any]) -> None:
    assert answers(json.dumps(facts)) == [
        {"$id": PLAN_ID, **plan_for(read_record(facts), Policy(), NOW).as_json()}
    ]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("{", "line 2: is not JSON"),
        ("[1]", "line 2: record: a record is a set of named facts"),
        ('{"bed": "1", "weight_kg": NaN}', "line 2: is not JSON: NaN is no figure"),
        ('{"bed": "1", "standing": "steady", "standing": "unable"}', "“standing” stands twice"),
        ('{"standing": "steady"}', "line 2: bed: is missing"),
        (b"\xff\xfe", "line 2: is not JSON"),
        ("[" * 100_000, "line 2: is nested too deeply"),
        ('{"bed": "1", "weight_kg": ' + "9" * 5000 + "}", "line 2"),
    ],
)
def test_a_bad_line_is_named_and_the_others_go_on(line: str | bytes, says: str) -> None:
    first, bad, last = answers('{"bed": "A"}', line, '{"bed": "B"}')
    assert (first["bed"], last["bed"]) == ("A", "B")
    assert bad["line"] == 2
    assert says in bad["error"]


def test_a_refused_record_names_each_field() -> None:
    (bad,) = answers('{"bed": "1", "standing": "firm", "weight_kg": 9000}')
    assert sorted(each["field"] for each in bad["problems"]) == ["standing", "weight_kg"]


def test_blank_lines_are_passed_over_and_still_counted() -> None:
    assert [answer.get("line") for answer in answers("\n", '{"bed": "A"}', "  ", "{")] == [None, 4]


def test_each_answer_comes_before_the_next_line_is_asked_for() -> None:
    asked: list[int] = []

    def lines() -> Iterator[str]:
        for number in (1, 2):
            asked.append(number)
            yield json.dumps({"bed": str(number)})

    stream = plans_from_lines(lines(), Policy(), NOW)
    assert (next(stream)["bed"], asked) == ("1", [1])


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.text(max_size=60), st.binary(max_size=60)))
def test_any_line_is_answered_never_raised(line: str | bytes) -> None:
    for answer in answers(line):
        assert "error" in answer or "tasks" in answer
