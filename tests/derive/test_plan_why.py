"""Why, what-if and what changed: the plan explained to a person."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from cases import NOW, patient

from mobicard.derive import Plan, Policy, changes, plan_for
from mobicard.derive.why import explain, rules_listing, what_if
from mobicard.facts import RecordRefused
from mobicard.facts.words import Level, Task
from mobicard.rules.protocol import WRITTEN_DOWN

POLICY = Policy()


def plan(**facts: Any) -> Plan:
    return plan_for(patient(facts), POLICY, NOW)


# -- Why --------------------------------------------------------------------------------------------------


def test_the_reason_names_rule_fact_and_source() -> None:
    text = explain(plan(standing="supported"), "chair")
    assert "Bed to chair and back: LINK, 1 helper" in text
    assert "standing is supported" in text
    assert "rule chair.partial_weight_bearing; OSHA 3182 (2009), Fig. 1" in text


def test_the_share_is_said_beside_its_limit() -> None:
    """180 lb, half of what lies above the hips, two: 180 x 0.68 x 0.5 / 2 = 30.6, shown down (Winter)."""
    text = explain(plan(weight_kg="180 lb", help={"sit_up": "moderate"}), Task.SIT_UP)
    assert "about 13.8 kg (30 lb); the limit is 15.8 kg (35 lb)" in text


def test_what_asks_for_most_stands_first() -> None:
    reasons = (
        plan(standing="supported", behavior="combative", help={"chair": "minimal"}).tasks[Task.CHAIR].reasons
    )
    assert reasons[0].rule == "chair.partial_not_cooperative"


def test_an_unknown_move_is_answered_with_those_there_are() -> None:
    with pytest.raises(ValueError, match=r"hop.*boost, turn, sit_up"):
        explain(plan(), "hop")


def test_an_expired_plan_says_so() -> None:
    assert "Expired" in explain(plan(assessed_at="2026-03-01T07:10"), "chair")


# -- What if ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("facts", "task", "level", "helpers"),
    [
        ({"standing": "supported"}, Task.CHAIR, Level.LINK, 1),
        ({"weight_bearing.left_leg": "NWB"}, Task.STAND, Level.TEAM, 2),
        ({"weight_bearing.left_leg": "PWB 50%"}, Task.STAND, Level.LINK, 1),
        ({"weight_bearing.left_leg": "PWB 20 kg"}, Task.STAND, Level.LINK, 1),
        ({"help.chair": "total"}, Task.CHAIR, Level.HOIST, 2),
        ({"help.chair": "none"}, Task.CHAIR, Level.REMAIN, None),
        ({"standing": "none"}, Task.CHAIR, Level.REMAIN, None),
        ({"weight": "200 lb", "help.boost": "minimal"}, Task.BOOST, Level.TEAM, 3),
        ({"precautions": "sternal, bed_rest"}, Task.CHAIR, Level.REMAIN, None),
        ({"vitals.dizzy": "true"}, Task.WALK, Level.LINK, 1),
        ({"override.level": "HOIST", "override.by": "JN", "override.reason": "own view",
          "override.at": "2026-03-02T07:30"}, Task.WALK, Level.HOIST, 2),
    ],
)  # fmt: skip
def test_one_fact_changed(facts: dict[str, str], task: Task, level: Level, helpers: int | None) -> None:
    before, after, _ = what_if(patient({}), facts, POLICY, NOW)
    assert before.tasks[task].level is Level.SELF
    assert (after.tasks[task].level, after.tasks[task].helpers) == (level, helpers)


def test_side_by_side_marks_what_moves() -> None:
    _, _, text = what_if(patient({}), {"standing": "supported"}, POLICY, NOW)
    assert "* Bed to chair and back       SELF 0       LINK 1" in text
    assert "  Turn side to side           SELF 0       SELF 0" in text
    assert "Does not stand steadily, or a leg is limited" in text


def test_nothing_changes_is_said() -> None:
    assert "Nothing on the card changes." in what_if(patient({}), {"standing": "steady"}, POLICY, NOW)[2]


@pytest.mark.parametrize(("facts", "says"), [
    ({"standig": "supported"}, "did you mean standing"),
    ({"standing": "wobbly"}, "is not one of the answers"),
    ({"weight": "200"}, "unit"),
    ({"weight_bearing.left_leg": "PWB"}, "PWB needs its figure"),
])  # fmt: skip
def test_a_wrong_fact_is_refused_in_words(facts: dict[str, str], says: str) -> None:
    with pytest.raises((ValueError, RecordRefused), match=says):
        what_if(patient({}), facts, POLICY, NOW)


# -- The protocol -----------------------------------------------------------------------------------------


def test_every_rule_is_listed_with_its_figures_filled_in() -> None:
    listed = rules_listing()
    assert [line.id for line in listed] == [rule.id for rule in WRITTEN_DOWN]
    assert not any("{" in line.says for line in listed)
    assert all(line.tasks and line.source for line in listed)


def test_a_facility_s_own_figure_is_listed() -> None:
    policy = Policy(handling={"log_roll_spinal": 6})
    says = {line.id: line.says for line in rules_listing(policy)}
    assert says["spine.log_roll"].endswith("at least 6.")


# -- What changed -----------------------------------------------------------------------------------------


def test_no_plan_before_no_changes() -> None:
    assert changes(None, plan()) == ()
    assert changes(plan(), plan()) == ()


def test_more_help_carries_the_new_reasons() -> None:
    found = changes(plan(), plan(standing="unable", arms="one"))
    first = found[0]
    assert (first.task, first.what, first.eases) == (Task.WALK, "level", False)
    chair = next(change for change in found if change.task is Task.CHAIR)
    assert (chair.old, chair.new) == ("SELF, 0 helpers", "HOIST, 2 helpers")
    assert "chair.no_weight_no_arms" in [reason.rule for reason in chair.why]


def test_less_help_carries_the_reasons_that_are_gone() -> None:
    found = changes(plan(standing="supported"), plan())
    chair = next(change for change in found if change.task is Task.CHAIR and change.what == "level")
    assert chair.eases
    assert "chair.partial_weight_bearing" in [reason.rule for reason in chair.why]


def test_hardest_first() -> None:
    ranks = [plan_.tasks[change.task].level_rank for plan_ in [plan(standing="unable")]
             for change in changes(plan(), plan_) if change.task]  # fmt: skip
    assert ranks == sorted(ranks, reverse=True)


def test_limits_band_and_pressure_are_changes_too() -> None:
    answers = {"history": True, "secondary_diagnosis": True, "aid": "none", "iv": True, "gait": "normal",
               "mental": "oriented"}  # fmt: skip
    new = plan(
        weight_bearing={"left_leg": {"status": "PWB", "percent": 50}},
        fall_risk={"instrument": "morse", "answers": answers},
        vitals={"lying": {"sbp": 140, "dbp": 80}, "standing_1min": {"sbp": 110, "dbp": 70}},
    )
    says = [change.says for change in changes(plan(), new) if change.task is None]
    assert any(text.startswith("Left leg: no order -> PWB") for text in says)
    assert any(text.startswith("Fall risk: low (morse 0) -> high (morse 60)") for text in says)
    assert any(text.startswith("Pressure: no fall known -> falls on standing") for text in says)


def test_a_new_caution_is_a_change_and_so_is_one_that_is_gone() -> None:
    with_line = plan(lines=[{"kind": "drain"}])
    added = [change for change in changes(plan(), with_line) if change.what == "cautions"]
    gone = [change for change in changes(with_line, plan()) if change.what == "cautions"]
    assert {change.eases for change in added} == {False}
    assert {change.eases for change in gone} == {True}
    assert len(added) == len(gone) == len(Task)


def test_a_fall_comes_before_everything() -> None:
    fall = {"at": "2026-03-02T07:40", "witnessed": False}
    first = changes(plan(), plan(fall_event=fall))[0]
    assert (first.task, first.what) == (None, "after a fall")
    assert "Do not move" in first.new
