"""The brief's place: reached by one key from each place, read on one screen, its outcome by one key."""

from __future__ import annotations

from mobicard.hands.ticks import HowFar, ticks_of
from mobicard.terminal.brief.screen import BriefScreen
from mobicard.terminal.commands import Place
from mobicard.ward import Due


def last_tick(nurse, bed: str) -> dict[str, object]:  # type: ignore[no-untyped-def]
    """The newest tick of a bed, as the ledger keeps it."""
    return dict(nurse.bed(bed).ticks[-1])


async def test_from_the_board_in_two_keys_and_out_in_one(opened) -> None:  # type: ignore[no-untyped-def]
    """The marked bed: B, C, read; D says it went as planned, in the ledger and for the day's goal."""
    async with opened(size=(80, 24)) as nurse:
        bed = nurse.app.screen.marked.bed
        before = nurse.pressed
        await nurse.press("b", "c")
        assert isinstance(nurse.app.screen, BriefScreen)
        assert nurse.pressed - before == 2
        assert f"{bed}  Bed to chair and back" in nurse.screen
        await nurse.press("y")
        assert nurse.pressed - before == 3
        told = last_tick(nurse, bed)
        assert (told["task"], told["went"], told["outcome"]) == ("chair", "done", "reached")
        assert nurse.app.screen.PLACE is Place.BOARD


async def test_every_usual_brief_is_one_screen(opened) -> None:  # type: ignore[no-untyped-def]
    """Two people to pivot: from who leads to how the patient is left, the sketch beside, no scrolling."""
    async with opened(size=(80, 24)) as nurse:
        await nurse.type("04")
        await nurse.press("b", "c")
        shown = nurse.screen
        for word in ("WHO", "READY", "SAY", "DO", "STOP", "LEAVE"):
            assert f"\n{word} " in shown, shown


async def test_more_help_than_planned_makes_the_bed_due(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        view = next(one for one in nurse.ward.board() if one.due is Due.OK and one.plan.helpers == 1)
        nurse.app.go(Place.BRIEF, view, next(task for task in view.plan.tasks if task.value == "chair"))
        await nurse.settle()
        await nurse.press("m", "3")
        told = last_tick(nurse, view.bed)
        assert (told["went"], told["helpers"], told["outcome"]) == ("more_help", 3, "reached")
        after = nurse.bed(view.bed)
        assert (after.due, after.due_says) == (Due.DUE, "look: up to chair took 3")


async def test_stopped_and_refused_ask_for_a_few_words(opened) -> None:  # type: ignore[no-untyped-def]
    """An empty answer is not taken; the reason stands with the tick."""
    async with opened(size=(80, 24)) as nurse:
        bed = nurse.app.screen.marked.bed
        await nurse.press("b", "t", "s", "enter")
        assert "A few words, please" in nurse.screen
        await nurse.type("dizzy")
        await nurse.press("enter")
        told = last_tick(nurse, bed)
        assert (told["went"], told["outcome"], told["why"]) == ("stopped", "partly", "dizzy")
        await nurse.press("b", "t", "r")
        await nurse.type("tired")
        await nurse.press("enter")
        assert last_tick(nurse, bed)["outcome"] == "not"
        assert [tick.outcome for tick in ticks_of(nurse.bed(bed).ticks)][-2:] == [HowFar.PARTLY, HowFar.NOT]


async def test_statures_set_the_bed(opened) -> None:  # type: ignore[no-untyped-def]
    """Typed once: 165 and 180 share 93 to 101 cm; a slip is refused in words."""
    async with opened(size=(80, 24)) as nurse:
        view = next(one for one in nurse.ward.board() if one.plan.tasks["turn"].helpers == 2)
        nurse.app.go(Place.BRIEF, view, next(task for task in view.plan.tasks if task.value == "turn"))
        await nurse.settle()
        await nurse.press("a", *["backspace"] * 12)
        await nurse.type("JN=17")
        await nurse.press("enter")
        assert "17 cm is not a grown person" in nurse.screen
        await nurse.press(*["backspace"] * 5)
        await nurse.type("JN=165,AB=180")
        await nurse.press("enter")
        assert "93-101 cm" in " ".join(nurse.screen.split())


async def test_why_names_rule_and_source(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        await nurse.type("04")
        await nurse.press("b", "c", "w")
        assert "who.role; common practice, no source" in nurse.screen
        await nurse.press("escape")
        assert isinstance(nurse.app.screen, BriefScreen)


async def test_one_key_from_record_and_round(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        await nurse.press("enter", "ctrl+b", "c")
        assert isinstance(nurse.app.screen, BriefScreen)
        await nurse.press("escape")
        assert nurse.app.screen.PLACE is Place.RECORD
        await nurse.press("escape", "r")
        await nurse.press("b", "c")
        assert isinstance(nurse.app.screen, BriefScreen)
        bed = nurse.app.screen.view.bed
        await nurse.press("y")
        assert nurse.app.screen.PLACE is Place.ROUND
        assert last_tick(nurse, bed)["went"] == "done"
        assert nurse.app.screen.state.done == {}


async def test_a_move_that_waits_is_not_noted_as_done(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        view = next(one for one in nurse.ward.board() if one.plan.helpers is None)
        nurse.app.go(Place.BRIEF, view, next(task for task in view.plan.tasks if task.value == "chair"))
        await nurse.settle()
        assert "Do not move: " in nurse.screen
        await nurse.press("y")
        assert not [tick for tick in nurse.bed(view.bed).ticks if "went" in tick]
        assert isinstance(nurse.app.screen, BriefScreen)


async def test_what_a_move_took_is_offered_at_the_next_look(opened) -> None:  # type: ignore[no-untyped-def]
    """Three people for a chair: its question stands at three helpers, the letter says how much each gave."""
    async with opened(size=(80, 24)) as nurse:
        view = next(one for one in nurse.ward.board() if one.due is Due.OK and one.plan.helpers == 1)
        chair = next(task for task in view.plan.tasks if task.value == "chair")
        nurse.app.go(Place.BRIEF, view, chair)
        await nurse.settle()
        await nurse.press("m", "3")
        nurse.app.go(Place.RECORD, nurse.bed(view.bed), "help.chair")
        await nurse.settle()
        assert "[08:00 took 3 people]" in nurse.screen
        await nurse.press("x", "ctrl+s", "enter")
        record = nurse.bed(view.bed).record
        assert (record.help["chair"].value, record.helpers_used["chair"]) == ("maximal", 3)
        assert nurse.bed(view.bed).due is Due.OK


async def test_more_strength_of_as_many_people_says_how_much(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        view = next(one for one in nurse.ward.board() if one.due is Due.OK and one.plan.helpers == 1)
        nurse.app.go(Place.BRIEF, view, next(task for task in view.plan.tasks if task.value == "chair"))
        await nurse.settle()
        await nurse.press("m", "h", "x")
        assert last_tick(nurse, view.bed)["help"] == "maximal"
        assert nurse.bed(view.bed).due_says == "look: up to chair took maximal help"


async def test_done_ticks_the_goal_of_the_day(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        views = (one for one in nurse.ward.board() if one.plan.helpers)
        view, goal = next(
            (one, goal)
            for one in views
            for goal in one.record.goals
            if one.plan.tasks[goal.task].helpers is not None
        )
        before = nurse.bed(view.bed).goals
        nurse.app.go(Place.BRIEF, view, goal.task)
        await nurse.settle()
        await nurse.press("y")
        assert nurse.bed(view.bed).goals != before
        assert any(says.count("1 of") for says in nurse.bed(view.bed).goals)
