"""FHIR R4: right by the official schema and two model libraries, published codes only, equal on return."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from fhir.resources.R4B.bundle import Bundle as R4BBundle
from fhirclient.models.bundle import Bundle as R4Bundle
from hypothesis import given, settings

from mobicard.derive import Policy, plan_for
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.bundle_in import FhirRefused, from_bundle
from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts import Record, read_record
from tests.exchange.fhir_codes import problems
from tests.exchange.strategies import FACTS

NOW = datetime(2026, 3, 2, 8, 0)
OFFICIAL = jsonschema.Draft6Validator(
    json.loads(Path(__file__).with_name("fhir_r4.schema.json").read_text(encoding="utf-8"))
)
"""HL7's fhir.schema.json of R4 (id http://hl7.org/fhir/json-schema/4.0), cut to the resources used."""

PATIENT: dict[str, Any] = {
    "bed": "4W-12A",
    "label": "RT",
    "weight_kg": 82.0,
    "assessed_at": "2026-03-02T07:10",
    "assessed_by": "JN",
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "supported",
    "stepping": "pivots",
    "arms": "both",
    "help": {
        "turn": "independent",
        "sit_up": "minimal",
        "chair": "minimal",
        "walk": "refused",
        "boost": "maximal",
    },
    "helpers_used": {"chair": 2},
    "weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}, "left_arm": {"status": "NWB"}},
    "precautions": ["spinal", "bed_rest"],
    "lines": [{"kind": "chest tube", "side": "left", "note": "keep below chest"}],
    "on_before_up": ["cervical collar"],
    "aids": ["gait_belt", "front_wheeled_walker"],
    "communication": {"language": "es", "interpreter": True, "hearing": "right ear"},
    "vitals": {
        "lying": {"sbp": 128, "dbp": 76, "hr": 80},
        "standing_1min": {"sbp": 104, "dbp": 70, "hr": 98},
        "dizzy": True,
    },
    "fall_risk": {
        "instrument": "morse",
        "answers": {
            "history": True,
            "secondary_diagnosis": True,
            "aid": "walker",
            "iv": True,
            "gait": "weak",
            "mental": "oriented",
        },
    },
}

LOW = {
    "history": False,
    "secondary_diagnosis": False,
    "aid": "none",
    "iv": False,
    "gait": "normal",
    "mental": "oriented",
}

PUBLISHED = {
    # answers, list LL4681-4: loinc.org
    *("LA9983-3", "LA10073-7", "LA28225-3", "LA10055-4", "LA11759-0", "LA27665-1"),
    *("LA10058-8", "LA28226-1", "LA28227-9", "LA26735-3"),
    # Morse panel, items, total, level and its answers: loinc.org
    *("59453-1", "59454-9", "59455-6", "59456-4", "59457-2", "59458-0", "59459-8", "59460-6", "59461-4"),
    *("LA13038-7", "LA13039-5", "LA13040-3"),
    # weight, height, breathing, oxygen, pressure panel and its parts: HL7 FHIR R4, vital signs profiles
    *("29463-7", "8302-2", "9279-1", "2708-6", "59408-5", "85354-9", "8480-6", "8462-4"),
    # systolic and diastolic supine, sitting and standing (from memory)
    *("8461-6", "8455-8", "8459-0", "8453-3", "8460-8", "8454-1"),
    # heart rate supine, sitting, standing: loinc.org
    *("68999-2", "69000-8", "69001-6"),
}


def sent(facts: dict[str, Any], *, plan: bool = True, **options: Any) -> dict[str, Any]:
    """The bundle of one patient, through JSON text as a receiver gets it."""
    record = read_record(facts)
    stay = FhirStay("stay-1", record, plan_for(record, Policy(), NOW) if plan else None)
    text = json.dumps(to_bundle([stay], **options), allow_nan=False)
    bundle: dict[str, Any] = json.loads(text)
    return bundle


def resources(bundle: dict[str, Any], kind: str) -> list[dict[str, Any]]:
    return [entry["resource"] for entry in bundle["entry"] if entry["resource"]["resourceType"] == kind]


def observation(bundle: dict[str, Any], code: str) -> dict[str, Any]:
    """The one Observation that carries this code, published or our own."""
    found = [
        each
        for each in resources(bundle, "Observation")
        if code in {coding["code"] for coding in each["code"].get("coding", ())}
    ]
    assert len(found) == 1, f"{len(found)} Observations with {code}"
    return found[0]


def codes_of(node: Any, system: str) -> set[str]:
    """Every code of a system anywhere below."""
    if isinstance(node, dict):
        own = {node["code"]} if node.get("system") == system and "code" in node else set()
        return own.union(*(codes_of(value, system) for value in node.values()))
    return set().union(*(codes_of(value, system) for value in node)) if isinstance(node, list) else set()


def as_sent(record: Record) -> dict[str, Any]:
    """A record's spelling without empty texts and groups, which say no more than absent ones."""

    def bare(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: kept for key, each in value.items() if (kept := bare(each)) not in ("", {})}
        return [bare(each) for each in value] if isinstance(value, list) else value

    return bare(record.as_json())


@pytest.mark.parametrize("zone", [None, "America/Chicago"])
def test_a_full_bundle_is_right_by_the_official_r4_schema(zone: str | None) -> None:
    bundle = sent(PATIENT, timezone=zone)
    assert [error.message[:200] for error in OFFICIAL.iter_errors(bundle)] == []


def test_the_official_schema_used_here_refuses_what_r4_refuses() -> None:
    """The cut-down schema still has teeth: a wrong status and an unknown element are refused."""
    for key, value in (("status", "bogus"), ("mood", "fine"), ("effectiveDateTime", "2026-03-02T07:10")):
        bundle = sent(PATIENT)
        resources(bundle, "Observation")[0][key] = value
        assert not OFFICIAL.is_valid(bundle), key


def test_model_libraries_of_r4_and_r4b_take_the_bundle() -> None:
    """fhirclient models R4 4.0.1 exactly; fhir.resources has R4B, near to it, not the same."""
    bundle = sent(PATIENT, timezone="America/Chicago")
    assert len(R4Bundle(json.loads(json.dumps(bundle)), strict=True).entry) == len(bundle["entry"])
    assert len(R4BBundle.model_validate(json.loads(json.dumps(bundle))).entry) == len(bundle["entry"])


def test_every_loinc_number_is_a_published_one_and_passes_its_check_digit() -> None:
    bundle = sent(PATIENT)
    carried = codes_of(bundle, "http://loinc.org")
    assert len(carried) >= 20
    assert carried <= PUBLISHED
    assert problems(bundle) == []


@pytest.mark.parametrize(
    ("path", "value"),
    [("status", "bogus"), ("category", "weather"), ("loinc", "29463-8"), ("unit", "stone")],
)
def test_wrong_codes_are_found_which_model_libraries_let_pass(path: str, value: str) -> None:
    bundle = sent(PATIENT)
    weight = observation(bundle, "29463-7")
    if path == "status":
        weight["status"] = value
    elif path == "category":
        weight["category"][0]["coding"][0]["code"] = value
    elif path == "loinc":
        weight["code"]["coding"][0]["code"] = value
    else:
        weight["valueQuantity"]["code"] = value
    assert len(problems(bundle)) == 1
    assert value in problems(bundle)[0]


def test_help_by_two_goes_out_with_the_answer_that_says_two() -> None:
    """Two helpers are 01 (CMS GG0170). LOINC of 01 LA27665-1: loinc.org."""
    chair = observation(sent(PATIENT), "chair")
    assert codes_of(chair["valueCodeableConcept"], "http://loinc.org") == {"LA27665-1"}
    assert chair["component"][0]["valueInteger"] == 2


@pytest.mark.parametrize(
    ("help_", "answer"),
    [  # CMS GG0170 code, then its LOINC answer of list LL4681-4 (loinc.org)
        ("independent", "LA9983-3"),  # 06
        ("setup", "LA10073-7"),  # 05
        ("contact_guard", "LA28225-3"),  # 04
        ("minimal", "LA10055-4"),  # 03
        ("maximal", "LA11759-0"),  # 02
        ("refused", "LA10058-8"),  # 07
        ("not_applicable", "LA28226-1"),  # 09
        ("not_attempted_environment", "LA28227-9"),  # 10
        ("not_attempted_safety", "LA26735-3"),  # 88
    ],
)
def test_each_help_has_its_published_answer(help_: str, answer: str) -> None:
    walk = observation(sent({"bed": "1", "help": {"walk": help_}}), "walk")
    assert codes_of(walk["valueCodeableConcept"], "http://loinc.org") == {answer}
    assert codes_of(walk["valueCodeableConcept"], codes.HELP) == {help_}


@pytest.mark.parametrize("help_", ["moderate", "total"])
def test_an_answer_whose_published_meaning_is_another_is_not_sent(help_: str) -> None:
    """03 is less than half, 02 more than half, 01 all of it (CMS GG0170): half and most are none of these."""
    walk = observation(sent({"bed": "1", "help": {"walk": help_}}), "walk")
    assert codes_of(walk["valueCodeableConcept"], "http://loinc.org") == set()
    assert codes_of(walk["valueCodeableConcept"], codes.HELP) == {help_}


def test_one_look_is_not_sent_as_an_assessment_over_three_days() -> None:
    """83204-8 and its like are the 3-day performance set (loinc.org)."""
    walk = observation(sent({"bed": "1", "help": {"walk": "minimal"}}), "walk")
    assert codes_of(walk["code"], "http://loinc.org") == set()


def test_a_move_without_a_section_gg_item_carries_no_loinc_number() -> None:
    boost = observation(sent(PATIENT), "boost")
    assert codes_of(boost, "http://loinc.org") == set()


def test_morse_goes_out_as_panel_items_total_and_level() -> None:
    """25 + 15 + 15 + 20 + 10 + 0 = 85, above 45 high: Morse 1989, AHRQ Tool 3H. LOINC: loinc.org."""
    bundle = sent(PATIENT)
    panel = observation(bundle, "59453-1")
    items = {code for part in panel["component"] for code in codes_of(part["code"], "http://loinc.org")}
    assert items == {"59454-9", "59455-6", "59456-4", "59457-2", "59458-0", "59459-8"}
    assert observation(bundle, "59460-6")["valueInteger"] == 85
    assert codes_of(observation(bundle, "59461-4")["valueCodeableConcept"], "http://loinc.org") == {
        "LA13040-3"
    }
    assert observation(bundle, "59460-6")["status"] == "final"


def test_a_score_with_an_open_item_goes_out_as_a_range_and_preliminary() -> None:
    """Only history answered: 25 to 125 is the whole range left (Morse 1989, AHRQ Tool 3H)."""
    bundle = sent({"bed": "1", "fall_risk": {"instrument": "morse", "answers": {"history": True}}})
    total = observation(bundle, "59460-6")
    assert (total["valueRange"]["low"]["value"], total["valueRange"]["high"]["value"]) == (25, 125)
    assert total["status"] == "preliminary"


def test_a_band_cut_elsewhere_sends_no_published_answer() -> None:
    """LOINC 59461-4: high from 50. With high cut at 25 a total of 25 is high here and moderate there."""
    record = read_record(
        {"bed": "1", "fall_risk": {"instrument": "morse", "answers": {**LOW, "history": True}}}
    )
    policy = Policy.model_validate({"fall_risk": {"bands": {"morse": {"low": 0, "high": 25}}}})
    bundle = to_bundle([FhirStay("stay-1", record, plan_for(record, policy, NOW))])
    value = observation(bundle, "59461-4")["valueCodeableConcept"]
    assert codes_of(value, codes.BAND) == {"high"}
    assert codes_of(value, "http://loinc.org") == set()


def test_pressure_is_the_panel_with_its_parts_in_each_position() -> None:
    """R4 blood pressure profile: panel 85354-9, components 8480-6 and 8462-4, category vital-signs."""
    facts = {"bed": "1", "vitals": {"sitting": {"sbp": 120, "dbp": 70}}}
    sitting = observation(sent(facts), "pressure_sitting")
    assert "85354-9" in codes_of(sitting["code"], "http://loinc.org")
    parts = [codes_of(part["code"], "http://loinc.org") for part in sitting["component"]]
    assert parts == [{"8480-6", "8459-0"}, {"8462-4", "8453-3"}]
    assert sitting["category"][0]["coding"][0]["code"] == "vital-signs"


def test_what_nobody_asked_says_so() -> None:
    """R4 data-absent-reason: not-asked, not-performed."""
    bundle = sent({"bed": "1", "assessed_at": "2026-03-02T07:10"})
    assert codes_of(observation(bundle, "standing")["dataAbsentReason"], codes.ABSENT) == {"not-asked"}
    assert codes_of(observation(bundle, "29463-7")["dataAbsentReason"], codes.ABSENT) == {"not-performed"}
    assert from_bundle(bundle).records[0][1].standing is None


def test_precautions_and_fall_risk_are_active_safety_flags() -> None:
    """FHIR R4 Flag: active warning, category safety of flag-category (hl7.org/fhir/R4/flag.html)."""
    flags = resources(sent(PATIENT), "Flag")
    assert {flag["status"] for flag in flags} == {"active"}
    assert {flag["category"][0]["coding"][0]["code"] for flag in flags} == {"safety"}
    assert [flag["code"]["text"] for flag in flags] == [
        "Precaution: spinal",
        "Precaution: bed rest",
        "Fall risk: high (morse)",
    ]


def test_a_low_score_raises_no_flag() -> None:
    """All six answered at 0 points: total 0, below 25 low (AHRQ Tool 3H)."""
    assert resources(sent({"bed": "1", "fall_risk": {"instrument": "morse", "answers": LOW}}), "Flag") == []


def test_nobody_is_named_and_initials_stay_at_home_unless_asked_for() -> None:
    patient = resources(sent(PATIENT), "Patient")[0]
    assert not {"name", "birthDate", "telecom", "address", "gender", "photo"} & set(patient)
    assert "RT" not in json.dumps(patient)
    assert "RT" in json.dumps(resources(sent(PATIENT, labels=True), "Patient")[0])


def test_an_hour_without_a_time_zone_stays_out_of_the_standard_field() -> None:
    """R4 dateTime: an hour shall have a time zone (hl7.org/fhir/R4/datatypes.html#dateTime)."""
    assert observation(sent(PATIENT), "29463-7")["effectiveDateTime"] == "2026-03-02"
    placed = observation(sent(PATIENT, timezone="America/Chicago"), "29463-7")
    assert placed["effectiveDateTime"] == "2026-03-02T07:10:00-06:00"


def test_a_timestamp_goes_out_only_with_its_offset() -> None:
    """R4 instant: a time zone is mandatory (hl7.org/fhir/R4/datatypes.html#instant)."""
    assert "timestamp" not in sent(PATIENT, made_at=NOW)
    placed = sent(PATIENT, made_at=NOW, timezone="America/Chicago")
    assert placed["timestamp"] == "2026-03-02T08:00:00-06:00"
    assert OFFICIAL.is_valid(placed)


def test_an_expired_plan_goes_out_as_the_most_cautious_level() -> None:
    facts = {**PATIENT, "assessed_at": "2026-02-01T07:10"}
    level = observation(sent(facts), "level")
    assert level["valueCodeableConcept"]["text"] == "REMAIN"
    assert all("valueInteger" not in part for part in level["component"])


def test_the_same_input_gives_the_same_bundle() -> None:
    assert sent(PATIENT) == sent(PATIENT)


@settings(max_examples=60, deadline=None)
@given(FACTS)
def test_what_was_sent_reads_back_equal_and_is_right_r4(facts: dict[str, Any]) -> None:
    record = read_record(facts)
    bundle = sent(facts, plan=False, timezone="Europe/Zurich", labels=True)
    assert [error.message[:200] for error in OFFICIAL.iter_errors(bundle)] == []
    read = from_bundle(bundle)
    assert read.ignored == ()
    assert [(stay, as_sent(back)) for stay, back in read.records] == [("stay-1", as_sent(record))]


def test_what_was_derived_is_never_read_back_as_a_fact() -> None:
    assert from_bundle(sent(PATIENT)) == from_bundle(sent(PATIENT, plan=False))


def test_two_patients_in_one_bundle_stay_apart() -> None:
    one, two = read_record(PATIENT), read_record({"bed": "4W-13B", "standing": "unable", "aids": ["cane"]})
    bundle = to_bundle([FhirStay("a", one), FhirStay("b", two)], labels=True)
    assert from_bundle(bundle).records == (("a", one), ("b", two))


def test_a_fact_withdrawn_by_another_program_is_absent_not_fine() -> None:
    bundle = sent(PATIENT)
    observation(bundle, "standing")["status"] = "entered-in-error"
    assert from_bundle(bundle).records[0][1].standing is None


def test_a_resource_that_is_not_understood_is_listed() -> None:
    bundle = sent(PATIENT)
    strange = {**observation(bundle, "standing"), "code": {"text": "mood"}}
    bundle["entry"].append({"fullUrl": "urn:uuid:1", "resource": strange})
    assert [says.partition(": ")[2] for says in from_bundle(bundle).ignored] == [
        "Observation “mood” is not understood"
    ]


@pytest.mark.parametrize(
    ("broken", "says"),
    [
        ([], "no FHIR Bundle"),
        ({"resourceType": "Patient"}, "no FHIR Bundle"),
        ({"resourceType": "Bundle", "entry": 3}, "no list"),
        ({"resourceType": "Bundle", "entry": [3]}, "entry 0 holds no resource"),
    ],
)
def test_a_bundle_that_cannot_be_read_is_refused_in_words(broken: Any, says: str) -> None:
    with pytest.raises(FhirRefused, match=says):
        from_bundle(broken)


def test_an_impossible_fact_names_the_stay_and_the_field() -> None:
    bundle = sent(PATIENT)
    observation(bundle, "29463-7")["valueQuantity"]["value"] = 9000
    read = from_bundle(bundle)
    assert read.records == ()
    assert [says.startswith("stay stay-1: weight_kg: 9000 is too large") for says in read.ignored] == [True]


@pytest.mark.parametrize("key", ["code", "valueQuantity", "subject"])
def test_any_missing_part_is_refused_or_listed_never_a_traceback(key: str) -> None:
    bundle = sent(PATIENT)
    del observation(bundle, "29463-7")[key]
    assert "Observation" in str(from_bundle(bundle).ignored)
