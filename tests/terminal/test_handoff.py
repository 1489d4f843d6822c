"""The handoff by keyboard: changes first, why opens, a bed a screen or all, reading noted."""

from __future__ import annotations

from mobicard.derive.over_time.handoff_values import DueItem
from mobicard.terminal.board.screen import Board
from mobicard.terminal.handoff.lines import due_line
from mobicard.terminal.handoff.screen import HandoffReader
from mobicard.terminal.widgets.reason_list import ReasonList
from tests.terminal.staff import signed_in


async def go_handoff(nurse) -> HandoffReader:
    """From the Board to the handoff."""
    await nurse.press("h")
    screen = nurse.app.screen
    assert isinstance(screen, HandoffReader)
    return screen


async def test_changes_come_first_then_due_then_helpers_then_beds(opened):
    """The four parts in their order; every changed bed, every bed in its line."""
    async with opened(size=(120, 220)) as nurse:
        await go_handoff(nurse)
        shown = nurse.screen
        heads = ["Changed since", "Due and overdue", "Two or more helpers", "Every bed"]
        places = [shown.index(head) for head in heads]
        assert places == sorted(places)
        handoff = nurse.ward.handoff()
        changed = shown[places[0] : places[1]]
        for bed in handoff.changed:
            assert bed.bed in changed
        every = shown[places[3] :]
        for line in handoff.beds:
            assert line.bed in every
        for demand in handoff.demands:
            assert demand.bed in shown[places[2] : places[3]]


async def test_why_opens_under_a_change(opened):
    """Enter on a difference: the rule, the facts, the source."""
    async with opened(size=(120, 60)) as nurse:
        await go_handoff(nurse)
        handoff = nurse.ward.handoff()
        change = handoff.changed[0].differences[0]
        await nurse.press("down", "down", "enter")
        assert f"[{change.why[0].rule}]" in nurse.screen
        await nurse.press("enter")
        assert f"[{change.why[0].rule}]" not in nurse.screen


async def test_a_bed_a_screen(opened):
    """Right: one bed with its changes, goals, course and card; right again the next; Esc all of it again."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("right")
        assert "5N-01 RA  bed 1 of 24, in the hands of JN" in nurse.screen
        assert "Goals this shift: walk 0 of 3" in nurse.screen
        assert "Level over the stay: ◦S ◦S ◦S" in nurse.screen
        await nurse.press("right")
        assert "bed 2 of 24" in nurse.screen
        assert "LINK ->" in nurse.screen
        await nurse.press("escape")
        assert nurse.app.screen is reader
        assert "Due and overdue" in nurse.screen
        await nurse.press("escape")
        assert isinstance(nurse.app.screen, Board)


async def test_v_opens_the_bed_under_the_mark(opened):
    """V on a bed's line opens that bed."""
    async with opened() as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("end", "v")
        assert reader.open_bed == "5N-24"


async def test_reading_is_noted_and_goes_on(opened):
    """R: in the ledger that JN has read this bed, when; the next one shows, and the count goes up."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("right", "r")
        assert nurse.bed("5N-01").read_by == {"JN": nurse.ward.now}
        assert reader.open_bed == "5N-02"
        assert "You have read 1 of 24" in nurse.screen
        await nurse.press("left")
        assert "Read by JN 02 Mar 08:00" in nurse.screen


async def test_reading_all_of_ones_beds(opened):
    """B and a figure for whose beds, A and Y: each of them is noted, no other."""
    async with opened(size=(100, 40)) as nurse:
        await go_handoff(nurse)
        await nurse.press("b", "2")
        assert "Handoff of beds of JN" in nurse.screen
        await nurse.press("a", "y")
        read = {view.bed for view in nurse.ward.board() if "JN" in view.read_by}
        assert read == {f"5N-0{number}" for number in range(1, 7)}
        assert "You have read 6 of 6" in nurse.screen


async def test_a_reader_may_read_and_take_over(opened, ward):
    """The reader's role is enough; the entry carries the reader's initials."""
    signed_in(ward, "reader")
    async with opened() as nurse:
        await go_handoff(nurse)
        await nurse.press("right", "r")
        assert list(nurse.bed("5N-01").read_by) == ["RR"]


async def test_moves_of_one_change_are_named(opened):
    """A difference names every move it holds for."""
    async with opened(size=(160, 60)) as nurse:
        await go_handoff(nurse)
        bed = next(one for one in nurse.ward.handoff().changed if one.differences[0].tasks)
        names = [task.value.replace("_", " ") for task in bed.differences[0].tasks]
        assert ", ".join(names).lower() in nurse.screen.lower()
        assert nurse.app.screen.query_one(ReasonList).option_count > 30


def test_a_conflict_is_open_not_late():
    """Nothing about a conflict has an hour to be late by; an assessment that is overdue has."""
    kinds = ("conflict", "assessment")
    open_, late = (due_line(DueItem(("5N-01",), kind, "says", None, True), 0) for kind in kinds)
    assert open_.parts[0][0] == "OPEN conflict: "
    assert late.parts[0][0] == "LATE assessment: "


async def test_since_another_time(opened):
    """S, T, a time: the heading says since when, and what changed since then; a wrong time is refused."""
    async with opened(size=(100, 40)) as nurse:
        await nurse.press("h")
        assert "Changed since 02 Mar 07:00" in nurse.screen
        await nurse.press("s", "t")
        await nurse.type("05:30")
        await nurse.press("enter")
        assert "Changed since 02 Mar 05:30" in nurse.screen
        await nurse.press("s", "t")
        await nurse.type("soon")
        await nurse.press("enter")
        assert "is no time" in nurse.screen
        await nurse.press("s", "s")
        assert "Changed since 02 Mar 05:30" not in nurse.screen


async def test_a_question_is_left_open_and_settled(opened):
    """Q: N writes one; the bed's lines and the due list show it; its figure settles it."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("right", "u", "n")
        await nurse.type("which knee?")
        await nurse.press("enter")
        assert [one.says for one in reader.handoff.beds[0].questions] == ["which knee?"]
        assert "which knee?" in nurse.screen
        await nurse.press("u", "1")
        assert reader.handoff.beds[0].questions == ()
