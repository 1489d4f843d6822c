"""Own judgement by keyboard: level, name, reason; raising is free, lowering bounded; always shown."""

from __future__ import annotations

from mobicard.derive import plan_for
from mobicard.facts.words import Level
from mobicard.terminal.board.screen import Board
from mobicard.terminal.judgement.screen import Override
from mobicard.ward.bedside.judging import NO_REASON


async def judge(nurse, bed: str) -> Override:
    """From the Board to the judgement of a bed."""
    await nurse.type(bed)
    await nurse.press("escape", "o")
    screen = nurse.app.screen
    assert isinstance(screen, Override)
    return screen


async def test_raising_is_free_and_may_go_without_a_reason(opened):
    """H, Enter: HOIST by JN, in the ledger and on the Board, with the reason kept for none given."""
    async with opened() as nurse:
        await judge(nurse, "01")
        await nurse.press("h", "enter")
        assert isinstance(nurse.app.screen, Board)
        over = nurse.bed("5N-01").plan.override
        assert (over.level, over.by, over.reason, over.lowers) == (Level.HOIST, "JN", NO_REASON, False)
        assert nurse.bed("5N-01").plan.shown_level is Level.HOIST
        row = next(line for line in nurse.screen.splitlines() if line.startswith("5N-01"))
        assert "HOIST" in row


async def test_lowering_needs_its_reason(opened):
    """Enter alone is refused; a few words are taken, and stand with the name on the card."""
    async with opened(size=(120, 40)) as nurse:
        await judge(nurse, "23")
        await nurse.press("backspace")
        await judge(nurse, "23")
        await nurse.press("l", "enter")
        assert "Lowering needs its reason" in nurse.screen
        assert nurse.bed("5N-23").plan.override is None
        await nurse.type("walked with PT")
        await nurse.press("enter")
        plan = nurse.bed("5N-23").plan
        assert (plan.level, plan.derived_level) == (Level.LINK, Level.TEAM)
        assert plan.override.reason == "walked with PT"
        assert plan.override.lowers
        await nurse.press("w")
        assert "to LINK by JN: walked with PT" in nurse.screen


async def test_below_what_was_seen_is_refused_with_what_was_seen(opened):
    """5N-03 took a hand on the patient to stand: nobody is judged to need less, whatever the reason."""
    async with opened(size=(120, 40)) as nurse:
        place = await judge(nurse, "03")
        version = nurse.bed("5N-03").version
        await nurse.press("n")
        assert "No judgement lowers LINK to NEARBY: Stand up: The move took at least a hand" in nurse.screen
        assert nurse.app.screen is place
        assert nurse.bed("5N-03").version == version


async def test_do_not_move_is_never_lowered_and_says_why(opened):
    """5N-17 fell and is not cleared: every level below REMAIN is refused with the reason, nothing saved."""
    async with opened() as nurse:
        place = await judge(nurse, "17")
        version = nurse.bed("5N-17").version
        for key in ("s", "n", "l", "t", "p", "h"):
            await nurse.press(key)
            assert "No judgement lowers that" in nurse.screen
            assert nurse.app.screen is place
        assert nurse.bed("5N-17").version == version


async def test_bed_rest_is_never_lowered_and_says_why(opened):
    """5N-15 has bed rest: the refusal names the rule's own reason."""
    async with opened() as nurse:
        await judge(nurse, "15")
        await nurse.press("l")
        why = nurse.bed("5N-15").plan.headline.reasons[0].says
        assert "No judgement lowers REMAIN" in nurse.screen
        assert why.split(",")[0][:30] in " ".join(nurse.screen.split())


async def test_an_old_assessment_is_not_judged_easier(opened, ward):
    """5N-19 was last seen more than a shift ago: assess first."""
    async with opened() as nurse:
        await judge(nurse, "19")
        await nurse.press("s")
        assert "Assess again first" in nurse.screen
        assert nurse.bed("5N-19").plan.override is None


async def test_taking_back_leaves_the_derived_level(opened):
    """5N-23 was lowered by MO: Backspace takes it back; the level is the derived one again."""
    async with opened() as nurse:
        await judge(nurse, "23")
        assert "In force: LINK, lowered by MO" in nurse.screen
        await nurse.press("backspace")
        view = nurse.bed("5N-23")
        assert view.record.override is None
        bare = plan_for(view.record, nurse.ward.policy, nurse.ward.now, nurse.ward.settings.inventory)
        assert view.plan.level is bare.derived_level is Level.TEAM


async def test_the_derived_level_itself_is_no_judgement(opened):
    """The level that follows from the record needs no judgement: said, nothing saved."""
    async with opened() as nurse:
        place = await judge(nurse, "01")
        version = nurse.bed("5N-01").version
        await nurse.press("s")
        assert "follows from the record already" in nurse.screen
        assert nurse.app.screen is place
        assert nurse.bed("5N-01").version == version
