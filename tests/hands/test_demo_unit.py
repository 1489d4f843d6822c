"""The invented unit with the example staff list: beats the hour's round, fits a page, shows what lacks."""

from __future__ import annotations

import io
from datetime import datetime
from functools import cache
from pathlib import Path

import pypdf

from mobicard.demo.unit import record_of, unit
from mobicard.derive import plan_for
from mobicard.derive.equipment import Inventory
from mobicard.hands.day import plan_day, shift_at
from mobicard.hands.moves_asked import BedNeed
from mobicard.hands.page import hands_html
from mobicard.hands.schedule import DayPlan, on_the_hour, peak_together
from mobicard.hands.supply import Supply, read_staff, supply_of, units_of
from mobicard.paper.pdf import write_pdf
from mobicard.rules.policy import Policy
from tests.hands.made import broken, without_unit

POLICY = Policy()
NOW = datetime(2026, 3, 2, 7, 30)
SHIFT = shift_at(NOW, POLICY.shift)
STAFF = Path(__file__).parents[2] / "examples" / "hands" / "staff.toml"


@cache
def needs() -> tuple[BedNeed, ...]:
    """The unit's beds as the day shift records them at 07:20."""
    records = [record_of(bed, "day", NOW.replace(minute=20), "JN") for bed in unit()["beds"]]
    return tuple(BedNeed(record, plan_for(record, POLICY, NOW)) for record in records)


def supply() -> Supply:
    units, problems = units_of(Inventory.default())
    return supply_of(read_staff(STAFF.read_text(encoding="utf-8"), SHIFT), units, problems)


def made(staff: Supply, *, solver: bool = False) -> DayPlan:
    return plan_day(needs(), staff, POLICY.hands, SHIFT, NOW, solver=solver, limit_s=20)


def test_the_example_list_is_read_whole_and_knows_the_units_beds() -> None:
    """Nothing in it is refused, and every assigned bed is one of the unit's."""
    staff = supply()
    assert staff.problems == ()
    assert {bed for person in staff.staff for bed in person.beds} == {need.record.bed for need in needs()}


def test_the_day_plan_beats_the_round_on_the_hour_and_is_proven() -> None:
    """The solver's plan keeps every rule, and its peak is under half of the round's."""
    plan = made(supply(), solver=True)
    assert broken(plan, supply(), POLICY.hands) == []
    assert plan.quality.peak * 2 < peak_together(on_the_hour(plan.moves))
    assert (plan.quality.waiting, plan.quality.peak) == (plan.quality.waiting_bound, plan.quality.peak_bound)


def test_it_fits_one_page() -> None:
    pdf = pypdf.PdfReader(io.BytesIO(write_pdf(hands_html(made(supply()), unit="5 North"), None)))
    assert len(pdf.pages) == 1


def test_a_removed_aide_or_lift_shows_at_once() -> None:
    """Without the two full-body lifts the lift is named short; with three people for the day, people are."""
    staff = supply()
    without = without_unit(without_unit(staff, "full-body lift"), "heavy-duty full-body lift")
    assert any("full-body lift short" in item.says for item in made(without).short)
    few = Supply(staff.staff[:3], staff.units)
    assert sum(item.people for item in made(few).short) > sum(item.people for item in made(staff).short)
