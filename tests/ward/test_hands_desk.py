"""The day plan as the ward keeps it: shared through the ledger, ticked off, made anew when hands leave."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from mobicard.demo.unit import fill
from mobicard.hands.ticks import HowFar
from mobicard.ledger import Ledger
from mobicard.ward import Clock, Settings, Ward, WardRefused

STAFF = Path(__file__).parents[2] / "examples" / "hands" / "staff.toml"
EIGHT = datetime(2026, 3, 2, 8, 0)


@pytest.fixture
def unit(tmp_path: Path) -> Iterator[Ward]:
    """The invented unit at eight, with its people on duty."""
    with Ledger.open(f"sqlite:///{tmp_path / 'unit.sqlite'}") as ledger:
        settings = Settings.found(config_dir=tmp_path / "config", staff=STAFF)
        filling = Ward(ledger, settings, Clock.fixed(EIGHT), demo=True, drafts=tmp_path / "drafts")
        fill(filling, EIGHT)
        yield Ward(ledger, settings, Clock.fixed(EIGHT), by="JN", drafts=tmp_path / "drafts")


def test_another_station_sees_the_same_plan(unit: Ward, tmp_path: Path) -> None:
    """Made once, kept as an entry, read everywhere."""
    made = unit.hands.make(solver=False)
    other = Ward(unit.ledger, unit.settings, unit.clock, by="AB", drafts=tmp_path / "other")
    assert other.hands.plan() == made


def test_a_ticked_move_shows_as_progress_on_the_handoff(unit: Ward) -> None:
    """Reached counts towards the day's goal; not reached needs its reason."""
    plan = unit.hands.make(solver=False)
    walk = next(item.move for item in plan.by_time() if item.move.task == "walk")
    with pytest.raises(WardRefused, match="why"):
        unit.hands.tick(walk, HowFar.NOT)
    unit.hands.tick(walk, HowFar.REACHED)
    assert [tick.move for tick in unit.hands.ticks()] == [walk.id]
    handoff = unit.handoff()
    goals = [goal for line in handoff.beds if line.bed == walk.bed for goal in line.goals]
    assert [(goal.task, goal.done) for goal in goals if goal.task == "walk"] == [("walk", 1)]


def test_a_person_who_left_is_given_nothing_more(unit: Ward) -> None:
    """After somebody leaves, the plan from then on does without; what falls short is said."""
    unit.hands.make(solver=False)
    unit.clock = Clock.fixed(datetime(2026, 3, 2, 10, 0))
    after = unit.hands.replan(gone=["cd"], solver=False)
    later = [item for item in after.by_time() if item.start >= datetime(2026, 3, 2, 10, 0)]
    assert later
    assert all("CD" not in item.people for item in later)
    assert any("CD" in problem for problem in after.problems)


def test_without_a_duty_list_it_says_what_to_write(tmp_path: Path, ward: Ward) -> None:
    """No staff.toml: a sentence with the path and an example."""
    with pytest.raises(WardRefused, match=r"staff\.toml"):
        ward.hands.make()
