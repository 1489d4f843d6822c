"""Only the beds told of since are read and planned again; what is shown is what a fresh station shows."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from mobicard.ward import Ward
from tests.records import assessed


def test_one_save_plans_one_bed_again(ward: Ward, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in (1, 2, 3):
        view = ward.stays.admit(f"5N-0{number}")
        ward.save(view.stay, assessed(view.bed), view.version)
    ward.board()
    planned: list[str] = []
    view_of = Ward._view

    def noted(self: Ward, state: Any, *more: Any) -> Any:
        planned.append(state.bed)
        return view_of(self, state, *more)

    monkeypatch.setattr(Ward, "_view", noted)
    first, second, third = ward.board()
    assert planned == []
    ward.save(second.stay, second.record.changed(standing="unable"), second.version)
    planned.clear()
    again = ward.board()
    assert planned == ["5N-02"]
    assert (again[0], again[2]) == (first, third)
    assert again[1].record.standing == "unable"


def test_the_next_minute_plans_all_again(ward: Ward, monkeypatch: pytest.MonkeyPatch) -> None:
    """What expires while it is on the screen changes on the screen."""
    view = ward.stays.admit("5N-01")
    ward.save(view.stay, assessed("5N-01"), view.version)
    assert not ward.board()[0].plan.expired
    later = ward.now + timedelta(hours=20)
    monkeypatch.setattr(Ward, "now", property(lambda _self: later))
    assert ward.board()[0].plan.expired
