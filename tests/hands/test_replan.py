"""Planned again from now: what has begun stays, what was not done is asked for again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from mobicard.facts import Record
from mobicard.facts.words import Level, Task
from mobicard.hands.day import plan_day
from mobicard.hands.moves_asked import BedNeed
from mobicard.hands.replan import nearest_free, replan, taken_by_fall
from mobicard.hands.schedule import DayPlan, Placed
from mobicard.hands.supply import Supply, Taken
from mobicard.hands.ticks import HowFar, Tick, last_ticks, progress
from tests.hands.made import POLICY, SHIFT, START, at, broken, lift, need, person, without_staff

CHAIR = [{"task": "chair", "times_per_shift": 3}]


def unit() -> tuple[list[BedNeed], Supply]:
    """Four beds: one by lift, two by two people, one by one; five people, one lift."""
    needs = [
        need("4W-01A", Level.HOIST, {Task.TURN: Level.TEAM}, turn_every_h=2, goals=CHAIR),
        need("4W-02A", Level.TEAM, turn_every_h=2, goals=CHAIR),
        need("4W-03A", Level.TEAM, turn_every_h=2),
        need("4W-04A", Level.LINK, goals=[{"task": "walk", "times_per_shift": 3}]),
    ]
    return needs, Supply(tuple(person(f"P{n}", "nurse") for n in range(1, 6)), (lift("lift"),))


def made(needs: list[BedNeed], supply: Supply) -> DayPlan:
    return plan_day(needs, supply, POLICY, SHIFT, START, solver=False)


def again(before: DayPlan, needs: list[BedNeed], supply: Supply, now: str, **more: object) -> DayPlan:
    return replan(before, needs, supply, POLICY, at(now), solver=False, **more)  # type: ignore[arg-type]


def by_id(plan: DayPlan) -> dict[str, Placed]:
    return {item.move.id: item for item in plan.placed}


def ticked(plan: DayPlan, until: str) -> list[Tick]:
    """Every move that was over by then, ticked as reached."""
    return [Tick.of(p.move, HowFar.REACHED, p.end) for p in plan.placed if p.end <= at(until)]


def test_nothing_new_changes_nothing() -> None:
    """Same beds, same people, all ticked: the rest of the day stands as it was."""
    needs, supply = unit()
    before = made(needs, supply)
    after = again(before, needs, supply, "11:00", ticks=ticked(before, "11:00"))
    for name, item in by_id(before).items():
        assert (by_id(after)[name].start, by_id(after)[name].people) == (item.start, item.people)
    assert not [line for line in after.problems if "not ticked" in line]


def test_the_solver_keeps_the_rest_of_the_day_too() -> None:
    """With the solver, one person leaving at 11:00 moves only what that person had."""
    needs, supply = unit()
    before = made(needs, supply)
    after = replan(before, needs, without_staff(supply, "P1", at("11:00")), POLICY, at("11:00"), limit_s=4)
    kept = [p for p in before.placed if "P1" not in p.people or p.start < at("11:00")]
    assert all(by_id(after)[p.move.id].start == p.start for p in kept)
    assert all("P1" not in p.people for p in after.placed if p.start >= at("11:00"))
    assert after.waiting == ()


def test_what_has_begun_stays() -> None:
    """A move begun at the moment of the re-plan keeps its time and people, whoever leaves."""
    needs, supply = unit()
    before = made(needs, supply)
    begun = next(p for p in before.placed if p.start > at("09:00"))
    now = begun.start
    gone = without_staff(supply, begun.people[0], now)
    after = replan(before, needs, gone, POLICY, now, solver=False)
    assert by_id(after)[begun.move.id].people == begun.people
    assert by_id(after)[begun.move.id].fixed


def test_a_move_nobody_ticked_is_not_taken_as_done() -> None:
    """Past and unticked: named, with its time."""
    needs, supply = unit()
    before = made(needs, supply)
    first = before.placed[0]
    after = again(before, needs, supply, "09:00")
    said = f"{first.move.bed} {first.move.says} at {first.start:%H:%M}: not ticked; ask whether it was done"
    assert said in after.problems


def test_a_move_ticked_not_is_asked_for_again_while_there_is_time() -> None:
    """Not walked at the first try, window still open: planned again; window closed: it waits and says why."""
    needs, supply = unit()
    before = made(needs, supply)
    walk = by_id(before)["4W-04A walk 1"]
    tick = [Tick.of(walk.move, HowFar.NOT, walk.end, "too dizzy")]
    soon = again(before, needs, supply, f"{walk.end:%H:%M}", ticks=tick)
    assert by_id(soon)["4W-04A walk 1"].start >= walk.end
    late = again(before, needs, supply, f"{walk.move.latest:%H:%M}", ticks=tick)
    (waits,) = [item for item in late.waiting if item.move.id == "4W-04A walk 1"]
    assert waits.says == "not done: too dizzy"


def test_a_level_that_rises_takes_more_hands_from_now_on() -> None:
    """LINK to TEAM at 11:00: walks still to come take two, the one begun before took one."""
    needs, supply = unit()
    before = made(needs, supply)
    worse = [*needs[:3], need("4W-04A", Level.TEAM, goals=[{"task": "walk", "times_per_shift": 3}])]
    after = again(before, worse, supply, "11:00", ticks=ticked(before, "11:00"))
    walks = [p for p in after.placed if p.move.task is Task.WALK]
    assert {len(p.people) for p in walks if p.start < at("11:00")} == {1}
    assert {len(p.people) for p in walks if p.start >= at("11:00")} == {2}


def test_who_is_up_gets_back_even_when_the_goal_is_gone() -> None:
    """Up in the chair when the plan turns to "do not move": named, and the nurse is to be asked."""
    needs, supply = unit()
    before = made(needs, supply)
    up = by_id(before)["4W-02A chair 1"]
    stays = [need("4W-02A", Level.REMAIN) if n.record.bed == "4W-02A" else n for n in needs]
    after = again(before, stays, supply, f"{up.end:%H:%M}")
    assert any("4W-02A: up in the chair since" in line and "ask the nurse" in line for line in after.problems)
    same = again(before, needs, supply, f"{up.end:%H:%M}")
    assert "4W-02A chair 1 back" in by_id(same)


def test_who_was_not_got_up_needs_no_way_back() -> None:
    """Chair ticked "not" once its window has closed: no way back is planned."""
    needs, supply = unit()
    before = made(needs, supply)
    up = by_id(before)["4W-02A chair 1"]
    tick = [Tick.of(up.move, HowFar.NOT, up.end, "refused")]
    after = again(before, needs, supply, f"{up.move.latest:%H:%M}", ticks=tick)
    assert "4W-02A chair 1 back" not in by_id(after)


def test_a_fall_takes_two_people_away_for_a_while() -> None:
    """Two of five gone for 30 min (policy): no move of theirs in that time, all rules kept."""
    needs, supply = unit()
    before = made(needs, supply)
    names = nearest_free(before, supply, at("11:31"), POLICY.fall_people)
    taken = taken_by_fall(names, at("11:31"), POLICY)
    after = again(before, needs, supply, "11:31", taken=taken, ticks=ticked(before, "11:31"))
    assert len(names) == 2
    for item in after.placed:
        if at("11:31") < item.start < at("12:01"):
            assert not set(item.people) & set(names)
    assert broken(replace(after, placed=tuple(p for p in after.placed if not p.fixed)), supply, POLICY) == []
    assert f"{names[0]}: with a patient who fell, 11:31-12:01" in after.problems


def test_who_left_stays_away_in_the_next_plan_too() -> None:
    """P1 leaves at 11:00; planned again at 13:00 from the plan as written down, P1 is still not there."""
    needs, supply = unit()
    left = [Taken("P1", at("11:00"), SHIFT.end, "has left")]
    first = again(made(needs, supply), needs, supply, "11:00", taken=left)
    second = again(DayPlan.from_json(first.as_json()), needs, supply, "13:00")
    assert not [p for p in second.placed if "P1" in p.people and p.start > at("11:00")]
    assert "P1: has left, 11:00-19:00" in second.problems


def test_a_round_ticked_in_the_shift_does_not_rename_the_rounds() -> None:
    """A turn ticked at 08:20 may not shift the names of the rounds to come; none is lost."""
    needs, supply = unit()
    before = made(needs, supply)
    later = [replace(one, last_turn=at("08:20")) for one in needs]
    after = again(before, later, supply, "11:00", ticks=ticked(before, "11:00"))
    assert sorted(move.id for move in after.moves) == sorted(move.id for move in before.moves)


def test_progress_counts_times_up_not_ways_back() -> None:
    """A way back does not count as a time up; a move not done says why; a later tick corrects."""
    record = Record.model_validate(
        {
            "bed": "4W-01A",
            "goals": [*CHAIR, {"task": "walk", "times_per_shift": 2}, {"task": "turn", "times_per_shift": 1}],
        }
    )
    ticks = [
        Tick("4W-01A chair 1", Task.CHAIR, HowFar.REACHED, at("08:10")),
        Tick("4W-01A chair 1 back", Task.CHAIR, HowFar.REACHED, at("09:30"), part="back"),
        Tick("4W-01A walk 1", Task.WALK, HowFar.REACHED, at("10:00")),
        Tick("4W-01A walk 1", Task.WALK, HowFar.NOT, at("10:05"), "ticked by mistake"),
        Tick("4W-01A turn 1", Task.TURN, HowFar.PARTLY, at("10:10"), "half turn"),
    ]
    chair, walk, turn = progress(record, ticks, START)
    assert (chair.done, chair.wanted, chair.state) == (1, 3, "partly")
    assert (walk.done, walk.state, walk.why_not) == (0, "not", ("ticked by mistake",))
    assert (turn.state, turn.says) == ("partly", "turn 0 of 1, 1 in part; not: half turn")
    assert last_ticks(ticks)["4W-01A walk 1"].outcome is HowFar.NOT


def test_a_tick_survives_the_ledger_and_asks_for_its_reason() -> None:
    needs, supply = unit()
    move = made(needs, supply).placed[0].move
    tick = Tick.of(move, HowFar.PARTLY, at("09:00"), "tired")
    assert Tick.from_body(tick.as_json()) == tick
    with pytest.raises(ValueError, match="say why"):
        Tick.of(move, HowFar.NOT, at("09:00"), "  ")
