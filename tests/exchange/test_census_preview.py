"""What a bed list would do: who is who, what is left alone, and never two patients in a bed."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.exchange.census.cells import bed_key, stay_of
from mobicard.exchange.census.preview import Preview, preview, steps
from mobicard.exchange.census.rows import Census, CensusRow, CurrentStay, Unreadable
from mobicard.ledger import Ledger, NewEntry

NOW = datetime(2026, 3, 2, 8, 0)


def visit(number: str) -> str:
    return stay_of(number, b"salt")


def look(rows: list[CensusRow], current: list[CurrentStay] | None = None, **options: Any) -> Preview:
    whole = options.pop("whole", True)
    unread = tuple(options.pop("unread", ()))
    return preview(Census(tuple(rows), unread, whole=whole), current or [], now=NOW, **options)


def done_in_order(found: Preview, current: list[CurrentStay]) -> dict[str, str]:
    """Where everybody is after the steps, each taken as the ledger takes it: a held bed is refused.

    A swap sets its partner aside, and the partner's own step must follow at once.
    """
    where = {each.stay: bed_key(each.bed) for each in current}
    done = steps(found)
    for number, step in enumerate(done):
        holder = next((stay for stay, bed in where.items() if bed == bed_key(step.bed)), None)
        if step.kind == "discharge":
            del where[str(step.stay)]
            continue
        if holder is not None:
            assert (step.swap, done[number + 1].stay, done[number + 1].swap) == (holder, holder, step.stay)
        if step.kind == "move":
            assert where[str(step.stay)] in (bed_key(str(step.from_bed)), "aside")
        where |= {holder: "aside"} if holder else {}
        where[step.stay or f"new {number}"] = bed_key(step.bed)
    assert "aside" not in where.values()
    return where


def test_a_bed_that_is_free_takes_a_new_patient_with_nothing_assessed() -> None:
    step = steps(look([CensusRow(2, "4W-1", label="RT", weight_kg=82.0)]))[0]
    assert (step.kind, step.bed, step.label, step.stay) == ("admit", "4W-1", "RT", None)
    assert dict(step.facts) == {"weight_kg": 82.0}


def test_an_admission_with_a_visit_number_gets_its_key() -> None:
    assert steps(look([CensusRow(2, "4W-1", stay=visit("7"))]))[0].stay == visit("7")


def test_the_same_patient_in_the_same_bed_is_left_alone_whatever_weight_the_file_has() -> None:
    found = look([CensusRow(2, "4w 1", label="rt", weight_kg=99.0)], [CurrentStay("s1", "4W1", "RT")])
    assert [each.kind for each in found.unchanged] == ["unchanged"]
    assert steps(found) == ()


def test_a_visit_number_found_in_another_bed_is_a_move() -> None:
    step = steps(look([CensusRow(2, "4W-2", stay=visit("7"))], [CurrentStay(visit("7"), "4W-1", "RT")]))[0]
    assert (step.kind, step.stay, step.from_bed, step.bed) == ("move", visit("7"), "4W-1", "4W-2")
    assert dict(step.facts) == {}


def test_a_prior_bed_is_a_move_too() -> None:
    step = steps(
        look([CensusRow(2, "4W-2", label="RT", from_bed="4W-1")], [CurrentStay("s1", "4W-1", "RT")])
    )[0]
    assert (step.kind, step.stay) == ("move", "s1")


def test_equal_initials_elsewhere_are_no_move_but_are_said() -> None:
    """Another RT may have come as this one left: the old assessment must not follow the letters."""
    found = look([CensusRow(2, "4W-2", label="RT")], [CurrentStay("s1", "4W-1", "RT")])
    assert [step.kind for step in steps(found)] == ["admit"]
    assert "RT was also in 4W-1" in found.notes[0]


def test_two_patients_may_change_beds_in_one_list() -> None:
    now = [CurrentStay(visit("1"), "4W-1"), CurrentStay(visit("2"), "4W-2")]
    found = look([CensusRow(2, "4W-2", stay=visit("1")), CensusRow(3, "4W-1", stay=visit("2"))], now)
    assert len(found.move) == 2
    assert found.cannot_read == ()


def test_a_bed_another_patient_holds_is_not_taken_from_them() -> None:
    found = look([CensusRow(2, "4W-1", label="KB")], [CurrentStay("s1", "4W-1", "RT")])
    assert steps(found) == ()
    assert "held by another patient (RT)" in found.cannot_read[0].why


def test_the_bed_is_free_once_its_patient_leaves_in_the_same_list() -> None:
    rows = [CensusRow(2, "4W-1", state="discharge", label="RT"), CensusRow(3, "4W-1", label="KB")]
    assert [step.kind for step in steps(look(rows, [CurrentStay("s1", "4W-1", "RT")]))] == [
        "discharge",
        "admit",
    ]


def test_a_move_taken_back_keeps_its_own_bed_for_its_patient() -> None:
    """1 cannot go to 2, so the newcomer cannot have 1 either: the collision runs back along the line."""
    now = [CurrentStay(visit("1"), "4W-1"), CurrentStay("s2", "4W-2", "RT")]
    rows = [
        CensusRow(2, "4W-2", stay=visit("1"), label="KB"),
        CensusRow(3, "4W-1", stay=visit("3"), label="LM"),
    ]
    found = look(rows, now)
    assert steps(found) == ()
    assert [each.line for each in found.cannot_read] == [2, 3]


def test_who_is_not_in_the_file_stays_unless_the_unit_asked_otherwise() -> None:
    now = [CurrentStay("s1", "4W-1", "RT"), CurrentStay("s2", "4W-2", "KB")]
    rows = [CensusRow(2, "4W-1", label="RT")]
    assert [each.bed for each in look(rows, now).not_in_file] == ["4W-2"]
    assert steps(look(rows, now)) == ()
    assert [(step.kind, step.stay) for step in steps(look(rows, now, absent="discharge"))] == [
        ("discharge", "s2")
    ]


def test_a_list_with_a_line_that_cannot_be_read_discharges_nobody_for_absence() -> None:
    """The line that was lost may have been theirs."""
    now = [CurrentStay("s1", "4W-1", "RT")]
    found = look(
        [CensusRow(2, "4W-9", label="LM")], now, absent="discharge", unread=[Unreadable(3, "a formula")]
    )
    assert [step.kind for step in steps(found)] == ["admit"]


def test_messages_discharge_nobody_for_absence() -> None:
    found = look([CensusRow(2, "4W-9")], [CurrentStay("s1", "4W-1")], absent="discharge", whole=False)
    assert [step.kind for step in steps(found)] == ["admit"]
    assert found.not_in_file == ()


def test_a_bed_listed_twice_alike_counts_once() -> None:
    found = look([CensusRow(2, "4W-1", label="RT"), CensusRow(5, "4W-1", label="RT")])
    assert len(steps(found)) == 1
    assert found.notes == ("line 5: the bed 4W-1 is listed again; line 2 counts",)


def test_a_bed_listed_for_two_patients_is_taken_for_neither() -> None:
    found = look([CensusRow(2, "4W-1", label="RT"), CensusRow(5, "4w-1", label="KB")])
    assert steps(found) == ()
    assert [each.line for each in found.cannot_read] == [2, 5]


def test_one_visit_in_two_beds_is_taken_for_neither() -> None:
    found = look([CensusRow(2, "4W-1", stay=visit("7")), CensusRow(3, "4W-2", stay=visit("7"))])
    assert steps(found) == ()
    assert len(found.cannot_read) == 2


def test_a_discharge_still_to_come_is_not_done_yet() -> None:
    now = [CurrentStay("s1", "4W-1", "RT")]
    at = CensusRow(2, "4W-1", label="RT", discharge_times=(NOW,))
    later = CensusRow(2, "4W-1", label="RT", discharge_times=(datetime(2026, 3, 2, 8, 1),))
    assert [step.kind for step in steps(look([at], now))] == ["discharge"]
    assert steps(look([later], now)) == ()


def test_a_discharge_date_that_can_be_read_both_ways_is_not_guessed() -> None:
    both = (datetime(2026, 2, 3), datetime(2026, 3, 4))
    found = look([CensusRow(2, "4W-1", label="RT", discharge_times=both)], [CurrentStay("s1", "4W-1", "RT")])
    assert steps(found) == ()
    assert "either way" in found.cannot_read[0].why


def test_a_discharge_of_somebody_else_than_the_bed_holds_is_refused() -> None:
    found = look([CensusRow(2, "4W-1", state="discharge", label="KB")], [CurrentStay("s1", "4W-1", "RT")])
    assert steps(found) == ()
    assert "another patient" in found.cannot_read[0].why


def test_a_former_stay_comes_back_as_itself() -> None:
    step = steps(look([CensusRow(2, "4W-1", stay=visit("7"))], former={visit("7")}))[0]
    assert (step.kind, step.stay) == ("readmit", visit("7"))


def test_an_empty_bed_in_the_file_discharges_nobody() -> None:
    found = look([CensusRow(2, "4W-1", state="empty")], [CurrentStay("s1", "4W-1", "RT")])
    assert steps(found) == ()
    assert [each.bed for each in found.not_in_file] == ["4W-1"]


def test_the_summary_counts_every_kind() -> None:
    rows = [CensusRow(2, "4W-1", label="RT"), CensusRow(3, "4W-3", label="KB")]
    found = look(rows, [CurrentStay("s1", "4W-1", "RT"), CurrentStay("s2", "4W-2", "XY")])
    assert (
        found.summary()
        == "1 admitted, 0 moved, 0 discharged, 1 unchanged, 0 cannot be read, 1 not in the file"
    )


@pytest.mark.parametrize("count", [2, 3, 7])
def test_patients_who_change_beds_in_a_ring_swap_two_at_a_time(count: int) -> None:
    now = [CurrentStay(visit(str(n)), f"W-{n}") for n in range(count)]
    found = look([CensusRow(n + 2, f"W-{(n + 1) % count}", stay=visit(str(n))) for n in range(count)], now)
    where = done_in_order(found, now)
    assert where == {visit(str(n)): f"w-{(n + 1) % count}" for n in range(count)}


def test_the_ledger_takes_a_ring_of_three_in_one_step(tmp_path: Path) -> None:
    at = NOW.replace(tzinfo=UTC)
    with Ledger.open(tmp_path / "ledger.sqlite") as ledger:
        now = [CurrentStay(visit(str(n)), f"W-{n}") for n in range(3)]
        ledger.append(*(NewEntry(each.stay, "admit", at, "JN", {"bed": each.bed}) for each in now))
        found = look([CensusRow(n + 2, f"W-{(n + 1) % 3}", stay=visit(str(n))) for n in range(3)], now)
        ledger.append(
            *(
                NewEntry(
                    str(step.stay),
                    "move",
                    at,
                    "JN",
                    {"from": step.from_bed, "to": step.bed, "swap": step.swap},
                )
                for step in steps(found)
            )
        )
        assert {state.stay: state.bed for state in ledger.beds()} == {
            visit(str(n)): f"W-{(n + 1) % 3}" for n in range(3)
        }


def test_a_bed_is_left_before_the_next_patient_comes_into_it() -> None:
    now = [CurrentStay(visit("1"), "W-1"), CurrentStay(visit("2"), "W-2")]
    found = look([CensusRow(2, "W-2", stay=visit("1")), CensusRow(3, "W-3", stay=visit("2"))], now)
    assert [step.bed for step in steps(found)] == ["W-3", "W-2"]


def test_six_hundred_beds_in_one_list() -> None:
    now = [CurrentStay(visit(str(n)), f"W-{n}") for n in range(600)]
    rows = [CensusRow(n + 2, f"W-{(n + 1) % 600}", stay=visit(str(n))) for n in range(600)]
    found = look(rows, now)
    assert len(found.move) == 600
    assert found.cannot_read == ()


BEDS = st.sampled_from(["1", "2", "3", "4", "5", "6"])
LABELS = st.sampled_from([None, "RT", "KB", "LM"])
KEYS = st.sampled_from([None, *(visit(str(n)) for n in range(5))])
CURRENT = st.lists(
    st.builds(CurrentStay, stay=st.one_of(KEYS.filter(bool), st.uuids().map(str)), bed=BEDS, label=LABELS),
    unique_by=(lambda each: each.stay, lambda each: each.bed),
    max_size=6,
)
LISTED = st.lists(
    st.tuples(
        BEDS,
        st.sampled_from(["present", "present", "discharge", "empty"]),
        LABELS,
        KEYS,
        st.one_of(st.none(), BEDS),
    ),
    max_size=7,
).map(
    lambda rows: [
        CensusRow(line, bed, state=state, label=label, stay=key, from_bed=came)  # type: ignore[arg-type]
        for line, (bed, state, label, key, came) in enumerate(rows, start=2)
    ]
)


@settings(max_examples=400, deadline=None)
@given(LISTED, CURRENT, st.sampled_from(["keep", "discharge"]), st.booleans())
def test_no_bed_ends_with_two_patients_and_no_stay_is_named_twice(
    rows: list[CensusRow], current: list[CurrentStay], absent: Any, whole: bool
) -> None:
    found = look(rows, current, absent=absent, whole=whole)
    named = [each.stay for each in (*found.admit, *found.move, *found.discharge) if each.stay]
    assert len(named) == len(set(named))
    where = done_in_order(found, current)
    meant = {
        each.stay: bed_key(each.bed)
        for each in current
        if each.stay not in {one.stay for one in found.discharge}
    }
    meant |= {str(each.stay): bed_key(each.bed) for each in found.move}
    assert {stay: bed for stay, bed in where.items() if stay in meant} == meant


@settings(max_examples=200, deadline=None)
@given(LISTED, CURRENT)
def test_every_line_is_accounted_for_once(rows: list[CensusRow], current: list[CurrentStay]) -> None:
    found = look(rows, current)
    decided = [*found.admit, *found.move, *found.discharge, *found.unchanged]
    lines = sorted([each.line for each in decided] + [each.line for each in found.cannot_read])
    repeated = [
        int(note.split(":")[0].removeprefix("line ")) for note in found.notes if "listed again" in note
    ]
    assert sorted(lines + repeated) == [row.line for row in rows]


@settings(max_examples=200, deadline=None)
@given(LISTED, CURRENT)
def test_applying_a_list_twice_does_nothing_the_second_time(
    rows: list[CensusRow], current: list[CurrentStay]
) -> None:
    """Only lines with a key can be known again; a hand-made stay has its key from the ward."""
    found = look(rows, current)
    after = {each.stay: each for each in current}
    for number, step in enumerate(steps(found)):
        key = step.stay or f"new {number}"
        if step.kind == "discharge":
            del after[key]
        else:
            after[key] = CurrentStay(key, step.bed, step.label)
    gone = {each.stay for each in current} - set(after)
    taken = {each.line for each in (*found.admit, *found.move, *found.unchanged) if each.kind != "discharge"}
    again = look(
        [row for row in rows if row.line in taken and row.state == "present"],
        list(after.values()),
        former=gone,
    )
    assert [step.kind for step in steps(again)] == []
