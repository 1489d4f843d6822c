"""What the shift asks for: windows around meals, turns never late, none in the handoff."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.derive.model import AfterFall
from mobicard.facts.words import Level, Task
from mobicard.hands.moves_asked import BedNeed, MovesAsked, moves_asked
from mobicard.hands.schedule import Move
from mobicard.hands.supply import Span
from mobicard.rules.policy import Policy
from tests.hands.made import POLICY, SHIFT, START, at, need, plan, policy


def ask(*needs: BedNeed, shift: Span = SHIFT) -> MovesAsked:
    return moves_asked(needs, POLICY, shift)


def windows(moves: list[Move], task: Task, part: str = "") -> list[tuple[str, str]]:
    return [(f"{m.earliest:%H:%M}", f"{m.latest:%H:%M}") for m in moves if m.task is task and m.part == part]


def test_turns_come_every_interval_and_never_late() -> None:
    """Turned last at 06:00, every 2 h: windows end at 08:00, 10:00 ...; 30 min early by policy."""
    got = ask(replace(need("4W-01A", Level.TEAM, turn_every_h=2), last_turn=at("06:00")))
    assert windows(got.moves, Task.TURN)[:3] == [("07:30", "08:00"), ("09:30", "10:00"), ("11:30", "12:00")]


@pytest.mark.parametrize(("last", "asked"), [("17:00", True), ("17:01", False)])
def test_a_turn_due_as_the_shift_ends_is_still_this_shifts(last: str, asked: bool) -> None:
    """The shift ends at 19:00; turned every 2 h, the next is due then, or a minute after it."""
    bed = replace(need("4W-01A", Level.TEAM, turn_every_h=2), last_turn=at(last))
    got = ask(bed, shift=Span(at("17:30"), SHIFT.end))
    assert bool(windows(got.moves, Task.TURN)) is asked


def test_a_last_turn_nobody_recorded_is_not_taken_as_recent() -> None:
    """Unknown last turn: the first comes within the hour after the handoff, not a whole interval later."""
    got = ask(need("4W-01A", Level.TEAM, turn_every_h=4))
    assert windows(got.moves, Task.TURN)[0] == ("08:00", "08:30")


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([1, 1.5, 2, 3, 4, 6]),
    st.integers(0, 3),
    st.integers(0, 240),
    st.sampled_from(["4W-01A", "4W-02A", "4W-03B"]),
)
def test_no_position_is_held_longer_than_the_interval_asks(
    every: float, times: int, ago: int, bed: str
) -> None:
    """From one change of position to the next at most interval + early, even if each comes at its worst.

    A turn, getting up and going back to bed are changes; in the chair the policy's sitting limit holds.
    """
    goals = [{"task": "chair", "times_per_shift": times}] if times else []
    one = replace(
        need(bed, Level.TEAM, turn_every_h=every, goals=goals), last_turn=START - timedelta(minutes=ago)
    )
    got = ask(one)
    changes = sorted(
        ((m.earliest, m.latest, m.part or m.task.value) for m in got.moves), key=lambda item: item[1]
    )
    early = min(timedelta(minutes=POLICY.turn_early_min), timedelta(hours=every) / 2)
    free = at("07:30") + early  # due in the handoff: right after it
    last = START - timedelta(minutes=ago)
    for first, latest, kind in changes:
        if kind != "back":
            assert latest <= max(last + timedelta(hours=every) + early, free)
        last = first


def test_chair_for_a_meal_is_up_before_and_back_after() -> None:
    """Three a day: up in the hour before each meal, back 30 to 90 min after it began; none in the handoff."""
    got = ask(need("4W-01A", Level.LINK, goals=[{"task": "chair", "times_per_shift": 3}]))
    assert windows(got.moves, Task.CHAIR) == [("07:30", "08:30"), ("11:30", "12:30"), ("16:30", "17:30")]
    assert windows(got.moves, Task.CHAIR, "back") == [
        ("09:00", "10:00"),
        ("13:00", "14:00"),
        ("18:00", "19:00"),
    ]


def test_more_chair_than_meals_is_said() -> None:
    """Four wanted, three meals: three asked for, the fourth named."""
    got = ask(need("4W-01A", Level.LINK, goals=[{"task": "chair", "times_per_shift": 4}]))
    assert len(windows(got.moves, Task.CHAIR)) == 3
    assert "1 more x chair wanted than the 3 meals" in got.problems[0]


def test_walks_share_the_day_and_miss_the_meals() -> None:
    """Two walks: one in each half, no window over a tray time."""
    got = ask(need("4W-01A", Level.LINK, goals=[{"task": "walk", "times_per_shift": 2}]))
    walks = [m for m in got.moves if m.task is Task.WALK]
    assert len(walks) == 2
    for walk in walks:
        for meal in ("08:30", "12:30", "17:30"):
            assert walk.latest <= at(meal) or walk.earliest >= at(meal) + timedelta(minutes=30)


def test_the_night_keeps_its_quiet() -> None:
    """19:00 to 07:00: a walk lies before 22:00 or after 06:00; chairs have no meal, which is said."""
    night = Span(at("19:00"), at("19:00") + timedelta(hours=12))
    goals = [{"task": "walk", "times_per_shift": 1}, {"task": "chair", "times_per_shift": 1}]
    got = moves_asked([need("4W-01A", Level.LINK, goals=goals)], POLICY, night)
    (walk,) = got.moves
    assert walk.latest <= at("22:00")
    assert "no meal falls in this shift" in got.problems[0]


def test_nothing_but_a_booked_move_lies_in_the_handoff() -> None:
    """A transport booked at 07:20 stands; everything else waits for 07:30."""
    booked = [{"task": "stretcher", "at": "2026-03-02T07:20", "note": "scan"}]
    goals = [{"task": "chair", "times_per_shift": 3}, {"task": "walk", "times_per_shift": 3}]
    got = ask(need("4W-01A", Level.TEAM, turn_every_h=1, toilet_every_h=2, goals=goals, appointments=booked))
    early = [m for m in got.moves if m.earliest < at("07:30")]
    assert [(m.task, m.latest, m.why) for m in early] == [(Task.STRETCHER, at("07:20"), "booked 07:20, scan")]


def test_helpers_are_the_plans_and_one_standing_by_counts() -> None:
    """NEARBY sends one person, TEAM two, SELF nobody; nobody sent is said, not silent."""
    goals = [{"task": "walk", "times_per_shift": 1}]
    got = ask(
        need("4W-01A", Level.NEARBY, goals=goals),
        need("4W-02A", Level.TEAM, goals=goals),
        need("4W-03A", Level.SELF, goals=goals),
    )
    assert {m.bed: m.helpers for m in got.moves} == {"4W-01A": 1, "4W-02A": 2}
    assert got.on_their_own == ["4W-03A: walk: moves without help (goal: walk 1 of 1)"]


def test_a_bed_nobody_may_move_is_named_and_not_asked_for() -> None:
    """No plan, an expired plan, a patient after a fall, nothing cleared: four beds named, no move."""
    rounds = {"turn_every_h": 2}
    fell = AfterFall("do_not_move", "wait for the responders", (), ())
    expired = need("4W-02A", Level.TEAM, None, **rounds)
    after = need("4W-03A", Level.TEAM, None, **rounds)
    assert expired.plan
    assert after.plan
    got = ask(
        replace(need("4W-01A", Level.TEAM, None, **rounds), plan=None),
        replace(expired, plan=replace(expired.plan, expired=True)),
        replace(after, plan=replace(after.plan, after_fall=fell)),
        need("4W-04A", Level.REMAIN, None, **rounds),
    )
    assert got.moves == []
    assert [line[:6] for line in got.not_asked] == ["4W-01A", "4W-02A", "4W-03A", "4W-04A"]
    assert all("no move is planned" in line for line in got.not_asked)


def test_bed_rest_still_gets_its_turns() -> None:
    """Chair at REMAIN, turns at TEAM: turned every 2 h, the chair goal named as not planned."""
    goals = [{"task": "chair", "times_per_shift": 2}]
    got = ask(need("4W-01A", Level.REMAIN, {Task.TURN: Level.TEAM}, turn_every_h=2, goals=goals))
    assert {m.task for m in got.moves} == {Task.TURN}
    assert len(got.not_asked) == 1
    assert "up to chair not planned" in got.not_asked[0]


def test_a_plan_that_lapses_in_the_shift_marks_its_later_moves() -> None:
    """Valid until 12:00: moves that may end later say by when to assess again; earlier ones do not."""
    one = need("4W-01A", Level.TEAM, None, turn_every_h=2)
    short = BedNeed(one.record, plan("4W-01A", Level.TEAM, valid=at("12:00")))
    marks = {f"{m.latest:%H:%M}": m.reassess_by for m in ask(short).moves}
    assert marks["10:30"] is None
    assert marks["12:30"] == at("12:00")


def test_a_bed_listed_twice_is_named_and_planned_once() -> None:
    got = ask(need("4W-01A", Level.TEAM, turn_every_h=4), need("4W-01A", Level.TEAM, turn_every_h=4))
    assert got.problems == ["4W-01A: listed twice; planned once"]
    assert len({m.id for m in got.moves}) == len(got.moves)


@pytest.mark.parametrize("figure", ["minutes", "waits_last"])
def test_a_policy_without_a_tasks_figure_is_refused(figure: str) -> None:
    """A facility's own table must name every task and level it drops from the default."""
    told = Policy().hands.model_dump(mode="json")
    del told[figure]["turn"]
    with pytest.raises(ValueError, match="need a line for turn"):
        type(POLICY).model_validate(told)


def test_a_facilitys_minutes_are_used() -> None:
    """Twenty minutes for a turn by two: the move takes twenty."""
    told = policy(minutes={"turn": {"TEAM": 20}})
    got = moves_asked([need("4W-01A", Level.TEAM, turn_every_h=4)], told, SHIFT)
    assert {m.minutes for m in got.moves} == {20}
