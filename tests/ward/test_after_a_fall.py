"""After a fall, over hours: from the floor to the last head observation, and what silence ends."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts import FallEvent
from mobicard.facts.words import Equipment, Found, HeadSeen, Level, Task
from mobicard.ward import BedView, Clock, Due, Ward, WardRefused
from tests.records import assessed

DAY = datetime(2026, 3, 2)
STRUCK: dict[str, Any] = {
    "at": DAY + timedelta(hours=7, minutes=40),
    "head_strike": "yes",
    "anticoagulated": "yes",
    "witnessed": True,
    "neck_pain": "no",
    "injury": "none",
}
EXAMINED = {"cleared_by": "Dr NN", "cleared_at": DAY + timedelta(hours=8)}
CLEAR = {"head": "clear", "spine": "clear", "bones": "clear"}


def clock(ward: Ward, hour: float) -> datetime:
    """Move the ward's clock to an hour of the day of the fall, 25 being one in the night after it."""
    now = DAY + timedelta(hours=hour)
    ward.clock = Clock.fixed(now)
    return now


def taken_in(ward: Ward) -> BedView:
    """A patient who does everything alone, looked at at ten past seven."""
    at = clock(ward, 7 + 1 / 6)
    view = ward.stays.admit("5N-01")
    return ward.save(view.stay, assessed("5N-01", assessed_at=at, assessed_by="JN"), view.version)


def tell(ward: Ward, view: BedView, hour: float, **facts: Any) -> BedView:
    """Record the fall with these facts at this hour."""
    clock(ward, hour)
    event = FallEvent.model_validate(STRUCK | facts)
    return ward.fell(view.stay, event, ward.bed(view.stay).version)


def look(ward: Ward, view: BedView, hour: float, **facts: Any) -> BedView:
    """Assess again from nothing: the record says nothing of fall or head."""
    at = clock(ward, hour)
    record = assessed("5N-01", assessed_at=at, assessed_by="AB", **facts)
    return ward.save(view.stay, record, ward.bed(view.stay).version)


def held(view: BedView) -> bool:
    """Whether every move but getting up is REMAIN."""
    return all(one.level is Level.REMAIN for task, one in view.plan.tasks.items() if task is not Task.FLOOR)


def test_from_the_floor_to_the_last_observation(ward: Ward) -> None:
    """Fell 07:40, head struck; examined 08:00, lifted 08:20, looked at 08:40; stopped by name at 20:00."""
    view = tell(ward, taken_in(ward), 7.75)
    assert view.plan.after_fall is not None
    assert view.plan.after_fall.state == "do_not_move"
    view = tell(ward, view, 8, **EXAMINED, **CLEAR, lift_as="sling")
    assert view.plan.after_fall.state == "may_be_helped_up"
    assert Equipment.FULL_BODY_LIFT in view.plan.tasks[Task.FLOOR].equipment
    view = look(ward, view, 8.1)
    assert held(view)
    event = view.record.fall_event.model_dump(exclude_none=True)
    view = tell(ward, view, 8 + 1 / 3, **event | {"up_at": DAY + timedelta(hours=8, minutes=20)})
    assert held(view)
    view = look(ward, view, 8 + 2 / 3)
    assert view.plan.after_fall is None
    assert view.plan.level is Level.SELF
    assert view.plan.head_observations.late
    hours = [8.75, 9.25, 9.75, 10.25, 10.75, 11.75, 12.75, 13.75, 14.75, 16.75, 18.75]
    for hour, follows in zip(hours, [*hours[1:], 20.75], strict=True):
        clock(ward, hour)
        view = ward.note_head(view.stay, HeadSeen.FIFTEEN)
        assert view.plan.head_observations.due == DAY + timedelta(hours=follows)
    view = look(ward, view, 19)
    clock(ward, 20)
    view = ward.stop_head(view.stay, "Dr NN")
    assert view.plan.head_observations is None
    view = look(ward, view, 20.5)
    assert view.record.head_watch is None
    told = [entry.body["record"].get("head_watch", {}) for entry in ward.ledger.history(view.stay)[2:]
            if "record" in entry.body]  # fmt: skip
    assert any(one.get("stopped_by") == "Dr NN" for one in told)


def test_until_up_nothing_but_getting_up(ward: Ward) -> None:
    """Whatever is looked at, judged or confirmed, every half hour for a day and a half: REMAIN."""
    view = tell(ward, taken_in(ward), 7.75)
    for half in range(16, 88):
        hour = half / 2
        clock(ward, hour)
        assert held(ward.bed(view.stay)), hour
        if half % 10 == 0:
            view = look(ward, view, hour)
        if half % 10 == 5:
            with pytest.raises(WardRefused, match="no judgement lowers"):
                ward.override(ward.bed(view.stay), Level.SELF, "walks as before")
            with pytest.raises(WardRefused, match="fallen"):
                ward.same_as_before(view)


def test_the_observations_outlive_fall_looks_and_shifts(ward: Ward) -> None:
    """Never stopped, never noted: due and late on board and handoff at every hour of three shifts."""
    view = tell(ward, taken_in(ward), 7.75)
    up = EXAMINED | CLEAR | {"lift_as": "sling", "up_at": DAY + timedelta(hours=8, minutes=20)}
    view = tell(ward, view, 8 + 1 / 3, **up)
    for hour in range(9, 45):
        if hour % 8 == 1:
            view = look(ward, view, hour)
        clock(ward, hour)
        (row,) = ward.board()
        assert row.due is Due.OVERDUE
        assert "head observation LATE since" in row.due_says, hour
        assert "07:40" in row.due_says, hour
        due = [item for item in ward.handoff().due if item.kind == "head observations"]
        assert [(item.beds, item.at, item.overdue) for item in due] == [(("5N-01",), STRUCK["at"], True)]


def test_a_suspected_break_is_not_ended_by_a_look(ward: Ward) -> None:
    """Suspected at eight, up on the flat lift, looked at twice, nobody says a word of it: still held."""
    facts = EXAMINED | CLEAR | {"bones": "suspected", "lift_as": "flat"}
    view = tell(ward, taken_in(ward), 8, **facts)
    assert view.plan.tasks[Task.FLOOR].equipment == (Equipment.FLAT_LIFT,)
    view = tell(ward, view, 8.5, **facts, up_at=DAY + timedelta(hours=8, minutes=30))
    assert "injury" not in view.plan.after_fall.says
    for hour in (9, 20, 33):
        view = look(ward, view, hour)
        assert held(view)
        assert view.record.fall_event.bones is Found.SUSPECTED
    event = view.record.fall_event.model_dump(exclude_none=True)
    view = tell(ward, view, 34, **{k: v for k, v in event.items() if k != "bones"})
    assert view.record.fall_event.bones is Found.SUSPECTED
    view = tell(ward, view, 35, **event | {"bones": "ordered"})
    assert any("there is none" in conflict.says for conflict in view.plan.conflicts)
    view = look(ward, view, 36)
    assert held(view)
    view = look(ward, view, 37, weight_bearing={"left_leg": {"status": "NWB"}})
    assert view.plan.after_fall is None


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        (EXAMINED | CLEAR | {"cleared_at": STRUCK["at"], "lift_as": "guided"}, "minute of the fall"),
        (EXAMINED | CLEAR | {"neck_pain": "yes", "lift_as": "sling"}, "neck hurts"),
        (EXAMINED | {"neck_pain": "yes"}, "neck hurts"),
    ],
)
def test_a_contradicted_clearing_holds_over_hours(ward: Ward, facts: dict[str, Any], says: str) -> None:
    """Nothing moves, not from the floor either, up or not, looked at or not, until it is put right."""
    view = tell(ward, taken_in(ward), 8.25, **facts)
    for hour in (9, 21):
        view = look(ward, view, hour)
        assert view.plan.tasks[Task.FLOOR].level is Level.REMAIN
        assert held(view)
        assert any(says in conflict.says for conflict in view.plan.conflicts)
    view = tell(ward, view, 22, **facts, up_at=DAY + timedelta(hours=22))
    view = look(ward, view, 23)
    assert held(view)
    assert any(says in item.says for item in ward.handoff().due if item.kind == "conflict")


def test_board_handoff_json_and_fhir_agree_on_what_is_due(ward: Ward) -> None:
    """One time in all four, and the facts come back from FHIR as they went."""
    view = tell(ward, taken_in(ward), 8, **EXAMINED, **CLEAR)
    clock(ward, 8.25)
    ward.note_head(view.stay, HeadSeen.WORSE)
    (row,) = ward.board()
    due = DAY + timedelta(hours=8, minutes=45)
    assert row.plan.as_json()["head_observations"]["due"] == due.isoformat(timespec="minutes")
    assert row.due_says.startswith("head observation due 08:45")
    assert [item.at for item in ward.handoff().due if item.kind == "head observations"] == [due]
    bundle = to_bundle([FhirStay("s", row.record)], timezone="Europe/Zurich")
    ((_, back),) = from_bundle(bundle).records
    assert (back.head_watch, back.fall_event) == (row.record.head_watch, row.record.fall_event)


def test_nothing_to_note_where_none_run(ward: Ward) -> None:
    view = taken_in(ward)
    with pytest.raises(WardRefused, match="no head observations run"):
        ward.note_head(view.stay, HeadSeen.FIFTEEN)


SPARED = {"head_strike": "no", "anticoagulated": "no"}


def test_a_second_fall_does_not_clear_the_first(ward: Ward) -> None:
    """Head struck and not cleared, then down again with the head spared: still not moved; cleared, it is."""
    view = tell(ward, taken_in(ward), 7.75)
    view = tell(ward, view, 9, **SPARED, at=DAY + timedelta(hours=9))
    assert view.plan.after_fall.state == "do_not_move"
    late = {"cleared_by": "Dr NN", "cleared_at": DAY + timedelta(hours=9, minutes=20)}
    event = view.record.fall_event.model_dump(exclude_none=True)
    view = tell(ward, view, 9.5, **event | late | CLEAR)
    assert view.plan.after_fall.state == "may_be_helped_up"


def test_what_was_suspected_outlives_a_second_fall(ward: Ward) -> None:
    """A break suspected after the first fall; the examination after the second says nothing of it."""
    facts = EXAMINED | CLEAR | {"bones": "suspected"}
    view = tell(ward, taken_in(ward), 8, **facts)
    late = {"cleared_by": "AB", "cleared_at": DAY + timedelta(hours=9, minutes=20), "head": "clear"}
    view = tell(ward, view, 9.5, **SPARED, **late, at=DAY + timedelta(hours=9))
    assert view.record.fall_event.bones is Found.SUSPECTED
    view = tell(ward, view, 10, **SPARED, **late | CLEAR, at=DAY + timedelta(hours=9))
    assert view.record.fall_event.bones is Found.CLEAR


def test_an_older_fall_that_arrives_late_does_not_replace_a_newer_one(ward: Ward) -> None:
    view = tell(ward, taken_in(ward), 7.75)
    view = tell(ward, view, 9, **SPARED, at=DAY + timedelta(hours=3))
    assert view.record.fall_event.at == STRUCK["at"]
    assert view.plan.after_fall.state == "do_not_move"


def test_who_examined_and_what_was_found_is_told_until_the_fall_is_over(ward: Ward) -> None:
    """By name and hour, part by part; what nobody said is said to be not said."""
    view = tell(ward, taken_in(ward), 7.75)
    assert view.plan.after_fall.told == "Fell 02 Mar 07:40; nobody has examined the patient."
    view = tell(ward, view, 8, **EXAMINED, head="clear", bones="suspected")
    says = "Fell 02 Mar 07:40; examined 02 Mar 08:00 by Dr NN: "
    assert view.plan.as_json()["after_fall"]["told"] == (
        f"{says}head clear, neck and spine not said, hips and long bones suspected."
    )


def test_noting_an_observation_leaves_the_doors_as_they_are(ward: Ward) -> None:
    """The code moves when observations begin and when they stop, not with each of them."""
    view = tell(ward, taken_in(ward), 8, **EXAMINED, **CLEAR, lift_as="sling")
    codes = [view.plan.code]
    for hour in (8.25, 8.75, 9.25):
        clock(ward, hour)
        codes.append(ward.note_head(view.stay, HeadSeen.FIFTEEN).plan.code)
    assert len(set(codes)) == 1
    assert ward.stop_head(view.stay, "Dr NN").plan.code != codes[0]
