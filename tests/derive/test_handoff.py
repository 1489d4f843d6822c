"""The handoff as values: what comes first, what is late, who needs two or a lift, and that no bed is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.derive import Policy, plan_for
from mobicard.derive.over_time.handoff import build_handoff
from mobicard.derive.over_time.handoff_values import BedShift, DueItem, Handoff
from mobicard.facts.words import Equipment, Level, Task
from tests.records import INDEPENDENT, assessed

NOW = datetime(2026, 3, 2, 8, 0)
POLICY = Policy()
SEEN = {"assessed_at": "2026-03-02T07:10", "assessed_by": "JN"}
ALONE = SEEN
LIFTED = {
    **SEEN,
    "weight_kg": 80,
    "standing": "unable",
    "stepping": "unable",
    "sitting": "supported",
    "help": dict.fromkeys(INDEPENDENT, "total"),
}
HELD = {**SEEN, "standing": "supported", "help": {**INDEPENDENT, "stand": "minimal", "chair": "minimal"}}


def shift(bed: str, facts: dict[str, Any], **more: Any) -> BedShift:
    """One bed with the plan its facts give; ``before`` are the facts of the last shift's end."""
    record = assessed(bed, **facts)
    before = more.pop("before", facts)
    old = None if before is None else plan_for(assessed(bed, **before), POLICY, NOW)
    return BedShift(bed, f"stay-{bed}", record, plan_for(record, POLICY, NOW), old, **more)


def handoff(*beds: BedShift, scope: str | None = None, now: datetime = NOW) -> Handoff:
    return build_handoff(beds, now, POLICY, scope)


def due(made: Handoff, kind: str) -> list[DueItem]:
    return [item for item in made.due if item.kind == kind]


def test_a_bed_as_before_is_not_a_change() -> None:
    made = handoff(shift("1", ALONE))
    assert made.changed == ()
    assert made.unchanged == 1


def test_a_plan_that_had_ended_before_and_still_has_is_not_counted_as_unchanged() -> None:
    """The screen said “9 changed, 15 not” of a unit whose paper said 14: of one nobody knew."""
    over = {**ALONE, "assessed_at": "2026-02-28T07:10"}
    made = handoff(shift("1", ALONE), shift("2", over), shift("3", HELD, before=ALONE))
    assert (len(made.changed), made.unchanged, made.ended) == (1, 1, 1)


def test_a_change_carries_old_new_and_why() -> None:
    made = handoff(shift("1", HELD, before=ALONE))
    [bed] = made.changed
    assert bed.old is Level.SELF
    assert bed.new.rank > Level.SELF.rank
    assert bed.differences[0].what == "level", "the level is said before cautions and equipment"
    assert all(reason.says and reason.source for change in bed.differences for reason in change.why)
    assert any(change.why for change in bed.differences)
    assert not bed.eases


def test_changes_that_ask_for_more_come_first_then_new_beds_then_eased_ones() -> None:
    made = handoff(
        shift("eased", ALONE, before=HELD),
        shift("new", ALONE, before=None),
        shift("worse", HELD, before=ALONE),
    )
    assert [bed.bed for bed in made.changed] == ["worse", "new", "eased"]
    assert made.changed[1].old is None
    assert made.changed[2].eases


def test_one_difference_on_several_moves_is_said_once() -> None:
    made = handoff(shift("1", LIFTED, before=ALONE))
    [bed] = made.changed
    keys = [(change.what, change.old, change.new, change.eases) for change in bed.differences]
    assert len(keys) == len(set(keys))
    assert any(len(change.tasks) > 1 for change in bed.differences)


def test_every_move_whose_plan_differs_is_named_in_some_difference() -> None:
    """Grouping loses no move."""
    bed = shift("1", LIFTED, before=ALONE)
    assert bed.before is not None
    differ = {task for task in Task if bed.before.tasks[task].level is not bed.plan.tasks[task].level}
    [changed] = handoff(bed).changed
    told = {task for change in changed.differences if change.what == "level" for task in change.tasks}
    assert told == differ


def test_an_assessment_out_of_date_is_late_and_comes_before_what_is_still_to_come() -> None:
    old = {**ALONE, "assessed_at": "2026-03-01T07:10"}
    made = handoff(shift("1", ALONE), shift("2", old))
    first, *rest = made.due
    assert (first.kind, first.beds, first.overdue) == ("assessment", ("2",), True)
    assert "look again" in first.says
    [later] = [item for item in rest if item.kind == "assessment"]
    assert (later.beds, later.overdue) == (("1",), False)
    assert later.at == datetime(2026, 3, 2, 19, 30)


def test_a_bed_that_only_ran_out_is_a_change_of_what_its_card_shows() -> None:
    facts = {**ALONE, "assessed_at": "2026-03-01T07:10"}
    made = handoff(shift("1", facts))
    bed = shift("1", facts)
    fresh = plan_for(bed.record, POLICY, datetime(2026, 3, 1, 12, 0))
    [changed] = handoff(replace(bed, before=fresh)).changed
    assert (changed.old, changed.new) == (Level.SELF, Level.REMAIN)
    assert made.changed == (), "out of date then and now is no change"


def test_a_bed_nobody_assessed_is_late() -> None:
    made = handoff(shift("1", {"assessed_at": None}))
    [item] = due(made, "assessment")
    assert item.overdue
    assert "not assessed" in item.says


def test_an_expired_bed_shows_no_level_and_no_head_count() -> None:
    made = handoff(shift("1", {**LIFTED, "assessed_at": "2026-03-01T07:10"}))
    [line] = made.beds
    assert line.level is Level.REMAIN
    assert line.helpers is None
    assert made.demands == (), "nobody stands behind the old head count"
    assert made.holds_until is None


def test_the_same_thing_due_at_several_beds_is_one_item() -> None:
    made = handoff(*(shift(str(n), {**ALONE, "turn_every_h": 2}) for n in range(3)))
    [item] = due(made, "turn")
    assert item.beds == ("0", "1", "2")
    assert item.says == "every 2 h, last turn: not noted"


@pytest.mark.parametrize(
    ("at", "listed", "late"),
    [
        (NOW - timedelta(hours=12, minutes=1), False, False),
        (NOW - timedelta(hours=12), True, True),
        (NOW - timedelta(minutes=1), True, True),
        (NOW, True, False),
        (NOW + timedelta(hours=3), True, False),
    ],
)
def test_a_planned_move_is_late_once_its_time_is_past_and_leaves_after_the_policy_s_hours(
    at: datetime, listed: bool, late: bool
) -> None:
    """``handoff.planned_past_h``, 12 by default: common practice, no source."""
    visit = {"task": "stretcher", "at": at.isoformat(), "note": "imaging"}
    items = due(handoff(shift("1", {**ALONE, "appointments": [visit]})), "planned")
    assert [item.overdue for item in items] == ([late] if listed else [])
    if listed:
        assert "imaging" in items[0].says
        assert ("nobody has said so" in items[0].says) is late


def test_a_fall_leads_what_is_late_and_a_door_ends_it() -> None:
    fall = {"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown"}
    old = {**ALONE, "assessed_at": "2026-03-01T07:10"}
    made = handoff(
        shift("1", ALONE, door_ok=False), shift("2", old), shift("3", {**ALONE, "fall_event": fall})
    )
    kinds = [item.kind for item in made.due if item.overdue]
    assert kinds[0] == "after a fall"
    assert kinds[-1] == "door card"
    assert kinds.index("assessment") < kinds.index("door card")


def test_what_is_still_to_come_goes_by_the_clock() -> None:
    visits = [{"task": "stretcher", "at": f"2026-03-02T{hour}:00"} for hour in (21, 11, 15)]
    made = handoff(shift("1", {**ALONE, "appointments": visits, "turn_every_h": 2}))
    times = [item.at for item in made.due if not item.overdue]
    assert times == [*sorted(at for at in times if at), None]


def test_a_door_that_does_not_match_is_late() -> None:
    made = handoff(shift("1", ALONE, door_ok=False), shift("2", ALONE))
    [item] = due(made, "door card")
    assert item.beds == ("1",)
    assert item.overdue


def test_an_override_s_lapse_is_due_with_the_name() -> None:
    lowered = {
        "level": "NEARBY",
        "reason": "seen walking with the therapist",
        "by": "KM",
        "at": "2026-03-02T07:30",
    }
    made = handoff(shift("1", {**SEEN, "standing": "supported", "override": lowered}))
    [item] = due(made, "override")
    assert "KM" in item.says
    assert item.at is not None
    assert item.at > NOW


def test_a_fall_not_cleared_is_late() -> None:
    fall = {"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown"}
    made = handoff(shift("1", {**ALONE, "fall_event": fall}))
    [item] = due(made, "after a fall")
    assert item.overdue


def test_two_helpers_or_a_lift_most_people_first() -> None:
    made = handoff(shift("alone", ALONE), shift("lifted", LIFTED))
    [demand] = made.demands
    assert demand.bed == "lifted"
    assert demand.helpers >= 2
    assert Equipment.FULL_BODY_LIFT in demand.equipment
    assert Task.CHAIR in demand.tasks


def test_the_floor_and_the_stretcher_put_nobody_on_the_list() -> None:
    """They take several people for nearly everybody, so they would hide who needs two all day."""
    facts = {**ALONE, "help": {**INDEPENDENT, "floor": "total", "stretcher": "total"}}
    made = handoff(shift("1", facts))
    plan = made.beds[0].plan
    assert (plan.tasks[Task.STRETCHER].helpers or 0) >= 2
    assert made.demands == ()


def test_goals_show_what_was_done_of_what_was_wanted() -> None:
    facts = {
        **ALONE,
        "goals": [{"task": "chair", "times_per_shift": 3}, {"task": "walk", "times_per_shift": 2}],
    }
    made = handoff(shift("1", facts, goals_done={Task.CHAIR: 3}))
    chair, walk = made.beds[0].goals
    assert (chair.wanted, chair.done, chair.met) == (3, 3, True)
    assert (walk.wanted, walk.done, walk.met) == (2, 0, False)


def test_the_page_holds_until_the_first_line_on_it_stops_holding() -> None:
    early = {
        **ALONE,
        "assessed_at": "2026-03-02T06:29",
    }  # half an hour's grace after 07:00: until 07:30, past
    late = {**ALONE, "assessed_at": "2026-03-02T07:10"}
    assert handoff(shift("1", early), shift("2", late)).holds_until == datetime(2026, 3, 2, 19, 30)


def test_an_assignment_has_its_own_beds_and_names_those_on_nobody_s_round() -> None:
    beds = (shift("1", ALONE, assignment="JN"), shift("2", ALONE, assignment="MK"), shift("3", ALONE))
    made = handoff(*beds, scope="JN")
    assert [line.bed for line in made.beds] == ["1"]
    assert made.unassigned == ("3",)
    assert [line.bed for line in handoff(*beds).beds] == ["1", "2", "3"]


def test_an_empty_unit_is_a_handoff_too() -> None:
    made = handoff()
    assert (made.beds, made.changed, made.due, made.holds_until) == ((), (), (), None)


def test_as_json_is_plain_data() -> None:
    import json

    made = handoff(shift("1", HELD, before=ALONE, history=((NOW, Level.LINK),)))
    back = json.loads(json.dumps(made.as_json()))
    assert back["changed"][0]["differences"][0]["why"][0]["source"]
    assert back["beds"][0]["history"] == [["2026-03-02T08:00", "LINK"]]


FACTS = st.fixed_dictionaries(
    {},
    optional={
        "standing": st.sampled_from(["steady", "supported", "unable"]),
        "stepping": st.sampled_from(["walks", "pivots", "unable"]),
        "alertness": st.sampled_from(["alert", "voice", "unresponsive", None]),
        "weight_kg": st.sampled_from([40, 90, 200, None]),
        "turn_every_h": st.sampled_from([2, None]),
        "assessed_at": st.sampled_from(["2026-03-02T07:10", "2026-03-01T07:10", None]),
        "precautions": st.sampled_from([[], ["bed_rest"], ["sternal"]]),
    },
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(FACTS, st.one_of(st.none(), FACTS), st.booleans()), max_size=6))
def test_whatever_the_beds_every_bed_has_a_line_and_every_change_is_told(
    beds: list[tuple[dict[str, Any], dict[str, Any] | None, bool]],
) -> None:
    shifts = [
        shift(str(n), {**SEEN, **facts}, before=before and {**SEEN, **before}, door_ok=ok)
        for n, (facts, before, ok) in enumerate(beds)
    ]
    made = handoff(*shifts)
    assert [line.bed for line in made.beds] == [bed.bed for bed in shifts]
    told = {bed.bed for bed in made.changed}
    for bed in shifts:
        differs = bed.before is None or any(
            bed.before.tasks[task].level is not bed.plan.tasks[task].level for task in Task
        )
        assert not differs or bed.bed in told
    late = {name for item in made.due if item.overdue for name in item.beds}
    assert all(bed.bed in late for bed in shifts if bed.plan.expired or not bed.door_ok)
