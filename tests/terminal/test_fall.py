"""After a fall by keyboard: one key an answer, do not move said at once, then a new look and a new card."""

from __future__ import annotations

import json
import time
from datetime import timedelta

import pytest

from mobicard.facts.words import Alertness, Found, HeadSeen, Help, Injury, Level, Task, YesNoUnknown
from mobicard.terminal.board.screen import Board
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.fall.screen import Fall
from mobicard.terminal.record.screen import RecordForm
from mobicard.terminal.round.form import AskedForm
from mobicard.ward import Door, Due
from tests.terminal.test_killed import Window

WELL = ("a", "n", "n", "y", "n", "n", "5")
"""Awake, head not hit, neck does not hurt, seen, not hurt, no blood thinner, five minutes ago."""
CLEAR = ("m", "n", "n", "n")
"""Examined by who sits here; head, neck and back, hips and long bones: nothing found."""


async def fell(nurse, bed: str) -> Fall:
    """From the Board to the fall of a bed."""
    await nurse.type(bed)
    await nurse.press("escape", "f")
    screen = nurse.app.screen
    assert isinstance(screen, Fall)
    return screen


async def test_one_question_at_a_time_and_one_key_each(opened):
    """Each key answers one question; the next one shows; nothing has to be scrolled at 80 x 24."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        for key, ask in zip(WELL, fall_steps.FIRST, strict=True):
            assert fall.ask == ask
            assert ask.asks in nurse.screen
            for _, says, _ in ask.choices:
                assert says in nurse.screen
            assert "DO NOT MOVE" in nurse.screen
            await nurse.press(key)
        assert fall.query_one("#fall-ask").virtual_size.height <= fall.query_one("#fall-ask").size.height
        assert "DO NOT MOVE" not in nurse.screen
        assert "FLAT LIFT ONLY" in nurse.screen


@pytest.mark.parametrize(
    ("keys", "because"),
    [(("a", "y"), "head was struck"), (("a", "n", "y"), "neck hurts"), (("a", "n", "n", "n"), "Nobody saw")],
)
async def test_do_not_move_is_said_at_once_where_the_facts_say_so(opened, keys, because):
    """The answer that forbids the move shows its reason before the next one is given.

    Source: AHRQ, Preventing Falls in Hospitals, tool 3N; NPSA 2011.
    """
    async with opened() as nurse:
        await fell(nurse, "01")
        await nurse.press(*keys[:-1])
        assert because not in nurse.screen
        await nurse.press(keys[-1])
        assert "DO NOT MOVE" in nurse.screen
        assert because in nurse.screen


async def test_not_cleared_it_is_recorded_and_stays_open(opened):
    """Head hit, nobody has examined yet: in the ledger at once, REMAIN on the Board, the door card old."""
    async with opened() as nurse:
        await fell(nurse, "01")
        await nurse.press("a", "y", "n", "y", "m", "u", "5")
        assert "examined the patient" in nurse.screen
        shown = " ".join(nurse.screen.split())
        assert all(says in shown for _, says, _ in fall_steps.CLEARED.choices)
        assert all(step in shown for step in nurse.app.screen.plan.after_fall.steps)
        recorded = nurse.bed("5N-01")
        assert recorded.record.fall_event.head_strike is YesNoUnknown.YES
        assert recorded.record.fall_event.injury is Injury.MINOR
        assert recorded.record.fall_event.anticoagulated is YesNoUnknown.UNKNOWN
        assert recorded.record.fall_event.at == nurse.ward.now - timedelta(minutes=5)
        assert recorded.plan.shown_level is Level.REMAIN
        assert recorded.door is Door.OUT_OF_DATE
        await nurse.press("n")
        assert isinstance(nurse.app.screen, Board)
        assert nurse.bed("5N-01").version == recorded.version
        assert nurse.ward.why_not_same(nurse.bed("5N-01")).startswith("the patient has fallen")


async def test_coming_back_asks_only_what_is_open(opened):
    """The fall recorded but not cleared: opened again, the question is who allowed the move; then up."""
    async with opened() as nurse:
        await fell(nurse, "01")
        await nurse.press("a", "y", "n", "y", "n", "n", "5", "n")
        fall = await fell(nurse, "01")
        assert fall.ask is fall_steps.CLEARED
        await nurse.press("y")
        await nurse.type("dr mo")
        await nurse.press("enter")
        event = nurse.bed("5N-01").record.fall_event
        assert (event.cleared_by, event.cleared_at) == ("dr mo", nurse.ward.now)
        await nurse.press("n", "n", "n")
        assert fall.ask is fall_steps.LIFT_AS
        await nurse.press("o", "m", "y")
        assert nurse.bed("5N-01").record.fall_event.up_at == nurse.ward.now
        assert nurse.bed("5N-01").record.help[Task.FLOOR] is Help.MAXIMAL


async def test_how_many_and_which_lift_to_get_up(opened):
    """Own effort: asked now, not taken from before the fall; alone: three by hand; not alone: the lift."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        assert nurse.bed("5N-01").record.help[Task.FLOOR] is Help.INDEPENDENT
        await nurse.press(*WELL, *CLEAR, "o")
        assert "full-body lift" in nurse.screen
        assert Task.FLOOR not in nurse.bed("5N-01").record.help
        await nurse.press("a")
        assert "3 helpers, helped up through kneeling" in nurse.screen
        await nurse.press("left")
        assert f"{fall.plan.tasks[Task.FLOOR].helpers} helpers" in nurse.screen
        await nurse.press("n")
        floor = fall.plan.tasks[Task.FLOOR]
        assert floor.level is Level.HOIST
        assert f"{floor.helpers} helpers" in nurse.screen
        assert "full-body lift" in nurse.screen


@pytest.mark.parametrize(
    ("found", "flat"), [(("n", "n", "n", "l"), False), (("n", "s", "n"), True), (("n", "n", "c"), True)]
)
async def test_what_the_examination_leaves_open_is_lifted_flat(opened, found, flat):
    """Something suspected, or cannot say: a flat lift or a scoop, and how is not asked any more.

    Source: NICE QS86, statement 5; NPSA 2011.
    """
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL, "m", *found)
        assert fall.ask is fall_steps.UP
        assert ("FLAT LIFT ONLY" in nurse.screen) is flat
        event = nurse.bed("5N-01").record.fall_event
        assert (event.cleared_by, event.head) == ("JN", Found.CLEAR)
        assert ("no sling rolled under" in nurse.screen) is flat


async def test_a_suspected_injury_keeps_the_fall_open_after_up(opened):
    """Up, but a break was suspected: no new look ends it; F5 asks again, and clear lets the look end it."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL, "m", "n", "n", "s", "y")
        assert fall.ended
        assert "the fall is not over" in nurse.screen
        await nurse.press("enter")
        assert nurse.app.screen is fall
        await nurse.press("f5", "n", "m")
        assert nurse.bed("5N-01").record.fall_event.bones is Found.SUSPECTED
        await nurse.press("n", "n", "n", "l")
        assert nurse.bed("5N-01").record.fall_event.bones is Found.CLEAR
        assert nurse.bed("5N-01").plan.after_fall.ends_by_a_look
        await nurse.press("enter")
        assert isinstance(nurse.app.screen, AskedForm)


async def test_nobody_is_examined_in_the_minute_of_the_fall(opened):
    """Just now, and examined already: refused with the reason; a minute later it is taken."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL[:-1], "n", "m")
        assert "the minute of the fall" in nurse.screen
        assert fall.ask is fall_steps.CHECKED
        nurse.ward.clock = type(nurse.ward.clock).fixed(nurse.ward.now + timedelta(minutes=1))
        await nurse.press("m")
        assert nurse.bed("5N-01").record.fall_event.cleared_by == "JN"


async def test_cleared_although_the_neck_hurts_holds_until_examined_again(opened):
    """The contradiction is said and nothing moves; F5 asks anew, suspected: the patient is lifted flat."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press("a", "n", "y", "y", "n", "n", "5", "y")
        await nurse.type("dr mo")
        await nurse.press("enter", "n", "n", "n", "l")
        assert fall.ask is None
        assert "DO NOT MOVE" in nurse.screen
        assert "Cleared although the neck hurts" in " ".join(nurse.screen.split())
        await nurse.press("f5", "y", "y")
        await nurse.type("dr mo")
        await nurse.press("enter", "n", "s", "n")
        assert "FLAT LIFT ONLY" in nurse.screen


async def test_it_ends_in_a_forced_assessment_and_a_new_card(opened):
    """Up again: REMAIN until every deciding fact is answered; then a level anew, and the door is old."""
    async with opened(size=(140, 45)) as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL, *CLEAR, "l", "y")
        assert fall.ended
        assert nurse.bed("5N-01").plan.after_fall.state == "reassess"
        assert nurse.bed("5N-01").plan.shown_level is Level.REMAIN
        nurse.ward.clock = type(nurse.ward.clock).fixed(nurse.ward.now + timedelta(minutes=5))
        await nurse.press("enter")
        form = nurse.app.screen
        assert isinstance(form, AskedForm)
        for _ in range(len(form._asked)):
            await nurse.press("h" if form.current == "standing" else form.question.choices[0].key)
        assert isinstance(nurse.app.screen, Board)
        after = nurse.bed("5N-01")
        assert after.plan.after_fall is None
        assert after.record.assessed_by == "JN"
        assert after.plan.shown_level is not Level.REMAIN
        assert after.door is Door.OUT_OF_DATE


async def struck(nurse) -> Fall:
    """A fall with the head struck five minutes ago, not cleared; back on the Board."""
    fall = await fell(nurse, "01")
    await nurse.press("a", "y", "n", "y", "n", "n", "5", "n")
    return fall


async def test_a_head_observation_is_noted_by_one_key_at_the_bed(opened):
    """G shows what is due at the marked bed, one key notes it; the row then has the next time."""
    async with opened() as nurse:
        await struck(nurse)
        assert "HEAD 07:55" in nurse.screen
        await nurse.press("g")
        assert "head observation due 07:55, late" in nurse.screen
        await nurse.press("a")
        watch = nurse.bed("5N-01").record.head_watch
        assert (watch.seen, watch.noted_by, watch.noted_at) == (HeadSeen.FIFTEEN, "JN", nurse.ward.now)
        assert "head 08:30" in nurse.screen
        assert nurse.bed("5N-01").due is Due.OVERDUE


@pytest.mark.parametrize(("key", "seen"), [("b", HeadSeen.BELOW), ("w", HeadSeen.WORSE)])
async def test_below_fifteen_or_worse_has_its_own_key(opened, key, seen):
    async with opened() as nurse:
        await struck(nurse)
        await nurse.press("g", key)
        assert nurse.bed("5N-01").record.head_watch.seen is seen


async def test_head_observations_stop_by_a_name_only(opened):
    """S asks who decided it; without a name they go on, with one they are over and G says so."""
    async with opened() as nurse:
        await struck(nurse)
        await nurse.press("g", "s", "enter")
        assert nurse.bed("5N-01").plan.head_observations is not None
        await nurse.press("escape", "g", "s")
        await nurse.type("dr mo")
        await nurse.press("enter")
        after = nurse.bed("5N-01")
        assert after.plan.head_observations is None
        assert after.record.head_watch.stopped_by == "dr mo"
        assert after.plan.after_fall is not None
        await nurse.press("g")
        assert isinstance(nurse.app.screen, Board)


async def test_f10_goes_to_the_fall_from_an_open_record_and_loses_no_answer(opened):
    """An answer given, F10, a head observation over the fall: back on the form the answer still stands."""
    async with opened() as nurse:
        await struck(nurse)
        await nurse.press("enter")
        form = nurse.app.screen
        assert isinstance(form, RecordForm)
        await nurse.press("c", "f10")
        assert isinstance(nurse.app.screen, Fall)
        await nurse.press("ctrl+g", "a", "escape")
        assert nurse.app.screen is form
        assert form.answers.record.alertness is Alertness.NEW_CONFUSION
        assert form.base_version == nurse.bed("5N-01").version
        assert form.answers.record.head_watch.seen is HeadSeen.FIFTEEN


async def test_back_takes_the_last_answer_back(opened):
    """Left takes back one answer, on disk too."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press("a", "y", "left")
        assert fall.ask.name == "head_strike"
        draft = nurse.ward.drafts.offered(fall.view.stay, "fall")
        assert draft.facts["answers"] == {"alertness": "alert"}


async def test_leaving_asks_and_records_what_is_known(opened):
    """Esc, S: recorded as far as answered; what was not answered counts as the worse."""
    async with opened() as nurse:
        await fell(nurse, "01")
        await nurse.press("v", "n", "escape", "s")
        assert isinstance(nurse.app.screen, Board)
        view = nurse.bed("5N-01")
        assert view.record.alertness is Alertness.VOICE
        assert view.record.fall_event.neck_pain is None
        assert view.plan.after_fall.state == "do_not_move"
        assert nurse.ward.drafts.all() == []


async def test_another_save_meanwhile_keeps_both(opened, ward):
    """Somebody records the bed while the fall is asked: the fall goes on top, their facts stand."""
    async with opened() as nurse:
        await fell(nurse, "01")
        view = nurse.bed("5N-01")
        ward.save(view.stay, view.record.changed(weight_kg=71), view.version)
        await nurse.press(*WELL)
        after = nurse.bed("5N-01").record
        assert after.weight_kg == 71
        assert after.fall_event.witnessed is True


@pytest.mark.parametrize(
    ("typed", "at"),
    [("-20", "07:40"), ("0750", "07:50"), ("-1441", "more than a day"), ("2026-03-02T08:30", "not come")],
)
async def test_when_it_was_is_typed_as_people_write_it(opened, ward, typed, at):
    """From the minute it is typed at, which may be long after the form was opened; a day back at most."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        fall.began = ward.now - timedelta(minutes=40)
        await nurse.press(*WELL[:-1], "t")
        await nurse.type(typed)
        await nurse.press("enter")
        assert at in nurse.screen or at in fall.answers["at"]


async def test_kill_dash_nine_in_the_middle_of_a_fall_loses_nothing(opened, ward, tmp_path):
    """Killed with signal 9 after the second answer: both are on disk, and the third question stands open."""
    window = Window(tmp_path)
    window.wait_for("5N-01")
    window.press("f")
    window.wait_for("Does the patient answer you")
    window.press("c")
    window.wait_for("head hit anything")
    window.press("y")
    for _ in range(400):
        if "head_strike" in _answers(tmp_path):
            break
        time.sleep(0.05)
    window.program.kill()
    window.program.wait()
    assert _answers(tmp_path) == {"alertness": "new_confusion", "head_strike": "yes"}
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        assert fall.ask.name == "neck_pain"
        assert "head was struck" in nurse.screen


def _answers(home):

    found = [json.loads(path.read_text()) for path in (home / "drafts").glob("*--fall.json")]
    return found[0]["facts"]["answers"] if found else {}


async def test_the_boards_head_cell_has_its_day(opened, ward):
    """Twelve hours and a midnight later: an hour alone would be read as today's."""
    async with opened() as nurse:
        await struck(nurse)
        ward.clock = type(ward.clock).fixed(ward.now + timedelta(hours=20))
        nurse.app.screen.read_ledger()
        await nurse.settle()
        assert "HEAD Mon 07:55" in nurse.screen
