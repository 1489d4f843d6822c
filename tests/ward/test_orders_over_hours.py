"""Orders and precautions stand until somebody ends them by name; their hour makes a look due, no more."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from mobicard.facts import FallEvent
from mobicard.facts.words import Level, Limb, Precaution, WeightBearing
from mobicard.ward import BedView, Clock, Due, Ward, WardRefused
from mobicard.ward.corrections import withdraw
from tests.records import assessed

MORNING = datetime(2026, 3, 2, 7, 10)


def at(ward: Ward, hours: float) -> datetime:
    moment = MORNING + timedelta(hours=hours)
    ward.clock = Clock.fixed(moment)
    return moment


def looked(ward: Ward, hours: float, **facts: object) -> BedView:
    """5N-01 assessed from nothing, as from a form or a file that says only this."""
    now = at(ward, hours)
    view = ward.find("5N-01") or ward.stays.admit("5N-01")
    record = assessed("5N-01", assessed_at=now, assessed_by="AB", **facts)
    return ward.save(view.stay, record, view.version)


@pytest.mark.parametrize(
    "order", ["bed_rest", "femoral_sheath", "groin_left", "spinal", "spinal_cervical", "hip_posterior_left"]
)
def test_leaving_an_order_out_does_not_end_it(ward: Ward, order: str) -> None:
    """Three looks that say nothing of it, 36 hours: it stands, with its first hour and who said it."""
    first = looked(ward, 0, precautions=[order])
    for hours in (6, 13, 36):
        view = looked(ward, hours)
        assert view.record.precautions == (Precaution(order),)
        assert view.plan.level is first.plan.level
        (kept,) = view.record.orders
        assert (kept.what, kept.at, kept.by) == (order, MORNING, "AB")


def test_over_by_name_and_not_again_by_the_old_entry(ward: Ward) -> None:
    """Dr NN ends it; when it is ordered anew later it is a new order, and the old ending ends nothing."""
    view = looked(ward, 0, precautions=["bed_rest"])
    at(ward, 5)
    view = ward.order_over(view, "bed_rest", "Dr NN")
    assert (view.record.precautions, view.record.orders) == ((), ())
    (end,) = view.record.ended
    assert (end.what, end.by) == ("bed_rest", "Dr NN")
    assert looked(ward, 6).plan.level is Level.SELF
    looked(ward, 8, precautions=["bed_rest"])
    view = looked(ward, 9)
    assert [order.at for order in view.record.orders] == [MORNING + timedelta(hours=8)]
    assert view.plan.level is Level.REMAIN


def test_a_limb_order_ends_by_another_order_for_that_limb(ward: Ward) -> None:
    looked(ward, 0, weight_bearing={"left_leg": "NWB"})
    view = looked(ward, 6)
    assert view.record.weight_bearing[Limb.LEFT_LEG].status is WeightBearing.NWB
    view = looked(ward, 7, weight_bearing={"left_leg": "TTWB"})
    assert [order.at for order in view.record.orders] == [MORNING + timedelta(hours=7)]
    view = looked(ward, 8, weight_bearing={"left_leg": "WBAT"})
    assert view.record.orders == ()
    assert looked(ward, 9).record.weight_bearing[Limb.LEFT_LEG].status is WeightBearing.WBAT


def test_a_cleared_spine_ends_what_was_not_cleared(ward: Ward) -> None:
    looked(ward, 0, precautions=["spinal_cervical"])
    view = looked(ward, 5, precautions=["spinal_cleared"])
    assert view.record.precautions == (Precaution.SPINAL_CLEARED,)


def test_an_end_makes_a_look_due_and_lifts_nothing(ward: Ward) -> None:
    """Bed flat until 14:00: at 13:59 all well, at 14:00 due, and it holds until somebody ends it."""
    view = looked(ward, 0, precautions=["head_flat"])
    view = ward.order_until(view, "head_flat", datetime(2026, 3, 2, 14, 0))
    at(ward, 6 + 49 / 60)
    assert ward.bed(view.stay).due is Due.OK
    at(ward, 6 + 50 / 60)
    then = ward.bed(view.stay)
    assert (then.due, then.due_says) == (Due.DUE, "look: head flat to 14:00")
    assert then.plan.level is Level.REMAIN
    assert looked(ward, 7).due is Due.DUE
    at(ward, 7.1)
    view = ward.order_still(ward.bed(view.stay), "head_flat")
    assert view.due is Due.OK
    assert view.plan.level is Level.REMAIN


def test_an_end_that_is_over_is_refused(ward: Ward) -> None:
    view = looked(ward, 0, precautions=["bed_rest"])
    with pytest.raises(WardRefused, match="over already"):
        ward.order_until(view, "bed_rest", MORNING - timedelta(minutes=1))


def test_an_old_ending_told_again_ends_no_new_order(ward: Ward) -> None:
    """Ended at 12:10, ordered anew at 15:10; a record of 16:10 that repeats the old ending ends nothing."""
    view = looked(ward, 0, precautions=["bed_rest"])
    at(ward, 5)
    end = ward.order_over(view, "bed_rest", "Dr NN").record.as_json()["ended"]
    looked(ward, 8, precautions=["bed_rest"])
    view = looked(ward, 9, ended=end)
    assert view.plan.level is Level.REMAIN


def test_an_end_outlives_a_record_that_does_not_say_it(ward: Ward) -> None:
    """As after two nurses' saves were put together: the order's hour stays with it."""
    view = looked(ward, 0, precautions=["bed_rest"])
    until = datetime(2026, 3, 2, 14, 0)
    view = ward.order_until(view, "bed_rest", until)
    order = {**view.record.as_json()["orders"][0]}
    del order["until"]
    view = looked(ward, 1, precautions=["bed_rest"], orders=[order])
    assert view.record.orders[0].until == until


@pytest.mark.parametrize("later", [None, {"lying": {"sbp": 120, "dbp": 80}}])
def test_a_reading_that_bars_getting_up_ends_with_a_new_one(ward: Ward, later: object) -> None:
    """Saturation 80 %: thirteen hours and two looks later still; until it is measured again."""
    looked(ward, 0, vitals={"spo2": 80})
    assert looked(ward, 5, vitals=later).plan.level is Level.REMAIN
    assert looked(ward, 13).plan.level is Level.REMAIN
    assert looked(ward, 14, vitals={"spo2": 97}).plan.level is Level.SELF


def test_a_pressure_that_bars_getting_up_ends_with_a_new_one(ward: Ward) -> None:
    looked(ward, 0, vitals={"lying": {"sbp": 70, "dbp": 40, "hr": 150}})
    assert looked(ward, 5).plan.level is Level.REMAIN
    assert looked(ward, 6, vitals={"lying": {"sbp": 120, "dbp": 80, "hr": 80}}).plan.level is Level.SELF


def test_a_spine_ordered_again_after_it_was_cleared(ward: Ward) -> None:
    """Cleared ends the precaution; ordered anew ends the clearing: never both, which would be a conflict."""
    looked(ward, 0, precautions=["spinal"])
    assert looked(ward, 5, precautions=["spinal_cleared"]).record.precautions == (Precaution.SPINAL_CLEARED,)
    again = looked(ward, 9, precautions=["spinal"])
    assert again.record.precautions == (Precaution.SPINAL,)
    assert looked(ward, 12).record.precautions == (Precaution.SPINAL,)


def test_a_correction_that_says_nothing_of_an_order_or_a_fall_ends_neither(ward: Ward) -> None:
    """The wrong entry called the patient steady; what stood before it stands still."""
    looked(ward, 0, precautions=["bed_rest"])
    view = ward.find("5N-01")
    assert view is not None
    at(ward, 1)
    ward.fell(view.stay, FallEvent(at=MORNING + timedelta(hours=1)), view.version)
    view = looked(ward, 2)
    right = assessed("5N-01", standing="unable", stepping="unable")
    after = withdraw(ward, view, ward.ledger.history(view.stay)[-1].version, "the other bed's", right)
    assert after.record.standing == "unable"
    assert after.record.precautions == (Precaution.BED_REST,)
    assert after.record.fall_event is not None
