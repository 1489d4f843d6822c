"""After a fall by keyboard: one key an answer, do not move said at once, then a new look and a new card."""

from __future__ import annotations

import json
import time
from datetime import datetime, timedelta

import pytest

from mobicard.facts.words import Alertness, Help, Injury, Level, Task, YesNoUnknown
from mobicard.terminal.board.screen import Board
from mobicard.terminal.fall import steps as fall_steps
from mobicard.terminal.fall.screen import Fall
from mobicard.terminal.round.form import AskedForm
from mobicard.ward import Door
from tests.terminal.test_killed import Window

WELL = ("a", "n", "n", "y", "n", "n", "n")
"""Awake, head not hit, neck does not hurt, seen, not hurt, no blood thinner, just now."""


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
        await nurse.press("a", "y", "n", "y", "n", "n", "n", "n")
        fall = await fell(nurse, "01")
        assert fall.ask is fall_steps.CLEARED
        await nurse.press("y")
        await nurse.type("dr mo")
        await nurse.press("enter")
        event = nurse.bed("5N-01").record.fall_event
        assert (event.cleared_by, event.cleared_at) == ("dr mo", nurse.ward.now)
        assert fall.ask is fall_steps.GETS_UP
        await nurse.press("m", "y")
        assert nurse.bed("5N-01").record.fall_event.up_at == nurse.ward.now
        assert nurse.bed("5N-01").record.help[Task.FLOOR] is Help.MAXIMAL


async def test_how_many_and_which_lift_to_get_up(opened):
    """All known to be well: three people by hand; who cannot get up alone: the lift, from the plan."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL)
        assert "MAY BE HELPED UP" in nurse.screen
        assert f"{fall.plan.tasks[Task.FLOOR].helpers} helpers" in nurse.screen
        await nurse.press("n")
        floor = fall.plan.tasks[Task.FLOOR]
        assert floor.level is Level.HOIST
        assert f"{floor.helpers} helpers" in nurse.screen
        assert "full body lift" in nurse.screen


async def test_it_ends_in_a_forced_assessment_and_a_new_card(opened):
    """Up again: REMAIN until every deciding fact is answered; then a level anew, and the door is old."""
    async with opened(size=(140, 45)) as nurse:
        fall = await fell(nurse, "01")
        await nurse.press(*WELL, "a", "y")
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


async def test_back_takes_the_last_answer_back(opened):
    """Left takes back one answer, on disk too."""
    async with opened() as nurse:
        fall = await fell(nurse, "01")
        await nurse.press("a", "y", "left")
        assert fall.ask.name == "head_strike"
        draft = nurse.ward.drafts.offered(fall.view.stay, "fall")
        assert draft.facts["answers"] == {"alertness": "alert"}


async def test_leaving_asks_and_records_what_is_known(opened):
    """Esc, R: recorded as far as answered; what was not answered counts as the worse."""
    async with opened() as nurse:
        await fell(nurse, "01")
        await nurse.press("v", "n", "escape", "r")
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
    ("typed", "at"), [("0640", (2, 6, 40)), ("6:40", (2, 6, 40)), ("2310", (1, 23, 10)), ("2560", None)]
)
def test_a_typed_time_is_the_last_one_the_clock_showed(typed, at):
    """At 08:00 on the 2nd, 2310 was last night; 2560 is none."""
    now = datetime(2026, 3, 2, 8, 0)
    expected = datetime(2026, 3, *at) if at else None
    assert fall_steps.typed_time(typed, now) == expected


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
