"""The handoff by keyboard: the gravest first, why opens, a bed a screen or all, reading noted."""

from __future__ import annotations

from mobicard import scheme
from mobicard.derive.handing_over.gravity import sickest_first
from mobicard.derive.over_time.handoff_values import DueItem
from mobicard.paper.handoff.ranked import see_first
from mobicard.terminal.board.screen import Board
from mobicard.terminal.handoff.lines import due_line
from mobicard.terminal.handoff.screen import HandoffReader
from mobicard.terminal.widgets.reason_list import ReasonList
from tests.terminal.staff import signed_in

HOUSE = scheme.load()


async def go_handoff(nurse) -> HandoffReader:
    """From the Board to the handoff."""
    await nurse.press("h")
    screen = nurse.app.screen
    assert isinstance(screen, HandoffReader)
    return screen


def ranked(nurse) -> list[str]:
    """The beds in the paper's rank."""
    return [line.bed for line in sorted(nurse.ward.handoff().beds, key=lambda one: sickest_first(one.plan))]


def mark(nurse, line: str) -> None:
    """Put the mark on this line."""
    shown = nurse.app.screen.query_one(ReasonList)
    shown.highlighted = shown.get_option_index(line)


async def test_beds_are_ranked_as_on_paper_the_gravest_first(opened):
    """The first line is the bed seen first; the list of every bed, and bed by bed, go by the same rank."""
    async with opened(size=(120, 220)) as nurse:
        reader = await go_handoff(nurse)
        order = ranked(nurse)
        assert order != sorted(order)
        every = nurse.screen.split("Every bed")[1]
        assert sorted(order, key=every.index) == order
        seen = [one.bed for one in see_first(nurse.ward.handoff().beds, HOUSE, nurse.ward.now)]
        assert seen
        first = nurse.screen.split("See first")[1].split("Changed since")[0]
        assert [bed for bed in sorted(order) if bed in first] == sorted(seen)
        await nurse.press("right")
        assert reader.open_bed == order[0]
        await nurse.press("right")
        assert reader.open_bed == order[1]


async def test_who_is_seen_first_then_changes_then_due_then_helpers_then_beds(opened):
    """The parts in their order; every changed bed, every bed in its line."""
    async with opened(size=(120, 220)) as nurse:
        await go_handoff(nurse)
        shown = nurse.screen
        heads = ["See first", "Changed since", "Due and overdue", "Two or more helpers", "Every bed"]
        places = [shown.index(head) for head in heads]
        assert places == sorted(places)
        handoff = nurse.ward.handoff()
        changed = shown[places[1] : places[2]]
        for bed in handoff.changed:
            assert bed.bed in changed
        every = shown[places[4] :]
        for line in handoff.beds:
            assert line.bed in every
        for demand in handoff.demands:
            assert demand.bed in shown[places[3] : places[4]]


async def test_why_opens_under_a_change(opened):
    """Enter on a difference: the rule, the facts, the source."""
    async with opened(size=(120, 60)) as nurse:
        await go_handoff(nurse)
        handoff = nurse.ward.handoff()
        change = handoff.changed[0].differences[0]
        mark(nurse, f"changed.{handoff.changed[0].bed}.0")
        await nurse.press("enter")
        assert f"[{change.why[0].rule}]" in nurse.screen
        await nurse.press("enter")
        assert f"[{change.why[0].rule}]" not in nurse.screen


async def test_a_bed_a_screen(opened):
    """Right: one bed with its changes, goals, course and card; right again the next; Esc all of it again."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        order = ranked(nurse)
        mark(nurse, "bed.5N-01")
        await nurse.press("v")
        assert f"5N-01 RA  bed {order.index('5N-01') + 1} of 24, in the hands of JN" in nurse.screen
        assert "Goals this shift: walk 0 of 3 times" in nurse.screen
        assert "Level over the stay: ◦S ◦S ◦S" in nurse.screen
        await nurse.press("left")
        assert f"bed {order.index('5N-01')} of 24" in nurse.screen
        await nurse.press("escape")
        assert nurse.app.screen is reader
        assert "See first" in nurse.screen
        await nurse.press("escape")
        assert isinstance(nurse.app.screen, Board)


async def test_v_opens_the_bed_under_the_mark(opened):
    """V on a bed's line opens that bed."""
    async with opened() as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("end", "v")
        assert reader.open_bed == ranked(nurse)[-1]


async def test_reading_is_noted_and_goes_on(opened):
    """R: in the ledger that JN has read this bed, when; the next one shows, and the count goes up."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("right", "r")
        first, second = ranked(nurse)[:2]
        assert nurse.bed(first).read_by == {"JN": nurse.ward.now}
        assert reader.open_bed == second
        assert "You have read 1 of 24" in nurse.screen
        await nurse.press("left")
        assert "Read by JN 02 Mar 08:00" in nurse.screen


async def test_reading_all_of_ones_beds(opened):
    """B and a figure for whose beds, A and Y: each of them is noted, no other."""
    async with opened(size=(100, 40)) as nurse:
        await go_handoff(nurse)
        await nurse.press("m", "2")
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
        assert list(nurse.bed(ranked(nurse)[0]).read_by) == ["RR"]


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


def open_bed(reader):
    """The line of the bed that is open."""
    return next(line for line in reader.handoff.beds if line.bed == reader.open_bed)


async def test_a_question_is_left_open_and_settled(opened):
    """Q: N writes one; the bed's lines and the due list show it; its figure settles it."""
    async with opened(size=(100, 40)) as nurse:
        reader = await go_handoff(nurse)
        await nurse.press("right", "u", "n")
        await nurse.type("which knee?")
        await nurse.press("enter")
        assert [one.says for one in open_bed(reader).questions] == ["which knee?"]
        assert "which knee?" in nurse.screen
        await nurse.press("u", "1")
        assert open_bed(reader).questions == ()
