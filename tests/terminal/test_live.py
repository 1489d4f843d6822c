"""Now is now: every place shows at each minute what holds at that minute, without a key."""

from __future__ import annotations

from datetime import datetime, timedelta

from mobicard.facts.words import Level
from mobicard.terminal.widgets.plan_card import PlanCard
from mobicard.ward import Clock
from tests.terminal.conftest import NOW

ENDS = datetime(2026, 3, 2, 19, 30)
"""The demo's day: looked at in the morning, the shift ends at 19:00 and its handoff half an hour later."""

SHIFTS = (NOW, ENDS, ENDS + timedelta(minutes=1), datetime(2026, 3, 3, 7, 31), datetime(2026, 3, 3, 20, 0))


async def passes(nurse, moment: datetime) -> None:
    """The wall clock goes on to this minute; nobody touches a key."""
    nurse.ward.clock = Clock.fixed(moment)
    await nurse.until(lambda: f"{moment:%H:%M}" in nurse.screen.splitlines()[0])
    await nurse.settle()


def line_of(nurse, bed: str) -> str:
    return next(line for line in nurse.screen.splitlines() if line.startswith(bed))


async def test_the_board_over_three_shifts(opened):
    """5N-01 walks alone until half past seven; from then on nobody stands behind it."""
    async with opened() as nurse:
        for moment in SHIFTS:
            await passes(nurse, moment)
            assert ("SELF" in line_of(nurse, "5N-01")) is (moment <= ENDS), moment
            assert nurse.app.screen.rows[0].plan.expired is (moment > ENDS)


async def test_the_open_record_over_three_shifts(opened):
    """The card beside the form; half an answer stays."""
    async with opened() as nurse:
        await nurse.press("enter", "W")
        await nurse.type("8")
        for moment in SHIFTS:
            await passes(nurse, moment)
            card = nurse.app.screen.query_one(PlanCard).text.splitlines()[0]
            assert ("SELF" in card) is (moment <= ENDS), moment
            assert nurse.app.screen.typed == "8"


async def test_the_round_over_three_shifts(opened):
    """The bed in front of the nurse; an open *same as before* is not left open over what it attested."""
    async with opened() as nurse:
        await nurse.press("r")
        await nurse.press("s")
        assert nurse.app.screen.sure
        for moment in SHIFTS:
            await passes(nurse, moment)
            assert nurse.app.screen.view.plan.expired is (moment > ENDS), moment
            assert nurse.app.screen.sure is (moment <= ENDS), moment


async def test_the_handoff_over_three_shifts(opened):
    """What it says, and until when, goes on with the clock; the bed that is open alone stays open."""
    async with opened() as nurse:
        await nurse.press("h")
        await nurse.press("right")
        bed = nurse.app.screen.open_bed
        for moment in SHIFTS:
            await passes(nurse, moment)
            assert f"at {moment:%d %b %H:%M}" in " ".join(nurse.screen.split()), moment
            assert nurse.app.screen.open_bed == bed
            line = next(line for line in nurse.app.screen.handoff.beds if line.bed == bed)
            assert line.plan.expired is (moment > ENDS), moment


async def test_the_print_desk_over_three_shifts(opened):
    """Doors that match become doors to print when what hangs there ends; the picks stay."""
    async with opened(size=(100, 40)) as nurse:
        await nurse.press("p", "e")
        await nurse.press("space")
        picked = set(nurse.app.screen.picked)
        for moment in SHIFTS:
            await passes(nurse, moment)
            job = next(job for job in nurse.app.screen.jobs if job.bed == "5N-01")
            assert (job.level is Level.SELF) is (moment <= ENDS), moment
            assert nurse.app.screen.picked == picked


async def test_behind_a_question_the_board_goes_on(opened):
    """A question about an order is open over the Board when the plans end: the rows behind it say so."""
    async with opened() as nurse:
        board = nurse.app.screen
        await nurse.type("15")
        await nurse.press("escape", "d")
        assert nurse.app.screen is not board
        nurse.ward.clock = Clock.fixed(ENDS + timedelta(minutes=1))
        await nurse.until(lambda: board.rows[0].plan.expired)


async def test_after_a_fall_over_three_shifts(opened):
    """Head struck: each head observation becomes due, then late, while the place stands open."""
    async with opened() as nurse:
        await nurse.press("f")
        await nurse.press("a", "y", "n", "y", "n", "n", "5")
        fall = nurse.app.screen
        await nurse.press("ctrl+g", "a")
        assert nurse.app.screen is fall
        assert not fall.plan.head_observations.late
        for moment in SHIFTS[1:]:
            await passes(nurse, moment)
            assert fall.plan.head_observations.late, moment
            assert fall.plan.after_fall is not None, moment


async def test_the_judgement_over_three_shifts(opened):
    """What the rules say now stands beside the levels to choose from."""
    async with opened() as nurse:
        await nurse.press("o")
        for moment in SHIFTS:
            await passes(nurse, moment)
            assert nurse.app.screen.view.plan.expired is (moment > ENDS), moment
            assert ("REMAIN" in str(nurse.app.screen.derived)) is (moment > ENDS), moment
