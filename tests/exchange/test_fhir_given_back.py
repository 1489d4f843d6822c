"""The reader takes what a server gives back, and passes over what is not ours, one by one and aloud."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from mobicard.cli import run
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.facts import read_record
from tests.exchange.test_fhir import PATIENT, observation, resources, sent

Json = dict[str, Any]
BASE = "https://fhir.example/r4"
ANOTHER = {"resourceType": "Patient", "id": "p9", "identifier": [{"system": "urn:oid:1.2.3", "value": "9"}]}
MOOD = {
    "resourceType": "Observation",
    "status": "final",
    "code": {"text": "mood"},
    "subject": {"reference": "Patient/p9"},
}


def served(style: str) -> Json:
    """The bundle as servers give it back: absolute, relative or versioned, with and without URLs."""
    bundle = sent(PATIENT, transaction=True)
    text = json.dumps(bundle["entry"])
    patient = resources(bundle, "Patient")[0]["id"]
    entries = json.loads(
        text.replace(f'"Patient/{patient}"', f'"{BASE}/Patient/{patient}"') if style != "relative" else text
    )
    for entry in entries:
        kind, id_ = entry["resource"]["resourceType"], entry["resource"]["id"]
        entry.pop("request")
        entry["fullUrl"] = f"{BASE}/{kind}/{id_}"
        if style == "relative":
            del entry["fullUrl"]
        if style == "versioned" and kind == "Patient":
            entry["fullUrl"] += "/_history/3"
    return {"resourceType": "Bundle", "type": "searchset", "entry": entries[::-1]}


@pytest.mark.parametrize("style", ["absolute", "relative", "versioned"])
def test_what_a_server_gives_back_in_any_order_is_equal(style: str) -> None:
    read = from_bundle(served(style))
    assert read.ignored == ()
    assert [record for _, record in read.records] == [read_record({**PATIENT, "label": None})]


def test_another_patient_and_what_is_of_it_are_passed_over_one_by_one() -> None:
    bundle = served("absolute")
    bundle["entry"] += [{"resource": ANOTHER}, {"resource": MOOD}]
    read = from_bundle(bundle)
    assert len(read.records) == 1
    assert [says.partition(": ")[2] for says in read.ignored] == [
        f"the Patient has no identifier of system {codes.STAY}; it is another's",
        "Observation is of no patient of ours in the bundle or of no kind read here",
    ]


def test_a_torn_fact_holds_its_own_stay_and_no_other() -> None:
    """Half a record would read as not assessed; the other patient is read."""
    bundle, other = sent(PATIENT), sent({"bed": "4W-13B", "standing": "unable"})
    text = json.dumps(other).replace('"stay-1"', '"stay-2"')
    for id_ in {entry["resource"]["id"] for entry in other["entry"]}:
        text = text.replace(id_, id_[::-1])
    del observation(bundle, "standing")["valueCodeableConcept"]
    bundle["entry"] += json.loads(text)["entry"]
    read = from_bundle(bundle)
    assert [stay for stay, _ in read.records] == ["stay-2"]
    assert [says.partition(":")[0] for says in read.ignored] == ["stay stay-1"]


def test_a_fact_said_twice_is_never_chosen_between() -> None:
    bundle = sent(PATIENT)
    second = copy.deepcopy(observation(bundle, "29463-7"))
    second["valueQuantity"]["value"] = 60
    bundle["entry"].append({"resource": second})
    read = from_bundle(bundle)
    assert read.records == ()
    assert "weight_kg is said twice" in read.ignored[0]


def test_an_earlier_look_that_the_server_kept_is_history() -> None:
    bundle = sent(PATIENT)
    old = copy.deepcopy(observation(bundle, "standing"))
    old["extension"] = [{"url": codes.LOOK, "valueString": "2026-03-01T19:00:00"}]
    old["valueCodeableConcept"]["coding"][0]["code"] = "steady"
    bundle["entry"].append({"resource": old})
    read = from_bundle(bundle)
    assert read.ignored == ()
    assert read.records[0][1].standing == "supported"


def test_whatever_is_passed_over_is_said_and_the_command_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "back.json"
    bundle = served("absolute")
    file.write_text(json.dumps(bundle), encoding="utf-8")
    assert run(["plan", "--fhir", str(file), "--now", "2026-03-02T08:00"]) == 0
    bundle["entry"].append({"resource": ANOTHER})
    file.write_text(json.dumps(bundle), encoding="utf-8")
    capsys.readouterr()
    assert run(["plan", "--fhir", str(file), "--now", "2026-03-02T08:00"]) == 1
    told = capsys.readouterr()
    assert json.loads(told.out)["record"]["bed"] == "4W-12A"
    assert "it is another's" in told.err
    assert "1 thing was passed over" in told.err
