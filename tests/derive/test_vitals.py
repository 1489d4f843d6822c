"""Pressure on standing and start limits: both sides of each threshold, timing, staleness."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from mobicard.derive import plan_for
from mobicard.derive.model import Orthostatic, TaskPlan
from mobicard.derive.vitals import mean_pressure, orthostatic, start_limits
from mobicard.facts import Pressure, read_record
from mobicard.facts.words import Level, Task
from mobicard.rules.policy import Policy
from tests.records import SEEN

AT = datetime(2026, 3, 2, 7, 10)
NOW = datetime(2026, 3, 2, 8, 0)


def pressure(text: str, hr: int | None = None) -> dict[str, int | None]:
    sbp, dbp = text.split("/")
    return {"sbp": int(sbp), "dbp": int(dbp), "hr": hr}


def found(
    now: datetime = NOW, at: datetime | None = AT, policy: str = "", **vitals: Any
) -> Orthostatic | None:
    facts = {key: pressure(value) if isinstance(value, str) else value for key, value in vitals.items()}
    record = read_record({"bed": "1", "assessed_at": at, "vitals": facts})
    return orthostatic(record, Policy.from_toml(policy), now)


def positive(**vitals: Any) -> bool | None:
    answer = found(**vitals)
    assert answer is not None
    return answer.positive


@pytest.mark.parametrize(
    ("standing", "expected"),
    [("120/71", True), ("121/71", False), ("121/70", True), ("140/80", False), ("150/90", False)],
)
@pytest.mark.parametrize("when", ["standing_1min", "standing_3min"])
def test_a_fall_of_20_systolic_or_10_diastolic(standing: str, expected: bool, when: str) -> None:
    """Freeman et al. 2011, doi 10.1016/j.autneu.2011.02.004, from 140/80 lying (computed)."""
    assert positive(lying="140/80", **{when: standing}) is expected


def test_the_drop_is_the_larger_of_the_two_readings() -> None:
    answer = found(lying="140/80", standing_1min="135/66", standing_3min="118/79")
    assert answer is not None
    assert (answer.drop_sbp, answer.drop_dbp, answer.positive) == (22, 14, True)
    assert "22/14" in answer.says


def test_the_worked_reading() -> None:
    """Computed: 128/76 lying, 104/70 at 1 minute."""
    answer = found(lying="128/76", standing_1min="104/70", dizzy=True)
    assert answer is not None
    assert (answer.drop_sbp, answer.drop_dbp, answer.positive) == (24, 6, True)


def test_dizzy_counts_as_abnormal_whatever_the_pressure() -> None:
    """CDC STEADI."""
    assert positive(lying="140/80", standing_1min="139/80", dizzy=True) is True
    assert positive(dizzy=True) is True
    assert positive(lying="140/80", dizzy=True) is True


def test_one_reading_that_holds_says_that_the_other_is_missing() -> None:
    answer = found(lying="140/80", standing_1min="138/80")
    assert answer is not None
    assert answer.positive is False
    assert "no reading at 3 min" in answer.says
    both = found(lying="140/80", standing_1min="138/80", standing_3min="139/80")
    assert both is not None
    assert "no reading" not in both.says


@pytest.mark.parametrize(
    "vitals",
    [
        {"lying": "140/80"},
        {"standing_1min": "140/80"},
        {"lying": "140/80", "sitting": "139/80"},
        {"dizzy": False},
    ],
)
def test_what_was_not_measured_both_ways_is_no_answer(vitals: dict[str, Any]) -> None:
    assert positive(**vitals) is None


def test_a_fall_seen_on_sitting_up_already_counts() -> None:
    assert positive(lying="140/80", sitting="118/80") is True
    assert positive(sitting="140/80", standing_1min="118/80") is True
    assert positive(sitting="140/80", standing_1min="139/80") is None


def test_no_vitals_is_none() -> None:
    assert orthostatic(read_record({"bed": "1"}), Policy(), NOW) is None
    assert found(spo2=95) is None


def test_high_pressure_lying_is_said_and_still_counts() -> None:
    """Freeman et al. 2011: with supine hypertension a 30 mmHg fall may be the better sign."""
    high = found(lying="180/100", standing_1min="158/99")
    assert high is not None
    assert high.positive is True
    assert "a fall of 30 may be the better sign" in high.says
    edge = found(lying="150/90", standing_1min="130/89")  # the policy's own threshold, no published one
    assert edge is not None
    assert "better sign" in edge.says
    for lying, standing in (("180/100", "150/99"), ("149/80", "120/79")):
        other = found(lying=lying, standing_1min=standing)
        assert other is not None
        assert "better sign" not in other.says


# -- Time -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("hours", "expected"), [(12, False), (12.01, None)])
def test_both_sides_of_stale(hours: float, expected: bool | None) -> None:
    """Policy: 12 hours by default; a good reading that is stale counts as absent."""
    answer = found(lying="140/80", standing_1min="139/80", now=AT + timedelta(hours=hours))
    assert answer is not None
    assert answer.positive is expected


@pytest.mark.parametrize(("hours", "old"), [(12, False), (12.01, True), (400, True)])
def test_a_fall_of_pressure_never_ages_away(hours: float, old: bool) -> None:
    """Old says "measure again" beside the hazard; it does not take the hazard away."""
    answer = found(lying="140/80", standing_1min="100/60", now=AT + timedelta(hours=hours))
    assert answer is not None
    assert (answer.positive, answer.drop_sbp, "measure again" in answer.says) == (True, 40, old)


def test_stale_is_the_policys_to_say() -> None:
    answer = found(
        lying="140/80",
        standing_1min="139/80",
        now=AT + timedelta(hours=5),
        policy="[vitals]\nstale_after_h = 4",
    )
    assert answer is not None
    assert (answer.positive, answer.drop_sbp) == (None, None)
    assert "older than 4 hours" in answer.says


def test_the_vitals_own_time_comes_before_the_assessments() -> None:
    record = read_record(
        {
            "bed": "1",
            "assessed_at": AT,
            "vitals": {
                "at": AT - timedelta(hours=24),
                "lying": pressure("140/80"),
                "standing_1min": pressure("139/80"),
            },
        }
    )
    answer = orthostatic(record, Policy(), NOW)
    assert answer is not None
    assert answer.positive is None


def test_a_reading_of_this_minute_counts() -> None:
    just_now = found(lying="140/80", standing_1min="139/80", at=NOW)
    assert just_now is not None
    assert just_now.positive is False


@pytest.mark.parametrize("at", [None, NOW + timedelta(hours=1)])
def test_a_good_reading_needs_a_time_that_has_been_a_bad_one_counts_anyway(at: datetime | None) -> None:
    good = found(lying="140/80", standing_1min="139/80", standing_3min="139/80", at=at)
    bad = found(lying="140/80", standing_1min="118/80", at=at)
    assert good is not None
    assert bad is not None
    assert (good.positive, bad.positive) == (None, True)


def test_a_facility_may_set_its_own_drop() -> None:
    stricter = found(lying="140/80", standing_1min="125/80", policy="[vitals]\ndrop_sbp = 15")
    assert stricter is not None
    assert stricter.positive is True


# -- Start limits -----------------------------------------------------------------------------------------


def limits(policy: str = "", now: datetime = NOW, **vitals: Any) -> tuple[str, ...]:
    return start_limits(
        read_record({"bed": "1", "assessed_at": AT, "vitals": vitals}), Policy.from_toml(policy), now
    )


@pytest.mark.parametrize(
    ("vitals", "said"),
    [
        ({"spo2": 91}, None),
        ({"spo2": 90}, "Oxygen saturation 90 %"),
        ({"resp_rate": 5}, None),
        ({"resp_rate": 4}, "Breathing rate 4"),
        ({"resp_rate": 30}, None),
        ({"resp_rate": 31}, "Breathing rate 31"),
        ({"spo2": 88, "target_88_92": True}, None),
        ({"spo2": 87, "target_88_92": True}, "Oxygen saturation 87 %"),
        ({"lying": pressure("120/70", 40)}, None),
        ({"lying": pressure("120/70", 39)}, "Pulse 39"),
        ({"lying": pressure("120/70", 130)}, None),
        ({"lying": pressure("120/70", 131)}, "Pulse 131"),
        ({"lying": pressure("90/60")}, None),
        ({"lying": pressure("89/60")}, "Systolic pressure 89"),
        ({"lying": pressure("180/75")}, None),
        ({"lying": pressure("181/74")}, "Systolic pressure 181"),
        ({"lying": pressure("95/50")}, None),
        ({"lying": pressure("95/49")}, "Mean pressure 64"),
        ({"lying": pressure("150/90")}, None),
        ({"lying": pressure("150/91")}, "Mean pressure 111"),
        ({"sitting": pressure("89/60")}, "Systolic pressure 89"),
    ],
)
def test_both_sides_of_each_start_limit(vitals: dict[str, Any], said: str | None) -> None:
    """SpO2 above 90, RR to 30: Hodgson et al., Crit Care 2014;18:658. Target 88-92: RCP NEWS2, scale 2.

    RR from 5, HR 40-130, SBP 90-180: Crit Care Res Pract 2020:7840743, T5-T7. MAP 65-110: SAFEMOB.
    """
    sentences = limits(**vitals)
    if said is None:
        assert sentences == ()
    else:
        assert len(sentences) == 1
        assert sentences[0].startswith(said)
        assert "ask before moving" in sentences[0]


def test_mean_pressure_is_diastolic_and_a_third_of_the_rest() -> None:
    """From memory."""
    assert mean_pressure(Pressure(sbp=120, dbp=90)) == pytest.approx(100)


def test_start_limits_can_be_switched_off_but_do_not_age_away() -> None:
    assert limits(spo2=80)
    assert limits(policy="[vitals]\ncheck_start_limits = false", spo2=80) == ()
    (says,) = limits(now=AT + timedelta(hours=13), spo2=80)
    assert says.endswith("Old: measure again.")
    assert start_limits(read_record({"bed": "1"}), Policy(), NOW) == ()


def test_limits_upside_down_are_refused() -> None:
    with pytest.raises(ValueError, match="lower limit 130 is not below"):
        Policy.from_toml("[vitals]\nhr = [130, 40]")


# -- What bars, and who clears it -------------------------------------------------------------------------


def up(policy: str = "", **facts: Any) -> TaskPlan:
    record = read_record({"bed": "1", "weight_kg": 70, "assessed_at": AT, **SEEN, **facts})
    return plan_for(record, Policy.from_toml(policy), NOW).tasks[Task.CHAIR]


def test_on_a_ward_pressure_and_pulse_warn_with_their_value_and_limit() -> None:
    """160/90: mean pressure 113. One stays close by; nobody is put on a bedpan for it."""
    move = up(vitals={"lying": pressure("160/90")})
    assert (move.level, move.helpers) == (Level.NEARBY, 1)
    assert "A vital sign is outside its limits: ask first" in move.cautions
    (reason,) = [one for one in move.reasons if one.rule == "vitals.near_limits"]
    assert reason.says.startswith("Mean pressure 113 lying is outside 65 to 110: ask before moving.")


def test_in_intensive_care_they_bar() -> None:
    policy = '[vitals]\nbars = ["spo2", "resp_rate", "hr", "low_pressure", "high_pressure"]'
    move = up(policy, vitals={"lying": pressure("160/90")})
    assert move.level is Level.REMAIN
    assert move.reasons[0].says.startswith("Mean pressure 113 lying is outside 65 to 110")


def test_breathing_at_38_bars_until_a_named_person_clears_it() -> None:
    """Cleared it warns still; a reading taken after that asks again."""
    fast = {"vitals": {"resp_rate": 38}}
    assert up(**fast).level is Level.REMAIN
    cleared = {"readings_cleared": {"at": AT, "by": "Dr NN"}}
    move = up(**fast, **cleared)
    assert (move.level, move.helpers) == (Level.NEARBY, 1)
    (reason,) = [one for one in move.reasons if one.rule == "vitals.near_limits"]
    assert "Breathing rate 38 is outside 5 to 30: ask before moving. Cleared by Dr NN." in reason.says
    later = {"vitals": {"resp_rate": 38, "at": AT + timedelta(minutes=1)}}
    assert up(**later, **cleared).level is Level.REMAIN


def test_low_pressure_bars_on_a_ward_too() -> None:
    """Below its target red out of bed: Hodgson et al., Crit Care 2014;18:658 (seen in a copy)."""
    assert up(vitals={"lying": pressure("85/55")}).level is Level.REMAIN
