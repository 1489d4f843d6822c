"""ADT messages: what they say, in which order, and which segment is wrong."""

from __future__ import annotations

import hl7
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.exchange.census.hl7_messages import looks_like_hl7, read_hl7
from mobicard.exchange.census.preview import preview, steps
from mobicard.exchange.census.rows import Census, CensusRefused, CurrentStay

SALT = b"a secret of the unit"


def message(
    event: str, bed: str, at: str = "202603020710", *, visit: str = "V1", prior: str = "", more: str = ""
) -> str:
    """An ADT message after HL7 v2.5.1 chapter 3: PV1-3 bed, PV1-6 prior bed, PV1-19 visit number."""
    return (
        f"MSH|^~\\&|SEND|HOSP|MOBI|4W|{at}||ADT^{event}^ADT_{event}|1|P|2.5.1\r"
        f"EVN|{event}|{at}\r"
        "PID|1||M9^^^H||DOE^JANE^Q||19500101|F\r"
        f"PV1|1|I|{bed}|||{prior}|||||||||||||{visit}\r{more}"
    )


def read(text: str) -> Census:
    return read_hl7(text.encode(), salt=SALT)


def kinds(text: str, *current: CurrentStay) -> list[str]:
    return [step.kind for step in steps(preview(read(text), current))]


def test_a01_admits_into_the_bed_of_pv1_3_by_initials() -> None:
    row = read(message("A01", "4W^12^A")).rows[0]
    assert (row.bed, row.label, row.state) == ("4W-12A", "JD", "present")
    assert "DOE" not in repr(row)


def test_a02_moves_the_stay_of_the_visit() -> None:
    stay = read(message("A01", "4W^12^A")).rows[0].stay
    assert kinds(message("A02", "4W^13^B", prior="4W^12^A"), CurrentStay(str(stay), "4W-12A")) == ["move"]


def test_a02_moves_a_stay_recorded_by_hand_by_its_prior_bed() -> None:
    assert kinds(message("A02", "4W^13^B", prior="4W^12^A"), CurrentStay("s1", "4W-12A", "JD")) == ["move"]


def test_a03_discharges_and_a08_changes_no_place() -> None:
    stay = str(read(message("A01", "4W^12^A")).rows[0].stay)
    assert kinds(message("A03", "4W^12^A"), CurrentStay(stay, "4W-12A")) == ["discharge"]
    assert kinds(message("A08", "4W^12^A"), CurrentStay(stay, "4W-12A")) == []


def test_a_bare_update_brings_nobody_in_but_an_admission_before_it_does() -> None:
    """HL7 v2.5.1 chapter 3: A08 updates patient information, A01 admits."""
    assert kinds(message("A08", "4W^12^A")) == []
    assert kinds(message("A01", "4W^12^A") + message("A08", "4W^12^A", "202603020900")) == ["admit"]


def test_several_messages_of_one_visit_end_where_the_last_one_says_by_time_not_place_in_the_file() -> None:
    text = message("A02", "4W^13^B", "202603020900", prior="4W^12^A") + message(
        "A01", "4W^12^A", "202603020710"
    )
    assert [row.bed for row in read(text).rows] == ["4W-13B"]


def test_who_came_and_went_in_one_file_is_not_admitted() -> None:
    text = message("A01", "4W^12^A") + message("A03", "4W^12^A", "202603020900")
    assert kinds(text) == []


def test_an_update_after_the_discharge_brings_nobody_back() -> None:
    text = message("A03", "4W^12^A") + message("A08", "4W^12^A", "202603020900")
    assert read(text).rows[0].state == "discharge"


@pytest.mark.parametrize(
    ("obx", "kg"),
    [  # body weight by LOINC 29463-7 (from memory); 181 x 0.45359237: NIST SP 811 (2008), appendix B.8
        ("OBX|1|NM|29463-7^Body weight^LN||181|[lb_av]\r", 82.100),
        ("OBX|1|NM|29463-7^Body weight^LN||82.5|kg\r", 82.5),
        ("OBX|1|NM|29463-7^Body weight^LN||82.5|\r", None),
        ("OBX|1|NM|8302-2^Body height^LN||82.5|kg\r", None),
    ],
)
def test_a_weight_comes_from_its_observation_with_its_unit(obx: str, kg: float | None) -> None:
    assert read(message("A01", "4W^12^A", more=obx)).rows[0].weight_kg == kg


def weights(*obx: tuple[str, str, str, str]) -> float | None:
    """What OBX segments (code field, figure, status, time) come to, in kg."""
    more = "".join(
        f"OBX|{n}|NM|{code}||{figure}|kg|||||{status}|||{at}\r"
        for n, (code, figure, status, at) in enumerate(obx, start=1)
    )
    return read(message("A01", "4W^12^A", more=more)).rows[0].weight_kg


BODY = "29463-7^Body weight^LN"


def test_the_newest_weight_is_taken_wherever_it_stands() -> None:
    """By the time of the observation, OBX-14; without one the last in the message."""
    assert weights((BODY, "80", "F", LATER), (BODY, "90", "F", "202603020700")) == 80
    assert weights((BODY, "80", "F", ""), (BODY, "90", "F", "")) == 90


@pytest.mark.parametrize("status", ["D", "W", "X", "N", "I"])
def test_a_weight_that_was_taken_back_or_never_taken_is_none(status: str) -> None:
    """OBX-11, HL7 table 0085: deleted, wrong, not obtained, not asked, pending; an older one stands."""
    assert weights((BODY, "80", status, LATER)) is None
    assert weights((BODY, "90", "F", "202603020700"), (BODY, "80", status, LATER)) == 90


def test_a_weight_said_wrong_later_in_the_message_is_not_taken() -> None:
    assert weights((BODY, "80", "F", LATER), (BODY, "80", "W", LATER)) is None


def test_measured_codes_are_known_also_as_alternate_and_a_weight_only_said_is_left_out() -> None:
    """LOINC 3141-9 measured, 3142-7 stated, 8335-2 estimated (value set of body weight codes, LOINC 2.81)."""
    assert weights(("3141-9^Body weight Measured^LN", "80", "F", "")) == 80
    assert weights(("WT^Weight^L^29463-7^Body weight^LN", "80", "F", "")) == 80
    assert weights(("3142-7^Body weight Stated^LN", "80", "F", "")) is None
    assert weights((BODY, "90", "F", "202603020700"), ("8335-2^Estimated^LN", "80", "F", LATER)) == 90


@pytest.mark.parametrize("ending", ["\r", "\n", "\r\n"])
def test_any_line_ending_and_block_characters(ending: str) -> None:
    text = "\x0b" + message("A01", "4W^12^A").replace("\r", ending) + "\x1c\r"
    assert looks_like_hl7(text.encode())
    assert [row.bed for row in read(text).rows] == ["4W-12A"]


def test_a_batch_file_is_read_like_its_messages() -> None:
    text = "FHS|^~\\&|S\rBHS|^~\\&|S\r" + message("A01", "4W^12^A") + "BTS|1\rFTS|1\r"
    assert looks_like_hl7(text.encode())
    assert len(read(text).rows) == 1


def test_a_csv_file_does_not_look_like_messages() -> None:
    assert not looks_like_hl7(b"Bed,Initials\n")


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        (message("A13", ""), "segment PV1: field 3, the assigned bed, is empty"),
        (message("A01", ""), "segment PV1: field 3, the assigned bed, is empty"),
        (message("A01", "4W^12^A").split("PV1")[0], "segment PV1 is missing"),
        (message("A01", "4W^12^A").replace("PID|", "PIX|"), "segment PID is missing"),
        (message("A01", f"4W^{'1' * 20}^A"), "segment PV1: field 3, the bed"),
        ("MSH|^~\\&|\r", "segment MSH: no type"),
        ("MSH\r", "segment MSH: not a message"),
    ],
)
def test_a_malformed_message_is_named_by_line_and_segment_and_the_others_are_read(
    broken: str, says: str
) -> None:
    census = read(message("A01", "4W^1^A", visit="V9") + broken + message("A01", "4W^2^A", visit="V8"))
    assert [row.bed for row in census.rows] == ["4W-1A", "4W-2A"]
    assert [each.line for each in census.cannot_read] == [5]
    assert census.cannot_read[0].why.startswith(f"message at line 5, {says}")


def left(text: str, *current: CurrentStay, former: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    """What a file comes to: each step and its bed."""
    return [(step.kind, step.bed) for step in steps(preview(read(text), current, former=former))]


HERE = str(read(message("A01", "4W^12^A")).rows[0].stay)
OTHER = str(read(message("A01", "4W^13^B", visit="V2")).rows[0].stay)
LATER = "202603020900"


@pytest.mark.parametrize("event", ["A03", "A07", "A11"])
def test_who_leaves_becomes_an_outpatient_or_was_never_admitted_leaves_the_bed(event: str) -> None:
    """HL7 v2.5.1 chapter 3.3: A03 discharge, A07 inpatient to outpatient, A11 cancel admit."""
    assert left(message(event, "4W^12^A"), CurrentStay(HERE, "4W-12A")) == [("discharge", "4W-12A")]
    assert left(message("A01", "4W^12^A") + message(event, "4W^12^A", LATER)) == []


@pytest.mark.parametrize("event", ["A04", "A05"])
def test_who_is_registered_or_announced_is_not_admitted(event: str) -> None:
    """Nor by an update after it; the message is counted, and no error."""
    census = read(message(event, "4W^12^A") + message("A08", "4W^12^A", LATER))
    assert steps(preview(census, ())) == ()
    assert not census.cannot_read
    assert any(note.startswith(f"passed over: 1 × ADT^{event}") for note in census.notes)


def test_an_outpatient_who_becomes_an_inpatient_is_admitted() -> None:
    assert left(message("A06", "4W^12^A")) == [("admit", "4W-12A")]


def test_a_withdrawn_transfer_puts_the_patient_where_pv1_3_says() -> None:
    """HL7 v2.5.1, A12: PV1-3 shows the location before the transfer that is withdrawn."""
    back = message("A12", "4W^12^A", LATER, prior="4W^13^B")
    assert left(back, CurrentStay(HERE, "4W-13B")) == [("move", "4W-12A")]
    assert left(message("A02", "4W^13^B", prior="4W^12^A") + back, CurrentStay(HERE, "4W-12A")) == []


def test_a_withdrawn_discharge_brings_the_patient_back() -> None:
    """HL7 v2.5.1, A13: PV1-3 is where the patient is after that, maybe another bed."""
    assert left(message("A13", "4W^14^A"), former=(HERE,)) == [("readmit", "4W-14A")]
    both = message("A03", "4W^12^A") + message("A13", "4W^12^A", LATER)
    assert left(both, CurrentStay(HERE, "4W-12A")) == []


def test_two_patients_change_beds_in_one_message() -> None:
    """HL7 v2.5.1, A17: two groups of PID and PV1."""
    first = message("A17", "4W^13^B", prior="4W^12^A")
    second = message("A17", "4W^12^A", visit="V2", prior="4W^13^B").split("PID", 1)[1]
    here = (CurrentStay(HERE, "4W-12A", "JD"), CurrentStay(OTHER, "4W-13B", "JD"))
    seen = steps(preview(read(f"{first}PID{second}"), here))
    assert sorted((step.kind, step.stay, step.bed) for step in seen) == sorted(
        [("move", HERE, "4W-13B"), ("move", OTHER, "4W-12A")]
    )
    assert "PID is missing, once" in read(first).cannot_read[0].why


def test_two_numbers_of_one_patient_are_a_question_while_the_double_lies_here() -> None:
    """HL7 v2.5.1, A40 and MRG-5: in which bed the one patient is, only a person can see."""
    merge = message("A40", "4W^12^A").replace("PV1|1", "MRG|M8||||V2\rPV1|1")
    here = CurrentStay(HERE, "4W-12A")
    seen = preview(read(merge), (here, CurrentStay(OTHER, "4W-13B")))
    assert "4W-12A and 4W-13B are said to be one" in seen.cannot_read[0].why
    assert steps(seen) == ()
    assert not preview(read(merge), (here,)).cannot_read


def test_other_messages_and_tests_are_counted_and_passed_over() -> None:
    """A result, an event that moves nobody, and a message sent in training (MSH-11, HL7 table 0103)."""
    result = message("A01", "4W^12^A").replace("ADT^A01^ADT_A01", "ORU^R01")
    trained = message("A01", "4W^12^A").replace("|1|P|", "|1|T|")
    census = read(result + message("A60", "4W^12^A") + trained + message("A60", "4W^12^A"))
    assert census.rows == ()
    assert not census.cannot_read
    assert [note for note in census.notes if "passed over" in note] == [
        "passed over: 2 × ADT^A60",
        "passed over: 1 × ORU^R01",
        "passed over: 1 × test message",
    ]


def test_a_message_that_cannot_be_read_holds_its_own_visit() -> None:
    """Admitted to 12A, then moved to a bed nobody can read: not put into 12A; the next visit goes on."""
    text = message("A01", "4W^12^A") + message("A02", "", LATER) + message("A01", "4W^14^A", visit="V9")
    assert left(text) == [("admit", "4W-14A")]
    assert "waits for the one of its visit" in " ".join(read(text).notes)
    told_again = text + message("A02", "4W^13^B", "202603020930")
    assert sorted(left(told_again)) == [("admit", "4W-13B"), ("admit", "4W-14A")]


def test_a_segment_before_any_message_is_named_too() -> None:
    census = read("ZZZ|1\r" + message("A01", "4W^1^A"))
    assert [each.line for each in census.cannot_read] == [1]
    assert len(census.rows) == 1


def test_a_file_without_messages_is_refused() -> None:
    with pytest.raises(CensusRefused, match="no HL7 message"):
        read("\r\r")


def test_escaped_characters_are_undone() -> None:
    r"""HL7 v2.5.1 chapter 2.7: \T\ stands for the ampersand."""
    assert read(message("A01", "4W^1\\T\\2^A")).rows[0].bed == "4W-1&2A"


def test_the_messages_used_here_are_right_by_the_parser() -> None:
    parsed = hl7.parse(message("A01", "4W^12^A"))
    assert (str(parsed["PV1.F3.R1.C2"]), str(parsed["PV1.F19"])) == ("12", "V1")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=120), st.sampled_from([b"", b"MSH|^~\\&|", message("A01", "4W^12^A").encode()]))
def test_any_bytes_are_read_or_refused_in_words(junk: bytes, start: bytes) -> None:
    said = "read"
    try:
        read_hl7(start + junk)
    except CensusRefused as refused:
        said = str(refused)
    assert said == "read" or len(said) > 10
