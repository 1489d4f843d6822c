"""Loads against their published values: limb masses, holding a limb, the share of each helper."""

from itertools import pairwise

import pytest
from pydantic import ValidationError

from mobicard.derive.loads import (
    AORN_PERCENT,
    HELP_UPPER_SHARE,
    PUSH_PULL_FILTER_KG,
    Condition,
    helper_limit_lb,
    limb_hold,
    limb_holds,
    segment_mass,
    share_kg,
)
from mobicard.facts.units import kg_from_lb, lb_from_kg
from mobicard.facts.words import Help
from mobicard.rules.policy import Policy

# -- Limb masses ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("segment", "percent"),
    [
        ("leg", 16.1),
        ("arm", 5.0),
        ("head_neck", 8.1),
        ("thigh", 10.0),
        ("shank", 4.65),
        ("foot", 1.45),
        ("upper_arm", 2.8),
        ("forearm", 1.6),
        ("hand", 0.6),
        ("trunk", 49.7),
    ],
)
def test_segment_masses_as_winter_tabulates_them(segment: str, percent: float) -> None:
    """Winter, Biomechanics and Motor Control of Human Movement, 2005."""
    assert segment_mass(segment, 100) == pytest.approx(percent)
    assert segment_mass(f"left_{segment}", 50) == pytest.approx(percent / 2)


def test_a_leg_is_its_parts_and_a_body_is_its_segments() -> None:
    """Computed from Winter 2005: thigh, shank and foot make the leg; everything makes the body."""
    parts = sum(segment_mass(part, 100) for part in ("thigh", "shank", "foot"))
    assert parts == pytest.approx(segment_mass("leg", 100))
    whole = 2 * segment_mass("leg", 100) + 2 * segment_mass("arm", 100)
    whole += segment_mass("head_neck", 100) + segment_mass("trunk", 100)
    assert whole == pytest.approx(100)


def test_segment_masses_as_aorn_has_them() -> None:
    """AORN/NIOSH: leg 15.7 (seen); arm 5.1, head with neck 8.4 (from memory)."""
    assert dict(AORN_PERCENT) == {"leg": 15.7, "arm": 5.1, "head_neck": 8.4}
    assert segment_mass("head and neck", 100, source="aorn") == pytest.approx(8.4)


def test_the_leg_of_a_250_pound_patient_is_about_39_pounds_and_over_the_limit() -> None:
    """Waters, Am J Nurs 2007;107(8):53-58, interviewed."""
    leg_lb = lb_from_kg(segment_mass("leg", kg_from_lb(250), source="aorn"))
    assert round(leg_lb) == 39
    assert leg_lb > helper_limit_lb(Policy())


@pytest.mark.parametrize(
    ("segment", "kg", "source"), [("tail", 80, "winter"), ("leg", 0, "winter"), ("leg", 80, "x")]
)
def test_no_mass_for_what_nobody_tabulates(segment: str, kg: float, source: str) -> None:
    with pytest.raises(ValueError, match=r"write"):
        segment_mass(segment, kg, source)


@pytest.mark.parametrize(
    ("segment", "body_kg", "staff", "hands"),
    [
        ("leg", 31.2, 1, 1),  # 16.1 % of 31.2 is 5.02
        ("leg", 31.3, 1, 2),  # 5.04
        ("leg", 62.7, 1, 2),  # 10.09
        ("leg", 62.8, 2, 4),  # 10.11
        ("leg", 125.4, 2, 4),  # 20.19
        ("leg", 125.5, None, None),  # 20.21
        ("thigh", 50.3, 1, 1),  # 5.03 exactly
        ("thigh", 101, 1, 2),  # 10.1 exactly
        ("thigh", 202, 2, 4),  # 20.2 exactly
        ("arm", 100.6, 1, 1),  # 5.03
        ("arm", 100.7, 1, 2),
    ],
)
def test_both_sides_of_one_hand_two_hands_and_two_people(
    segment: str, body_kg: float, staff: int | None, hands: int | None
) -> None:
    """Waters et al., AORN J 2011: up to 2 minutes, 5.03 kg with one hand, 10.1 kg with two."""
    found = limb_hold(segment, body_kg)
    assert (found.staff, found.hands) == (staff, hands)
    assert found.device_advised == (staff != 1)


def test_one_person_a_leg_up_to_a_patient_of_141_pounds() -> None:
    """AORN Ergonomic Tool 2: two hands a leg up to 141 lb (64 kg); above, two people a leg or a device."""
    assert limb_hold("leg", 64.0, source="aorn").staff == 1
    assert limb_hold("leg", 64.5, source="aorn").staff == 2


def test_push_and_pull_filters() -> None:
    """UK HSE: 20 and 15 kg to start, 10 and 7 kg to keep moving (men, women)."""
    assert dict(PUSH_PULL_FILTER_KG) == {
        ("start", "men"): 20,
        ("start", "women"): 15,
        ("keep", "men"): 10,
        ("keep", "women"): 7,
    }


# -- The share of each helper -----------------------------------------------------------------------------


def test_a_180_pound_patient_doing_half_needs_three_helpers() -> None:
    """Waters, interviewed: two would have 45 lb each, so three without equipment."""
    body = kg_from_lb(180)
    assert lb_from_kg(share_kg(body, Help.MODERATE, 1.0, 2)) == pytest.approx(45)
    assert lb_from_kg(share_kg(body, Help.MODERATE, 1.0, 2)) > helper_limit_lb(Policy())
    assert lb_from_kg(share_kg(body, Help.MODERATE, 1.0, 3)) <= helper_limit_lb(Policy())


@pytest.mark.parametrize(
    ("help_", "upper"),
    [
        (Help.MINIMAL, 0.25),
        (Help.MODERATE, 0.50),
        (Help.MAXIMAL, 0.75),
        (Help.TOTAL, 1.0),
        (Help.STANDBY, 0.0),
    ],
)
def test_the_upper_bound_of_each_observed_help(help_: Help, upper: float) -> None:
    """CMS IRF-PAI v2.00.1 motor levels: patient does >= 75, >= 50, >= 25, < 25 %."""
    assert share_kg(100, help_, 1.0, 1) == pytest.approx(100 * upper)


@pytest.mark.parametrize("help_", [None, *list(Help)[8:]])
def test_what_was_not_seen_done_is_taken_whole(help_: Help | None) -> None:
    assert share_kg(80, help_, 0.5, 2) == pytest.approx(20)


def test_more_help_never_makes_a_lighter_share() -> None:
    shares = [HELP_UPPER_SHARE[help_] for help_ in Help if help_.was_done]
    assert all(less <= more for less, more in pairwise(shares))


@pytest.mark.parametrize(
    ("body", "part", "helpers", "says"),
    [(0, 1, 1, "body mass"), (80, 1.1, 1, "0 to 1"), (80, -0.1, 1, "0 to 1"), (80, 1, 0, "at least 1")],
)
def test_a_share_that_cannot_be_is_refused(body: float, part: float, helpers: int, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        share_kg(body, Help.TOTAL, part, helpers)


def test_the_limit_is_35_pounds_a_helper() -> None:
    """Waters, Am J Nurs 2007;107(8):53-58: 35 lb, 15.9 kg."""
    assert helper_limit_lb(Policy()) == 35
    assert kg_from_lb(helper_limit_lb(Policy())) == pytest.approx(15.9, abs=0.05)


@pytest.mark.parametrize("condition", Condition)
def test_every_worse_condition_lowers_the_limit(condition: Condition) -> None:
    assert 0 < helper_limit_lb(Policy(), [condition]) < 35
    others = [one for one in Condition if one is not condition]
    assert helper_limit_lb(Policy(), list(Condition)) < helper_limit_lb(Policy(), others)


def test_a_condition_named_twice_lowers_once() -> None:
    assert helper_limit_lb(Policy(), ["lines", Condition.LINES]) == helper_limit_lb(Policy(), ["lines"])


def test_a_facility_may_set_its_own_limit() -> None:
    policy = Policy.from_toml("[loads]\nhelper_limit_lb = 30\n[loads.lowering]\nlines = 0.5\n")
    assert helper_limit_lb(policy, ["lines"]) == 15


def test_an_unknown_condition_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="write one of unpredictable"):
        helper_limit_lb(Policy(), ["windy"])


def test_what_a_limb_takes_is_said_for_leg_and_arm() -> None:
    """A 250-lb patient's leg is about 39 lb (Waters, 2007): over one person's hands, so a support or two."""
    leg, arm = limb_holds(250 * 0.45359237)
    assert 38 < leg.mass_lb < 41
    assert (leg.staff, arm.staff) == (2, 1)
    assert limb_holds(None) == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[body_share]\nturn = 0.5", "for moves out of bed, not for turn"),
        ("[body_share]\nsit_up = 1.5", "less than or equal to 1"),
        ("[body_share]\nbath = 0.5", "body_share"),
    ],
)
def test_a_share_of_the_body_that_cannot_be_is_refused(text: str, says: str) -> None:
    """Shares are for moves out of bed, 0 to 1; another name means nothing and would change nothing."""
    with pytest.raises(ValidationError, match=says):
        Policy.from_toml(text)
