"""The nurse's use cases: record, come back, change one fact, say same as before."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from mobicard.facts import FallEvent
from mobicard.facts.words import Level
from mobicard.ward import Clock, Due, SaveRefused, Ward, WardRefused, merge
from tests.records import assessed


def test_what_was_saved_is_there_for_the_next_station(ward: Ward) -> None:
    """A saved record reads back whole, stamped with who and when."""
    view = ward.stays.admit("5N-01", "RA")
    ward.save(view.stay, assessed("5N-01", label="RA", weight_kg=70), view.version)
    again = ward.find("5n-01")
    assert again is not None
    assert (again.record.weight_kg, again.recorded_by, again.plan.level) == (70, "JN", Level.SELF)
    assert again.record.assessed_at == datetime(2026, 3, 2, 8, 0)


def test_an_admitted_patient_is_not_cleared_for_anything(ward: Ward) -> None:
    """Nothing recorded is not fine: every move waits, and the Board says so."""
    view = ward.stays.admit("5N-02")
    assert {one.level for one in view.plan.tasks.values()} == {Level.REMAIN}
    assert view.due is Due.OVERDUE


def test_the_second_of_two_nurses_is_told_field_by_field(ward: Ward) -> None:
    """No silent overwrite: the later save is refused with what the first one changed."""
    view = ward.stays.admit("5N-03")
    base = ward.save(view.stay, assessed("5N-03"), view.version)
    ward.call_me("AB")
    ward.save(view.stay, base.record.changed(standing="supported", assessed_at=None), base.version)
    ward.call_me("JN")
    mine = base.record.changed(arms="one")
    with pytest.raises(SaveRefused) as refused:
        ward.save(view.stay, mine, base.version)
    assert refused.value.by == "AB"
    assert {(one.field, one.mine, one.theirs) for one in refused.value.fields} == {
        ("standing", "steady", "supported"),
        ("arms", "one", "both"),
    }


def test_a_merge_keeps_what_each_of_them_saw(ward: Ward) -> None:
    """Merging takes their sole changes and mine; where both changed, the nurse chooses."""
    view = ward.stays.admit("5N-03")
    base = ward.save(view.stay, assessed("5N-03"), view.version)
    ward.save(view.stay, base.record.changed(standing="supported", sitting="unable"), base.version)
    mine = base.record.changed(arms="one", sitting="supported")
    with pytest.raises(SaveRefused) as refused:
        ward.save(view.stay, mine, base.version)
    merged = merge(mine, refused.value.fields, refused.value.theirs, frozenset({"sitting"}))
    assert (merged.arms, merged.standing, merged.sitting) == ("one", "supported", "unable")


def test_assigning_a_bed_does_not_cost_the_nurse_her_save(ward: Ward) -> None:
    """An assignment made meanwhile says nothing of the patient, so the save goes through."""
    view = ward.stays.admit("5N-03")
    ward.assign([view.stay], "AB")
    saved = ward.save(view.stay, assessed("5N-03"), view.version)
    assert (saved.assignment, saved.record.arms) == ("AB", "both")


def test_same_as_before_records_who_and_when(ward: Ward) -> None:
    """Two keys, but a full entry: the same facts, seen again now by this nurse."""
    view = ward.stays.admit("5N-04")
    at_seven = datetime(2026, 3, 2, 7, 10)
    saved = ward.save(view.stay, assessed("5N-04", assessed_at=at_seven, assessed_by="TS"), view.version)
    again = ward.same_as_before(saved)
    assert (again.record.assessed_by, again.record.assessed_at) == ("JN", datetime(2026, 3, 2, 8, 0))
    assert [entry.kind for entry in ward.ledger.history(view.stay)] == ["admit", "record", "same"]


def test_same_as_before_does_not_make_old_pressures_new(ward: Ward) -> None:
    """Confirming a patient measures nothing: vital signs keep the time they were taken."""
    view = ward.stays.admit("5N-04")
    taken = datetime(2026, 3, 2, 7, 10)
    pressures = {"lying": {"sbp": 120, "dbp": 70}, "standing_1min": {"sbp": 95, "dbp": 60}}
    record = assessed("5N-04", assessed_at=taken, assessed_by="TS", vitals=pressures)
    again = ward.same_as_before(ward.save(view.stay, record, view.version))
    assert again.record.vitals is not None
    assert again.record.vitals.at == taken


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ("fall", "fallen"),
        ("move", "moved"),
        ("procedure", "operation"),
        ("missing", "not assessed"),
        ("old", "shift ago"),
    ],
)
def test_same_as_before_is_refused_with_why(ward: Ward, what: str, says: str) -> None:
    """After a fall, a move, an operation, or with a fact missing or old, somebody must look again."""
    view = ward.stays.admit("5N-05")
    facts: dict[str, Any] = {"assessed_at": datetime(2026, 3, 2, 7, 10), "assessed_by": "TS"}
    if what == "missing":
        facts["standing"] = None
    if what == "old":
        facts["assessed_at"] = datetime(2026, 2, 28, 7, 10)
    view = ward.save(view.stay, assessed("5N-05", **facts), view.version)
    ward.clock = Clock.fixed(datetime(2026, 3, 2, 8, 5))
    if what == "fall":
        view = ward.fell(view.stay, FallEvent(at=datetime(2026, 3, 2, 8, 1)), view.version)
    elif what == "move":
        view = ward.stays.move(view, "5N-06")
    elif what == "procedure":
        view = ward.procedure(view.stay, "hip nailing")
    with pytest.raises(WardRefused, match=says):
        ward.same_as_before(view)


def test_after_a_fall_the_earlier_assessment_no_longer_counts(ward: Ward) -> None:
    """A patient who was fine before the fall is not cleared by that."""
    view = ward.stays.admit("5N-06")
    view = ward.save(view.stay, assessed("5N-06"), view.version)
    fallen = ward.fell(
        view.stay, FallEvent(at=datetime(2026, 3, 2, 8, 0) + timedelta(seconds=1)), view.version
    )
    assert fallen.plan.level is Level.REMAIN
    assert fallen.plan.after_fall is not None
    assert fallen.plan.after_fall.state == "do_not_move"
    assert fallen.due is Due.OVERDUE


def test_a_correction_names_what_it_corrects_and_deletes_nothing(ward: Ward) -> None:
    """The wrong entry stays in the ledger; the new one stands."""
    view = ward.stays.admit("5N-07")
    wrong = ward.save(view.stay, assessed("5N-07", weight_kg=170), view.version)
    right = ward.correct(
        view.stay, wrong.version, wrong.record.changed(weight_kg=70), "weight in lb", wrong.version
    )
    assert right.record.weight_kg == 70
    entry = ward.ledger.history(view.stay)[-1]
    assert (entry.kind, entry.body["corrects"], entry.body["why"]) == (
        "correct",
        wrong.version,
        "weight in lb",
    )
    assert ward.ledger.history(view.stay)[1].body["record"]["weight_kg"] == 170


def test_unsaved_answers_wait_on_disk(ward: Ward, tmp_path: Path) -> None:
    """A draft survives the process that wrote it, readable by nobody else."""
    from mobicard.ward import Draft, Drafts

    ward.drafts.keep(Draft("s1", "JN", 3, datetime(2026, 3, 2, 8, 0), {"standing": "unable"}))
    found = Drafts(ward.drafts.folder).offered("s1")
    assert found is not None
    assert (found.base_version, found.facts) == (3, {"standing": "unable"})
    files = list(ward.drafts.folder.iterdir())
    assert [oct(path.stat().st_mode & 0o777) for path in files] == ["0o600"]
    assert ward.drafts.folder.stat().st_mode & 0o077 == 0


def test_a_move_answered_as_not_safe_is_no_gap(ward: Ward) -> None:
    """Not attempted for safety is a look at the patient: same as before may be said of it."""
    view = ward.stays.admit("5N-08")
    seen = {"boost": "independent", "turn": "independent", "sit_up": "independent", "stand": "minimal"}
    seen |= {"chair": "minimal", "toilet": "minimal", "walk": "not_attempted_safety", "stretcher": "minimal"}
    record = assessed("5N-08", standing="supported", help={**seen, "floor": "total"})
    saved = ward.save(view.stay, record, view.version)
    assert ward.same_as_before(saved).plan.tasks["walk"].level is Level.REMAIN


def test_a_fall_and_what_was_learnt_with_it_are_one_entry(ward: Ward) -> None:
    """How awake the patient is comes with the fall, so nothing can slip between the two."""
    view = ward.stays.admit("5N-09")
    view = ward.save(view.stay, assessed("5N-09"), view.version)
    event = FallEvent(at=datetime(2026, 3, 2, 8, 0))
    fallen = ward.fell(view.stay, event, view.version, {"alertness": "new_confusion"})
    assert fallen.record.alertness == "new_confusion"
    assert [entry.kind for entry in ward.ledger.history(view.stay)][-2:] == ["fall", "record"]


@pytest.mark.parametrize("typed", ["5N-02", "1x!", "", "J N", "ABCDEFGHIJKLM"])
def test_what_can_be_no_initials_signs_nothing(ward: Ward, typed: str) -> None:
    """A bed's name or a slip of the hand typed where initials are asked for is refused; who it was stays."""
    ward.call_me("JN")
    with pytest.raises(WardRefused, match="1 to 12 letters or figures"):
        ward.call_me(typed)
    assert ward.by == "JN"
