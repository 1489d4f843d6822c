"""Orders by keyboard: over and who says so, until when; a precaution taken off the form is ended by name."""

from __future__ import annotations

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


async def test_taken_off_the_form_it_is_over_by_who_records(opened):
    """Bed rest unticked in the form: an entry names it, and who recorded."""
    async with opened() as nurse:
        await nurse.type("15")
        await nurse.press("enter", "P", "b", "f2")
        if "Still as recorded" in nurse.screen:
            await nurse.press("enter")
        record = nurse.bed("5N-15").record
        assert Precaution.BED_REST not in record.precautions
        assert [(end.what, end.by) for end in record.ended] == [("bed_rest", "JN")]
