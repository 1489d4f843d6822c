"""What strangers misread on the handoff, each with what it says since."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from mobicard.derive import plan_for
from mobicard.derive.handing_over.people import people_of
from mobicard.paper.handoff.bed_rows import hurts
from mobicard.paper.handoff.people import people_say
from tests.paper.beds import NOW, POLICY
from tests.paper.extremes import rich
from tests.paper.test_handoff import WAS, bed, html, said
from tests.records import assessed


def test_the_first_line_says_a_bed_s_people_as_every_row_does() -> None:
    """One number, the larger, stood for the people in bed and was taken for those out of bed."""
    lifted = {"standing": "unable", "stepping": "unable", "weight_kg": 140}
    plan = plan_for(rich("1", **lifted), POLICY, NOW)
    said_of = people_say(people_of(plan))
    said_of = " ".join(said_of.split())
    assert re.fullmatch(r"out of bed \d / in bed \d", said_of)
    first, rows = said([bed("1", facts=lifted)]).split("Changed since")
    assert f"{said_of}: 1" in first
    assert said_of in rows


def test_observations_that_were_missed_are_counted_with_the_next_one() -> None:
    """Late since six says nothing of the three that were due after it."""
    began = "2026-03-02T06:00"
    told = said([bed("1", facts={"head_watch": {"at": began}})])
    assert "Head observations: 4 missed (not entered) since 06:00 next 08:00, 08:30" in told
    assert "LATE Mon 2 Mar 06:00 Head observations: 1: 4 missed (not entered) since 06:00" in told
    assert (
        "LATE 06:00 head observation, 4 missed (not entered) since 06:00, next 08:00"
        in told.split("Every bed")[1]
    )


def test_one_due_this_minute_is_not_missed() -> None:
    told = said([bed("1", facts={"head_watch": {"at": "2026-03-02T08:00"}})])
    assert "missed" not in told
    assert "Head observation 08:00 then 08:30" in told


FELL = {"at": "2026-03-02T07:40", "witnessed": False, "head_strike": "unknown"}


@pytest.mark.parametrize(
    ("neck", "says"),
    [
        ({"neck_pain": "no"}, "says no neck pain, neck and patient NOT EXAMINED yet"),
        ({"neck_pain": "yes"}, "SAYS THE NECK HURTS, neck and patient NOT EXAMINED yet"),
        ({}, "neck pain: not asked, neck and patient NOT EXAMINED yet"),
        (
            {"neck_pain": "no", "cleared_by": "Dr NN", "cleared_at": "2026-03-02T07:50", "spine": "clear"},
            "says no neck pain, examined by Dr NN 07:50, neck and back: clear",
        ),
        (
            {"neck_pain": "no", "cleared_by": "Dr NN", "cleared_at": "2026-03-02T07:50"},
            "says no neck pain, examined by Dr NN 07:50, neck and back: not noted",
        ),
    ],
)
def test_what_the_patient_says_of_the_neck_is_told_from_what_was_examined(
    neck: dict[str, str], says: str
) -> None:
    assert says in said([bed("1", facts={"fall_event": FELL | neck})])


@pytest.mark.parametrize(
    ("witnessed", "says"),
    [(False, "fall UNWITNESSED"), (True, "fall witnessed"), (None, "whether witnessed: not known")],
)
def test_a_fall_nobody_saw_is_unwitnessed_not_a_patient_nobody_has_seen(
    witnessed: bool | None, says: str
) -> None:
    assert says in said([bed("1", facts={"fall_event": FELL | {"witnessed": witnessed}})])


def test_a_side_alone_is_no_word_of_hearing() -> None:
    told = said([bed("1", facts={"communication": {"hearing": "right ear"}})])
    assert "Hearing: right ear noted, ask: better or worse?" in told
    told = said([bed("1", facts={"communication": {"hearing": "better on the right ear"}})])
    assert "Hearing: better on the right ear." in told


def test_nothing_recorded_is_a_question_and_nothing_found_is_an_answer() -> None:
    """“Nothing recorded” under what hurts was read as: nothing hurts."""
    alone = assessed("1", assessed_at="2026-03-02T07:10")
    assert "Not recorded, ask: weight bearing, precautions, lines." in said([bed("1", record=alone)])
    none = {"precautions": [], "lines": [], "weight_bearing": {}, "fall_risk": None}
    asked = assessed("1", assessed_at="2026-03-02T07:10", **none)
    told = said([bed("1", record=asked)])
    assert "asked: nothing known" in told
    assert "Not recorded" not in told


def test_the_sheet_s_end_and_the_beds_ends_are_told_apart() -> None:
    soon = bed("2", facts={"assessed_at": "2026-03-02T06:29"})
    beds = [bed("1"), bed("3")]
    assert "Good until Mon 2 Mar 19:30 . 2 beds" in said(beds)
    ended = replace(soon.plan, valid_until=NOW + timedelta(hours=2), expired=False)
    told = said([*beds, replace(soon, plan=ended, before=ended)])
    assert "Good until Mon 2 Mar 19:30; 2 only until Mon 2 Mar 10:00" in told
    assert "Each bed’s plan is good until Mon 2 Mar 19:30 unless its row says otherwise." in told
    assert "good until 10:00" in told


REASONS = {
    "order": ({"precautions": ["bed_rest"]}, "REMAIN", "bed rest ordered"),
    "fall": ({"fall_event": FELL}, "REMAIN", "do not move"),
    "unseen": ({"assessed_at": None}, "UNSEEN", "not looked at: no move till then"),
    "reading": (
        {"vitals": {"spo2": 80, "at": "2026-03-02T07:10"}},
        "REMAIN",
        "a reading is outside its limits",
    ),
    "not tried": (
        dict.fromkeys(("standing", "sitting", "stepping", "arms")),
        "UNSEEN",
        "nobody has looked yet",
    ),
}


@pytest.mark.parametrize("why", list(REASONS))
def test_the_word_of_one_who_stays_in_bed_stands_beside_its_reason(why: str) -> None:
    """One word stood for an order, a reading, a fall and for nobody having looked."""
    facts, word, says = REASONS[why]
    row = said([bed("1", facts=facts)]).split("read back")[1].split("Questions asked")[0]
    assert re.match(rf"\s*(until cleared |no plan )?{word}\b", row)
    assert says in row[:160]
    assert "not now" not in row


def test_what_is_late_is_counted_by_what_it_is() -> None:
    """“21 with something late” were doors to be printed."""
    beds = [bed(str(n), door_ok=n > 2) for n in range(5)]
    beds.append(bed("9", facts={"assessed_at": "2026-03-01T07:10"}))
    told = said(beds)
    assert "6 beds, 0 changed. Late: 1 bed to look at again, 3 door cards to change." in told


def test_an_hour_later_than_the_sheet_s_is_announced_on_its_edge() -> None:
    """“Good until 07:30” above rows with 19:30: which?"""
    later = bed("2")
    held = replace(later.plan, valid_until=later.plan.valid_until + timedelta(hours=12))
    beds = [bed("1"), replace(later, plan=held, before=held), bed("3")]
    assert "Good until Mon 2 Mar 19:30\\3b  1 bed longer, see their rows" in html(beds)


@pytest.mark.parametrize("looked", [None, "2026-03-01T07:10"])
def test_where_nothing_is_known_next_and_course_say_to_look_first(looked: str | None) -> None:
    """“Nothing by the hour” and “same since” at a bed nobody has looked at were read as all well."""
    none = {"goals": [], "turn_every_h": None, "appointments": [], "communication": None}
    told = said([bed("1", facts={"assessed_at": looked, "directions": "reliable", **none})])
    row = told.split("Every bed")[1]
    assert "look first" in row
    assert "not known now" in row
    assert not any(calm in row for calm in ("nothing by the hour", "as at every bed", "same since"))


def test_one_who_only_stands_by_is_not_ranked_as_a_helper() -> None:
    """“One person, out of bed 1” was read as hands on."""
    told = said([bed("1", record=assessed("1", assessed_at="2026-03-02T07:10", directions="with_cues"))])
    assert "ONE CLOSE BY, HANDS OFF out of bed 1 / in bed 1: 1 ." in told


def test_where_there_is_room_the_gravest_beds_are_told_in_full_though_others_are_cut() -> None:
    """A page with a third of it empty had sent the gravest bed's reader to another page."""
    plain = assessed("1", assessed_at="2026-03-02T07:10", directions="with_cues")
    lifted = {"standing": "unable", "stepping": "unable"}
    full = [bed(str(n), facts=lifted if n == 5 else {}) for n in range(12)]
    beds = [*full, *(bed(str(n), record=plain.changed(bed=str(n))) for n in range(12, 24))]
    rows = said(beds).split("read back")
    cut = [n for n, row in enumerate(rows[1:25]) if "See bedside card" in row]
    assert 11 in cut
    assert 5 not in cut


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        ({"fall_event": FELL}, "until cleared"),
        ({"assessed_at": "2026-03-01T07:10"}, "not valid"),
        ({"assessed_at": None}, "no plan"),
    ],
)
def test_no_row_seems_good_till_the_common_end_that_is_not(facts: dict[str, object], says: str) -> None:
    """“Each bed’s plan is good until 07:30 unless its row says otherwise” above a row without an hour."""
    row = said([bed("1", facts=facts), bed("2"), bed("3")]).split("read back")[1]
    assert row.strip().startswith(says)


def test_a_side_whose_limb_is_limited_is_not_called_strong() -> None:
    """“Strong side: right” beside “right leg: no weight, left leg: limb absent”."""
    legs = {"right_leg": {"status": "NWB"}, "left_leg": {"status": "absent_limb"}}
    assert "Strong side" not in said([bed("1", facts={"weight_bearing": legs, "weak_side": None})])
    assert "Strong side: right" in said([bed("1", facts={"weight_bearing": {"left_leg": "NWB"}})])


def test_alertness_is_said_as_what_wakes_the_patient() -> None:
    """“Voice, follows no directions” was no sentence."""
    assert "Wakes only to voice" in said([bed("1", facts={"alertness": "voice"})])


def test_a_bed_whose_plan_has_ended_is_not_counted_as_before() -> None:
    ended = bed("2", facts={"assessed_at": "2026-03-01T07:10"})
    told = said([bed("1", was=WAS), ended, bed("3")])
    assert "1 bed as before, 1 no longer valid." in told, "9 changed and 14 as before did not make 24"


def test_what_is_put_on_stands_before_what_a_row_may_cut_and_an_operation_is_named_once() -> None:
    """“See bedside card: back from an operation, operation, put on first” hid that something is put on."""
    record = assessed(
        "1", operation={"what": "femur nail", "at": "2026-03-02T06:00"}, on_before_up=["thoracic brace"]
    )
    about = [one.about for one in hurts(plan_for(record, POLICY, NOW), record)]
    assert len(set(about)) == len(about)
    assert about.index("put on first") < about.index("which operation")
