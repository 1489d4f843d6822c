"""A nurse with eight patients: the whole walk at shift change by the keyboard, every key counted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mobicard.derive.over_time.standing_orders import not_asked_since
from mobicard.derive.over_time.validity import shift_opens
from mobicard.facts.words import Level
from mobicard.terminal.asking import Choose
from mobicard.terminal.fall.screen import Fall
from mobicard.terminal.round.end import RoundEnd
from mobicard.terminal.round.form import all_deciding
from mobicard.terminal.round.screen import Round

UNCHANGED, CHANGED, ADMISSION = 2, 4, 27
"""The most keys a bed may take: unchanged, one fact changed, a new patient with every fact that decides."""


@pytest.fixture
def eight(ward):
    """JN with eight beds, nobody of them after a fall."""
    ward.assign([view.stay for view in ward.board()[6:8]], "JN")
    return ward


async def keys_of(nurse, *keys: str) -> int:
    """How many keys these were; each waits for what it sets off, as a person does."""
    for key in keys:
        await nurse.press(key)
    return len(keys)


@pytest.mark.parametrize("size", [(80, 24), (200, 60)])
async def test_eight_patients_in_few_keys(opened, eight, size):
    """Seven unchanged in two keys each, and one for each order that is asked; one changed fact in four."""
    async with opened(size=size) as nurse:
        await nurse.press("r")
        screen = nurse.app.screen
        assert isinstance(screen, Round)
        assert "0 of 8 done" in nurse.screen
        spent = []
        for number in range(8):
            bed = screen.view.bed
            orders = not_asked_since(screen.view.record, shift_opens(eight.now, eight.policy.shift))
            assert bed in nurse.screen
            if number == 3:
                spent.append(await keys_of(nurse, "c", "k", "m", "enter"))
                assert spent[-1] == CHANGED
                assert nurse.bed(bed).record.as_json()["help"]["chair"] == "minimal"
            else:
                spent.append(await keys_of(nurse, "s", *"s" * len(orders), "enter"))
                assert spent[-1] == UNCHANGED + len(orders)
            assert nurse.bed(bed).record.assessed_at == eight.now, bed
        assert isinstance(nurse.app.screen, RoundEnd)
        assert "7 same as before, 1 recorded anew, 0 not yet" in nurse.screen
        assert sum(spent) <= 7 * UNCHANGED + CHANGED + 8


async def test_an_admission_in_few_keys(opened, eight):
    """Bed, initials, seven facts, ten moves, saved: the new patient is the nurse's own and has a level."""
    async with opened() as nurse:
        spent = await keys_of(nurse, "n", "2", "5", "enter", "a", "q", "enter")
        spent += await keys_of(nurse, *"arcsswb", *"i" * 10, "ctrl+s")
        assert spent <= ADMISSION
        view = nurse.bed("5N-25")
        assert (view.assignment, view.label) == ("JN", "aq")
        assert not set(view.plan.not_assessed) & {*all_deciding(view)}
        assert view.plan.shown_level is not Level.REMAIN


async def test_a_fall_comes_first_and_its_next_step_is_one_key_away(opened, eight):
    """All beds: the one that fell stands first, says do not move and what goes on, whole, at 80 by 24."""
    async with opened() as nurse:
        for key in ("r", "m", "a"):
            await nurse.press(key)
        assert "5N-17 YR   bed 1 of 24" in nurse.screen
        head = nurse.screen.split("Last record")[0]
        assert "DO NOT MOVE" in head
        assert "F goes on with it" in head
        await nurse.press("a")
        assert isinstance(nurse.app.screen, Fall)


async def test_a_late_head_observation_is_the_next_step_where_nothing_else_is_asked(opened, eight):
    """The fall is over, head observations are not: A asks what was seen."""
    async with opened() as nurse:
        for key in ("r", "m", "a"):
            await nurse.press(key)
        screen = nurse.app.screen
        watch = replace(screen.view.plan.head_observations, late=True)
        plan = replace(screen.view.plan, after_fall=None, head_observations=watch)
        screen.view, screen.asked = replace(screen.view, plan=plan), ()
        screen.paint()
        assert "Head: due" in nurse.screen
        await nurse.press("a")
        assert isinstance(nurse.app.screen, Choose)
        assert "head observation due" in nurse.screen
