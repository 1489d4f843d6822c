"""A judgement over a day: bounded by what was seen, ended by the next look unless judged again."""

from __future__ import annotations

from datetime import datetime

import pytest

from mobicard.facts.words import Level, Task
from mobicard.ward import BedView, Clock, Ward, WardRefused
from tests.records import assessed

UNSTEADY = {"sitting": "supported", "standing": "supported"}
"""TEAM by the table, though no move was seen to take help."""


def at(ward: Ward, hour: int, minute: int = 0) -> datetime:
    """Move the ward's clock, and say where it is."""
    ward.clock = Clock.fixed(datetime(2026, 3, 2, hour, minute))
    return ward.now


def taken_in(ward: Ward, **facts: object) -> BedView:
    """Looked at at 07:10."""
    now = at(ward, 7, 10)
    view = ward.stays.admit("5N-01")
    return ward.save(view.stay, assessed("5N-01", assessed_at=now, assessed_by="JN", **facts), view.version)


def test_a_lowering_ends_with_the_next_look_unless_judged_again(ward: Ward) -> None:
    view = taken_in(ward, **UNSTEADY)
    at(ward, 8)
    view = ward.override(view, Level.LINK, "stood with me twice")
    assert view.plan.level is Level.LINK
    looked = view.record.changed(assessed_at=at(ward, 12), assessed_by="AB")
    assert ward.bed(view.stay).plan.level is Level.LINK
    view = ward.save(view.stay, looked, view.version)
    assert view.plan.level is Level.TEAM, "looked at again, and nobody judged again"
    assert any("ended with the next look" in conflict.says for conflict in view.plan.conflicts)
    ward.call_me("AB")
    view = ward.save(view.stay, ward.judged_again(looked), view.version)
    assert view.plan.override is not None
    assert (view.plan.level, view.plan.override.by) == (Level.LINK, "AB")


def test_a_lowering_ends_where_a_later_look_denies_it(ward: Ward) -> None:
    """Half the work taken over for the toilet at 12:00: carried or asked for anew, nothing is lowered."""
    view = taken_in(ward, **UNSTEADY)
    at(ward, 8)
    view = ward.override(view, Level.LINK, "stood with me twice")
    help_ = {**view.record.as_json()["help"], Task.TOILET.value: "moderate"}
    looked = view.record.changed(help=help_, assessed_at=at(ward, 12), assessed_by="AB")
    view = ward.save(view.stay, ward.judged_again(looked), view.version)
    assert (view.plan.level, view.plan.override) == (Level.HOIST, None)
    assert any(
        "Toilet" in conflict.says and "No override" in conflict.says for conflict in view.plan.conflicts
    )
    version = view.version
    with pytest.raises(WardRefused, match="record what you saw"):
        ward.override(view, Level.LINK, "stood with me twice")
    assert ward.bed(view.stay).version == version


def test_confirming_the_patient_ends_a_lowering_and_says_so_once(ward: Ward) -> None:
    """Same as before at 12:00: the derived level, and why; at 14:00 nothing is left of it to say."""
    view = taken_in(ward, **UNSTEADY, help={task.value: "independent" for task in Task})
    at(ward, 8)
    view = ward.override(view, Level.LINK, "stood with me twice")
    at(ward, 12)
    view = ward.same_as_before(view)
    assert view.plan.level is Level.TEAM
    assert any("ended with the next look" in conflict.says for conflict in view.plan.conflicts)
    at(ward, 14)
    view = ward.same_as_before(view)
    assert (view.plan.level, view.record.override) == (Level.TEAM, None)


def test_a_raise_confirmed_after_its_assessment_ended_goes_on(ward: Ward) -> None:
    """Nobody looked in time; who confirms the patient then does not take the raise away."""
    view = taken_in(ward, help={task.value: "independent" for task in Task})
    at(ward, 8)
    ward.override(view, Level.TEAM, "tired")
    at(ward, 20)
    view = ward.same_as_before(ward.bed(view.stay))
    assert view.plan.level is Level.TEAM


def test_a_raise_goes_on_with_the_patient_confirmed_and_ends_with_a_look_without_it(ward: Ward) -> None:
    view = taken_in(ward, help={task.value: "independent" for task in Task})
    at(ward, 8)
    view = ward.override(view, Level.TEAM, "tired")
    at(ward, 12)
    view = ward.same_as_before(view)
    assert view.plan.override is not None
    assert (view.plan.level, view.plan.override.by) == (Level.TEAM, "JN")
    now = at(ward, 13)
    view = ward.save(view.stay, assessed("5N-01", assessed_at=now, assessed_by="AB"), view.version)
    assert (view.plan.level, view.plan.override) == (Level.SELF, None)
