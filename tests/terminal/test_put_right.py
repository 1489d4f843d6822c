"""From the Board: a wrong entry withdrawn, an operation noted, a stay that had ended taken up again."""

from __future__ import annotations

from typing import Any

from mobicard.facts.words import Balance, Level
from mobicard.ward.reader.told import changed_facts


def told(nurse: Any) -> str:
    """What the screen says, without frames and line ends."""
    return " ".join(nurse.screen.replace("│", " ").split())


async def test_a_wrong_entry_is_withdrawn_by_name_and_reason(opened):
    """c shows what each entry changed, old -> new; Enter and a reason: what stood before stands again."""
    async with opened(size=(100, 40)) as nurse:
        view = nurse.bed("5N-01")
        was = view.record.standing
        wrong = Balance.UNABLE if was is not Balance.UNABLE else Balance.STEADY
        nurse.ward.save(view.stay, view.record.changed(standing=wrong.value), view.version)
        await nurse.press("c")
        assert f"standing: {was.value} -> {wrong.value}" in told(nurse)
        await nurse.press("enter", "enter")
        assert "what was wrong" in told(nurse)
        await nurse.type("other patient")
        await nurse.press("enter")
        assert nurse.bed("5N-01").record.standing is was
        await nurse.press("c")
        assert "WITHDRAWN" in told(nurse)
        assert "other patient" in told(nurse)


async def test_the_admission_cannot_be_withdrawn_and_says_what_to_do(opened):
    """Where the patient is, is put right by moving; nothing is asked or changed."""
    async with opened() as nurse:
        version = nurse.bed("5N-01").version
        await nurse.press("c", "end", "enter")
        assert "put right by moving" in told(nurse)
        assert nurse.bed("5N-01").version == version


async def test_after_an_operation_nobody_gets_up_until_looked_at_again(opened):
    """e and what was done: the bed's look counts no longer."""
    async with opened() as nurse:
        await nurse.press("e")
        await nurse.type("hip repair")
        await nurse.press("enter")
        view = nurse.bed("5N-01")
        assert view.record.operation.what == "hip repair"
        assert view.plan.shown_level is Level.REMAIN


async def test_a_patient_who_had_left_is_taken_up_again(opened):
    """x by mistake; u, the patient, the bed it had: the same stay is in it again."""
    async with opened() as nurse:
        stay = nurse.bed("5N-01").stay
        await nurse.press("x", "y", "u")
        assert "5N-01" in nurse.screen
        await nurse.press("1", "enter")
        assert nurse.bed("5N-01").stay == stay


async def test_with_nobody_gone_there_is_nobody_to_take_up(opened, empty_ward):
    """u on a unit nobody has left says so."""
    async with opened(over=empty_ward) as nurse:
        await nurse.press("u")
        assert "Nobody has left" in nurse.screen


async def test_a_move_names_the_patient_and_asks(opened):
    """v to a free bed: nothing happens on no."""
    async with opened() as nurse:
        stay = nurse.bed("5N-01").stay
        await nurse.press("v")
        assert nurse.bed("5N-01").label in nurse.screen
        await nurse.type("5n-77")
        await nurse.press("enter", "n")
        assert nurse.ward.find("5N-77") is None
        await nurse.press("v")
        await nurse.type("5n-77")
        await nurse.press("enter", "y")
        assert nurse.bed("5N-77").stay == stay


def test_a_changed_fact_says_absent_and_none_apart():
    """Not said is not none."""
    old = {"bed": "5N-01", "standing": "steady", "help": {"turn": "independent"}}
    new = {"bed": "5N-01", "standing": "unable", "help": {"turn": "independent"}, "lines": []}
    assert changed_facts(old, new) == ["standing: steady -> unable", "lines: not said -> none"]
    assert changed_facts({}, old) == ["standing: steady", "help, turn: independent"]
