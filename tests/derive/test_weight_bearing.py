"""Weight-bearing orders: figures, aids ruled out, the stronger side, usable arms."""

import re
from itertools import product
from typing import Any

import pytest

from mobicard.derive.model import LimbLimit
from mobicard.derive.weight_bearing import (
    bears_no_load,
    excluded_aids,
    limb_limits,
    standing_ruled_out,
    stronger_side,
    usable_arms,
)
from mobicard.facts import Record, read_record
from mobicard.facts.words import Aid, Arms, Limb, WeightBearing
from mobicard.rules.policy import Policy

PWB_HALF = {"status": "PWB", "percent": 50}


def record(**facts: Any) -> Record:
    return read_record({"bed": "4W-12A", **facts})


def ordered(
    left_leg: Any = None, right_leg: Any = None, left_arm: Any = None, right_arm: Any = None
) -> Record:
    orders = {"left_leg": left_leg, "right_leg": right_leg, "left_arm": left_arm, "right_arm": right_arm}
    return record(weight_kg=82, weight_bearing=orders)


def limit_of(order: Any, weight_kg: float | None = 82, **facts: Any) -> LimbLimit:
    (found,) = limb_limits(record(weight_kg=weight_kg, weight_bearing={"left_leg": order}, **facts))
    return found


def ruled_out(found: Record) -> set[Aid]:
    return {excluded.what for excluded in excluded_aids(found)}


# -- Figures ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("order", "kg", "lb"),
    [
        (PWB_HALF, 41.0, 90.4),  # computed: half of 82 kg, 90.389 lb to the nearest tenth
        ({"status": "PWB", "kg": 20}, 20.0, 44.1),  # computed, 44.092 lb
        ({"status": "TTWB", "percent": 20}, 16.4, 36.2),  # computed, 36.155 lb
        ("NWB", 0.0, 0.0),  # Physiopedia after Hershko 2008: 0, limb off the floor
        ("WBAT", None, None),  # limited by comfort
        ("FWB", None, None),  # 100 %
        ("absent_limb", 0.0, 0.0),
    ],
)
def test_each_status_as_a_figure(order: Any, kg: float | None, lb: float | None) -> None:
    found = limit_of(order)
    assert (found.limit_kg, found.limit_lb) == (kg, lb)
    assert found.says


def test_touch_only_without_a_figure_takes_the_strictest_in_use_unless_the_house_says_more() -> None:
    """Physiopedia after Hershko 2008: defined loads range from none to 20 kg or 20 %."""
    touch = record(weight_kg=82, weight_bearing={"left_leg": "TTWB"})
    assert limb_limits(touch)[0].limit_kg == 0
    assert "touch only" in limb_limits(touch)[0].says
    house = Policy.from_toml("[weight_bearing]\ntouch_kg = 10\n")
    assert limb_limits(touch, house)[0].limit_kg == 10
    assert "house figure 10.0 kg" in limb_limits(touch, house)[0].says


@pytest.mark.parametrize("weight", [82.0, 83.3, 70.17, 61.5, 99.99])
@pytest.mark.parametrize("percent", [20, 33.3, 50, 66.6])
def test_no_shown_limit_is_above_the_order(weight: float, percent: float) -> None:
    """Percent of body weight, by hand; 1 lb is 0.45359237 kg exactly (NIST SP 811)."""
    limit = limit_of({"status": "PWB", "percent": percent}, weight)
    ordered = weight * percent / 100
    shown_kg, shown_lb = re.findall(r"([\d.]+) kg \((\d+) lb\)", limit.says)[0]
    for kg in (
        float(shown_kg),
        limit.limit_kg or 0.0,
        float(shown_lb) * 0.45359237,
    ):
        assert kg <= ordered + 1e-6
    assert ordered - (limit.limit_kg or 0.0) < 0.1 + 1e-6, "and not lower than a step below it"


def test_a_limit_ordered_in_pounds_is_shown_as_ordered() -> None:
    assert "(50 lb)" in limit_of({"status": "PWB", "kg": 50 * 0.45359237}).says


def test_a_percent_without_a_weight_has_no_figure_and_says_so() -> None:
    found = limit_of(PWB_HALF, weight_kg=None)
    assert (found.limit_kg, found.limit_lb) == (None, None)
    assert "weight not recorded" in found.says


def test_no_order_is_no_line_and_legs_come_first() -> None:
    assert limb_limits(record()) == ()
    found = limb_limits(ordered(left_arm="NWB", right_leg="WBAT"))
    assert [limit.limb for limit in found] == [Limb.RIGHT_LEG, Limb.LEFT_ARM]


def test_a_prosthesis_bears_only_as_ordered() -> None:
    worn = limit_of("absent_limb", aids=["prosthesis"])
    assert worn.limit_kg is None
    assert "only as ordered" in worn.says


# -- Aids -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("order", [PWB_HALF, "TTWB", "NWB", "absent_limb"])
def test_a_leg_kept_from_its_load_rules_out_cane_and_four_wheels(order: Any) -> None:
    """AAFP 2021;103:737 in part; common practice, no source: it needs a walker or two crutches."""
    assert ruled_out(ordered(left_leg=order)) == {Aid.CANE, Aid.FOUR_WHEELED_WALKER}


@pytest.mark.parametrize("order", [None, "FWB", "WBAT"])
def test_a_leg_with_its_load_rules_out_nothing(order: Any) -> None:
    assert ruled_out(ordered(left_leg=order)) == set()


@pytest.mark.parametrize("order", [PWB_HALF, "TTWB", "NWB"])
def test_an_arm_kept_from_its_load_leaves_platform_walker_and_cane(order: Any) -> None:
    """A platform moves load from hand to forearm; a cane takes one arm (common practice, no source)."""
    assert ruled_out(ordered(left_arm=order)) == {
        Aid.FRONT_WHEELED_WALKER,
        Aid.FOUR_WHEELED_WALKER,
        Aid.CRUTCHES,
    }


def test_each_reason_names_the_limb_and_its_order() -> None:
    for order, term in (("NWB", "the left leg is NWB"), ("absent_limb", "the left leg is absent")):
        assert all(term in excluded.says for excluded in excluded_aids(ordered(left_leg=order)))
    (*_, crutches) = excluded_aids(ordered(left_arm="absent_limb"))[:3]
    assert "platform walker may serve" not in crutches.says
    assert "platform walker may serve" in excluded_aids(ordered(left_arm="NWB"))[0].says


def test_an_absent_arm_leaves_no_platform_walker() -> None:
    assert Aid.PLATFORM_WALKER in ruled_out(ordered(left_arm="absent_limb"))


def test_two_arms_kept_from_load_leave_no_cane() -> None:
    assert Aid.CANE in ruled_out(ordered(left_arm="NWB", right_arm="NWB"))


def test_no_leg_to_stand_on_rules_out_every_walking_aid() -> None:
    neither = ordered(left_leg="NWB", right_leg="absent_limb")
    assert standing_ruled_out(neither)
    assert ruled_out(neither) >= {
        Aid.FRONT_WHEELED_WALKER,
        Aid.PLATFORM_WALKER,
        Aid.FOUR_WHEELED_WALKER,
        Aid.CRUTCHES,
        Aid.CANE,
    }


@pytest.mark.parametrize(
    ("left", "right"), [("NWB", "TTWB"), ("NWB", None), ("TTWB", "TTWB"), (PWB_HALF, "NWB")]
)
def test_one_leg_that_may_touch_leaves_standing_open(left: Any, right: Any) -> None:
    assert not standing_ruled_out(ordered(left_leg=left, right_leg=right))


@pytest.mark.parametrize(
    ("arms", "out"),
    [
        ("both", set()),
        ("one", {Aid.FRONT_WHEELED_WALKER, Aid.FOUR_WHEELED_WALKER, Aid.CRUTCHES}),
        (
            "neither",
            {
                Aid.FRONT_WHEELED_WALKER,
                Aid.FOUR_WHEELED_WALKER,
                Aid.CRUTCHES,
                Aid.PLATFORM_WALKER,
                Aid.CANE,
            },
        ),
    ],
)
def test_arms_that_cannot_push_rule_out_what_needs_them(arms: str, out: set[Aid]) -> None:
    assert ruled_out(record(arms=arms)) == out


def test_sternal_precautions_rule_out_crutches_and_an_order_rules_out_the_belt() -> None:
    """No pushing with the arms: J Cardiothorac Surg 5:67."""
    assert ruled_out(record(precautions=["sternal", "no_gait_belt"])) == {Aid.CRUTCHES, Aid.GAIT_BELT}


def test_a_worse_order_never_gives_an_aid_back() -> None:
    """Every pair of statuses next to each other, on every limb, beside every status of the other limbs."""
    statuses: list[Any] = [None, "FWB", "WBAT", PWB_HALF, "TTWB", "NWB", "absent_limb"]
    for others in product(statuses, repeat=3):
        before = ruled_out(ordered(statuses[0], *others))
        for status in statuses[1:]:
            after = ruled_out(ordered(status, *others))
            assert before <= after, (status, others)
            before = after


# -- Sides and arms ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("orders", "side"),
    [
        ({}, None),
        ({"left_leg": "NWB"}, "right"),
        ({"right_leg": PWB_HALF, "left_leg": "WBAT"}, "left"),
        ({"left_leg": PWB_HALF, "right_leg": {"status": "PWB", "percent": 20}}, "left"),
        ({"left_leg": "WBAT", "right_leg": "WBAT"}, None),
        ({"left_leg": "NWB", "right_leg": "absent_limb"}, "left"),
        ({"left_arm": "NWB"}, "right"),
        ({"left_leg": "NWB", "right_arm": "NWB"}, "right"),
    ],
)
def test_the_stronger_side_is_the_leg_that_may_bear_more_then_the_arm(
    orders: dict[str, Any], side: str | None
) -> None:
    """OSHA 3182 (2009), Fig. 1: transfer toward the stronger side."""
    assert stronger_side(ordered(**orders)) == side


@pytest.mark.parametrize(
    ("facts", "arms"),
    [
        ({}, None),
        ({"arms": "both"}, Arms.BOTH),
        ({"arms": "both", "weight_bearing": {"left_arm": "NWB"}}, Arms.ONE),
        ({"arms": "neither", "weight_bearing": {"left_arm": "NWB"}}, Arms.NEITHER),
        ({"weight_bearing": {"left_arm": "NWB", "right_arm": "TTWB"}}, Arms.NEITHER),
        ({"arms": "both", "precautions": ["sternal"]}, Arms.NEITHER),
    ],
)
def test_arms_are_the_worse_of_what_was_seen_and_what_is_allowed(
    facts: dict[str, Any], arms: Arms | None
) -> None:
    assert usable_arms(record(**facts)) == arms


def test_the_stronger_side_needs_no_weight() -> None:
    orders = {"left_leg": PWB_HALF, "right_leg": {"status": "PWB", "percent": 20}}
    assert stronger_side(record(weight_bearing=orders)) == "left"


def test_one_prosthesis_stands_in_for_one_absent_leg_only() -> None:
    one = record(weight_bearing={"left_leg": "absent_limb"}, aids=["prosthesis"])
    both = record(weight_bearing={"left_leg": "absent_limb", "right_leg": "absent_limb"}, aids=["prosthesis"])
    assert not bears_no_load(one, Limb.LEFT_LEG)
    assert standing_ruled_out(both)


def test_every_status_is_spoken_for() -> None:
    for status in WeightBearing:
        order = PWB_HALF if status is WeightBearing.PWB else status.value
        assert limit_of(order).says.strip()
