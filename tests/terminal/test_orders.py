"""Orders by keyboard: over and who says so, until when; a precaution taken off the form is ended by name."""

from __future__ import annotations

from datetime import timedelta

from mobicard.derive.over_time.standing_orders import not_asked_since
from mobicard.facts.words import Precaution


async def test_over_and_who_says_so(opened):
    """5N-15 has bed rest: D, 1, O, a name."""
    async with opened() as nurse:
        await nurse.type("15")
        view = nurse.bed("5N-15")
        nurse.ward.save(view.stay, view.record.changed(assessed_at=nurse.ward.now), view.version)
        nurse.app.screen.read_ledger()
        await nurse.settle()
        await nurse.press("d")
        assert "bed rest since" in nurse.screen
        await nurse.press("2", "u")
        await nurse.type("14:00")
        await nurse.press("enter")
        assert f"{nurse.bed('5N-15').record.orders[1].until:%H:%M}" == "14:00"
        await nurse.press("d", "2", "o")
        await nurse.type("Dr NN")
        await nurse.press("enter")
        record = nurse.bed("5N-15").record
        assert Precaution.BED_REST not in record.precautions
        assert [(end.what, end.by) for end in record.ended] == [("bed_rest", "Dr NN")]


async def test_a_time_that_is_none_is_refused(opened):
    async with opened() as nurse:
        await nurse.type("15")
        view = nurse.bed("5N-15")
        nurse.ward.save(view.stay, view.record.changed(assessed_at=nurse.ward.now), view.version)
        nurse.app.screen.read_ledger()
        await nurse.settle()
        await nurse.press("d", "2", "u")
        await nurse.type("soon")
        await nurse.press("enter")
        assert "is no time" in nurse.screen


async def test_taken_off_the_form_it_is_over_by_who_is_named(opened):
    """Bed rest unticked in the form: it asks who says so; the initials of who records stand there."""
    async with opened() as nurse:
        await nurse.type("15")
        await nurse.press("enter", "P", "b", "f2")
        if "Still as recorded" in nurse.screen:
            await nurse.press("enter")
        assert "Bed rest over: who says so, by name" in nurse.screen
        await nurse.press("enter")
        record = nurse.bed("5N-15").record
        assert Precaution.BED_REST not in record.precautions
        assert [(end.what, end.by) for end in record.ended] == [("bed_rest", "JN")]


async def ordered_yesterday(nurse, *names: str) -> None:
    """5N-01 has these precautions since yesterday morning, and the round stands at it."""
    view = nurse.bed("5N-01")
    since = nurse.ward.now - timedelta(days=1)
    orders = [{"what": name, "at": since.isoformat(), "by": "MO"} for name in names]
    nurse.ward.save(view.stay, view.record.changed(precautions=names, orders=orders), view.version)
    nurse.app.screen.read_ledger()
    await nurse.settle()
    await nurse.press("r")


async def test_the_round_asks_each_order_of_the_shift_before_with_a_key(opened):
    """Two orders of yesterday: still so, still so, then same as before; asked once a shift."""
    async with opened() as nurse:
        await ordered_yesterday(nurse, "hip_posterior_left", "sternal")
        await nurse.press("s")
        assert "hip posterior left since" in nurse.screen
        await nurse.press("s")
        assert "sternal since" in nurse.screen
        await nurse.press("s")
        assert "same as before?" in nurse.screen
        await nurse.press("enter")
        record = nurse.bed("5N-01").record
        assert [order.still_at for order in record.orders] == [nurse.ward.now] * 2
        assert record.assessed_at == nurse.ward.now
        assert not_asked_since(record, nurse.ward.now) == ()


async def test_the_round_ends_an_order_by_name_and_goes_on(opened):
    async with opened() as nurse:
        await ordered_yesterday(nurse, "sternal")
        await nurse.press("s", "o")
        await nurse.type("Dr NN")
        await nurse.press("enter")
        assert "same as before?" in nurse.screen
        await nurse.press("enter")
        record = nurse.bed("5N-01").record
        assert (record.precautions, record.orders) == ((), ())


async def test_nobody_to_ask_leaves_it_unanswered_and_standing(opened):
    async with opened() as nurse:
        await ordered_yesterday(nurse, "sternal")
        await nurse.press("s", "n", "enter")
        (order,) = nurse.bed("5N-01").record.orders
        assert order.still_at is None
        assert nurse.bed("5N-01").record.assessed_at == nurse.ward.now


async def test_more_orders_than_figures_can_be_chosen(opened):
    """Ten orders: the tenth is a."""
    ten = ("bed_rest", "groin_left", "groin_right", "no_gait_belt", "sternal", "hip_posterior_left")
    limbs = ("left_leg", "right_leg", "left_arm", "right_arm")
    async with opened() as nurse:
        view = nurse.bed("5N-01")
        bears = dict.fromkeys(limbs, "NWB")
        nurse.ward.save(view.stay, view.record.changed(precautions=ten, weight_bearing=bears), view.version)
        nurse.app.screen.read_ledger()
        await nurse.settle()
        await nurse.type("5N-01")
        await nurse.press("d", "a")
        assert "right arm since" in nurse.screen
