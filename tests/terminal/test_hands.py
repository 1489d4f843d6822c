"""The timeline of the shift's moves: read by person or bed, ticked by key, planned again."""

from __future__ import annotations

from collections.abc import Sequence

from mobicard.facts.words import Level
from mobicard.hands.day import plan_day
from mobicard.hands.replan import replan
from mobicard.hands.schedule import DayPlan, Move
from mobicard.hands.supply import Supply
from mobicard.hands.ticks import HowFar, Tick
from mobicard.terminal.brief.screen import BriefScreen
from mobicard.terminal.hands.screen import HandsScreen
from mobicard.ward import Clock
from tests.hands.made import POLICY, SHIFT, START, at, lift, need, person, without_staff


class Source:
    """A plan of two beds kept in memory."""

    def __init__(self) -> None:
        self.needs = [
            need("5N-01", Level.TEAM, turn_every_h=2),
            need("5N-02", Level.LINK, goals=[{"task": "walk", "times_per_shift": 2}]),
        ]
        self.told: list[Tick] = []
        self.now = plan_day(self.needs, self.supply(), POLICY, SHIFT, START, solver=False)

    def plan(self) -> DayPlan:
        return self.now

    def supply(self) -> Supply:
        return Supply((person("JN", "nurse", ["5N-01"]), person("AB", "aide")), (lift("lift"),))

    def ticks(self) -> Sequence[Tick]:
        return self.told

    def tick(self, move: Move, outcome: HowFar, why: str) -> None:
        self.told.append(Tick.of(move, outcome, at("08:00"), why))

    def replan(self) -> DayPlan:
        gone = without_staff(self.supply(), "AB", at("12:00"))
        self.now = replan(self.now, self.needs, gone, POLICY, at("12:00"), ticks=self.told, solver=False)
        return self.now


async def _open(nurse, source: Source) -> HandsScreen:  # type: ignore[no-untyped-def]
    screen = HandsScreen(source)
    nurse.app.push_screen(screen)
    await nurse.settle()
    return screen


async def test_the_timeline_fits_80_columns_and_names_everybody(opened) -> None:  # type: ignore[no-untyped-def]
    """A line each for JN and AB with turns and walks, the marked line's moves below, nothing cut off."""
    async with opened(size=(80, 24)) as nurse:
        await _open(nurse, Source())
        assert "every one in its time. Hands and lifts suffice." in nurse.screen
        lines = nurse.screen.splitlines()
        jn = next(line for line in lines if line.startswith("JN"))
        assert "T" in jn
        assert "." in jn
        assert any("5N-01" in line and "turn" in line and "JN+AB" in line for line in lines)
        assert max(len(line) for line in lines) <= 80


async def test_v_turns_the_lines_to_beds_and_back(opened) -> None:  # type: ignore[no-untyped-def]
    async with opened(size=(80, 24)) as nurse:
        await _open(nurse, Source())
        await nurse.press("v")
        starts = [line.split(" ")[0] for line in nurse.screen.splitlines()]
        assert {"5N-01", "5N-02"} <= set(starts)
        await nurse.press("v")
        assert "JN" in [line.split(" ")[0] for line in nurse.screen.splitlines()]


async def test_d_ticks_the_first_open_move_and_the_mark_moves_on(opened) -> None:  # type: ignore[no-untyped-def]
    """D: done, written to the source, shown, and the next move is marked."""
    source = Source()
    async with opened(size=(80, 24)) as nurse:
        screen = await _open(nurse, source)
        first = screen.marked
        await nurse.press("y")
        assert [(tick.move, tick.outcome) for tick in source.told] == [(first.move.id, HowFar.REACHED)]
        assert screen.marked.move.id != first.move.id
        assert "done" in nurse.screen


async def test_n_asks_why_and_takes_no_empty_answer(opened) -> None:  # type: ignore[no-untyped-def]
    """N: without a reason nothing is written; with one it is."""
    source = Source()
    async with opened(size=(80, 24)) as nurse:
        await _open(nurse, source)
        await nurse.press("n", "enter")
        assert source.told == []
        await nurse.type("asleep")
        await nurse.press("enter")
        assert [(tick.outcome, tick.why) for tick in source.told] == [(HowFar.NOT, "asleep")]
        assert "not done: asleep" in nurse.screen


async def test_r_plans_again_and_says_what_falls_short(opened) -> None:  # type: ignore[no-untyped-def]
    """AB leaves at 12:00: the two-person turns after that wait, and the screen says so first."""
    async with opened(size=(100, 30)) as nurse:
        await _open(nurse, Source())
        await nurse.press("r")
        assert "wait" in nurse.screen
        assert "1 person short; waits: 5N-01 turn" in " ".join(nurse.screen.split())


async def test_without_a_staff_list_it_says_who_keeps_it(opened) -> None:  # type: ignore[no-untyped-def]
    """A nurse is not asked to write a file: who looks after the station is."""
    async with opened(size=(80, 24)) as nurse:
        await nurse.press("t")
        says = " ".join(nurse.screen.split())
        assert "No plan: who is on duty is not known. Everything else works without it." in says
        assert "Whoever looks after mobicard on this unit keeps that list: staff.toml" in says


async def test_at_each_minute_the_plan_of_now(opened) -> None:  # type: ignore[no-untyped-def]
    """The ruler's time goes on and the mark stays; planned again at another station, it shows here."""
    async with opened() as nurse:
        source = Source()
        hands = await _open(nurse, source)
        await nurse.press("tab", "down")
        mark, first = hands.marked, hands.plan
        nurse.ward.clock = Clock.fixed(at("08:30"))
        await nurse.until(lambda: "08:30" in nurse.screen.splitlines()[0])
        await nurse.settle()
        assert (hands.marked, hands.plan) == (mark, first)
        source.replan()
        nurse.ward.clock = Clock.fixed(at("12:00"))
        await nurse.until(lambda: hands.plan == source.now)
        assert hands.plan != first


async def test_the_brief_of_the_marked_move_is_one_key_and_ticks_it(opened) -> None:  # type: ignore[no-untyped-def]
    """The people are those planned; how it went is kept under the plan's own move."""
    async with opened(size=(80, 24)) as nurse:
        screen = await _open(nurse, Source())
        marked = screen.marked
        assert marked is not None
        await nurse.press("b")
        brief = nurse.app.screen
        assert isinstance(brief, BriefScreen)
        assert {one.name for one in brief.people} == set(marked.people)
        await nurse.press("y")
        told = nurse.bed(marked.move.bed).ticks[-1]
        assert (told["move"], told["went"]) == (marked.move.id, "done")
