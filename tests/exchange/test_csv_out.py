"""The unit's state for a spreadsheet: right figures, no cell that runs, readable by our own reader."""

from __future__ import annotations

import csv
import io
import re
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.derive import Policy, plan_for
from mobicard.exchange.census.cells import text as text_of
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.preview import preview
from mobicard.exchange.census.rows import CurrentStay
from mobicard.exchange.csv_out import COLUMNS, safe_cell, unit_csv
from mobicard.facts import read_record
from mobicard.facts.words import Level
from tests.exchange.strategies import FACTS
from tests.records import assessed

NOW = datetime(2026, 3, 2, 8, 0)
STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""Source: OWASP, CSV Injection."""


def lines(*facts: dict[str, Any], words: dict[Level, str] | None = None) -> list[dict[str, str]]:
    """The rows of the CSV as a spreadsheet's own reader gets them."""
    records = [read_record(each) for each in facts]
    data = unit_csv([(record, plan_for(record, Policy(), NOW)) for record in records], words)
    text = data.decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_kilograms_and_pounds_stand_side_by_side() -> None:
    """82 kg / 0.45359237 = 180.8 lb: NIST SP 811 (2008), appendix B.8."""
    (row,) = lines({"bed": "1", "weight_kg": 82})
    assert (row["weight_kg"], row["weight_lb"]) == ("82.0", "180.8")


def test_it_opens_as_utf_8_in_a_spreadsheet() -> None:
    assert unit_csv([]).startswith(b"\xef\xbb\xbfbed,")


def test_nothing_known_is_empty_and_an_expired_plan_shows_the_most_cautious_level() -> None:
    (row,) = lines({"bed": "1"})
    assert (row["level"], row["level_walk"], row["helpers"], row["weight_kg"]) == ("REMAIN", "REMAIN", "", "")
    assert row["expired"] == "yes"


def test_a_current_plan_shows_its_own_level_and_a_facilitys_words_stand_for_it() -> None:
    record = assessed("1", assessed_at="2026-03-02T07:10")
    plan = plan_for(record, Policy(), NOW)
    words = {level: f"word {level.rank}" for level in Level}
    (first,), (second,) = (lines(record.as_json(), words=each) for each in (None, words))
    assert first["level"] == plan.level.value
    assert second["level"] == f"word {plan.level.rank}"


@pytest.mark.parametrize("text", ["=1+2", "+1", "-1", "@SUM(1)", " =1", "\t=1", "＝1", "\u00a0=1"])
def test_a_cell_that_would_run_gets_an_apostrophe(text: str) -> None:
    assert safe_cell(text) == "'" + text


@pytest.mark.parametrize(
    "text", ["234E56", "2345e6", "3-2", "234567", "12-Mar", "MAR1", "3/2", "2026-03-02 07:10", "007"]
)
def test_what_would_become_a_number_or_a_date_is_kept_as_text(text: str) -> None:
    """A card's code is of 23456789ABC...: 234E56 would be shown as 2.34E+58."""
    assert safe_cell(text) == f'="{text}"'
    assert text_of(safe_cell(text)) == text


@pytest.mark.parametrize("text", ["5N-01", "7Q4MKD", "RT", "E12", "spinal; bed rest"])
def test_what_is_text_to_a_spreadsheet_stays_as_it_is(text: str) -> None:
    assert safe_cell(text) == text


CONSTANT = re.compile(r'="[0-9A-Za-z .,:/+-]*"')
"""The one formula that goes out: a text as it stands, no sign in it that could do anything."""


def runs(cell: str) -> bool:
    """Whether a spreadsheet would run the cell."""
    return cell.lstrip().startswith(STARTS_A_FORMULA) and not CONSTANT.fullmatch(cell)


@given(st.text(max_size=20))
def test_no_cell_starts_a_formula_and_the_text_is_all_there(text: str) -> None:
    shown = safe_cell(text)
    assert not runs(shown)
    assert shown in (text, "'" + text, f'="{text}"')


@settings(max_examples=30, deadline=None)
@given(FACTS)
def test_no_cell_of_any_record_starts_a_formula(facts: dict[str, Any]) -> None:
    (row,) = lines(facts)
    assert list(row) == list(COLUMNS)
    assert [cell for cell in row.values() if runs(cell)] == []


def test_the_hours_of_a_plan_go_out_as_text() -> None:
    (row,) = lines(assessed("3-2", assessed_at="2026-03-02T07:10").as_json())
    assert (row["bed"], row["assessed_at"]) == ('="3-2"', '="2026-03-02 07:10"')


def test_what_goes_out_comes_in_again_as_the_same_patients() -> None:
    facts = [{"bed": "4W-12A", "label": "RT", "weight_kg": 82}, {"bed": "4W-3", "label": "-X"}]
    records = [read_record(each) for each in facts]
    data = unit_csv([(record, plan_for(record, Policy(), NOW)) for record in records])
    now = [CurrentStay(str(number), record.bed, record.label) for number, record in enumerate(records)]
    found = preview(read_census(data), now)
    assert found.summary() == "0 admitted, 0 moved, 0 discharged, 2 unchanged, 0 cannot be read"
