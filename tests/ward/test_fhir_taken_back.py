"""What was once sent as FHIR and does not hold any more is taken back, by the same address."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from typing import Any

import jsonschema
import pytest

from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.exchange.fhir.codes import code_in
from mobicard.facts import Record
from mobicard.facts.words import Level
from mobicard.ward import BedView, Clock, Ward
from mobicard.ward.corrections import withdraw
from mobicard.ward.reader.exporting import fhir_since_text
from tests.conftest import MORNING
from tests.exchange.fhir_codes import problems
from tests.exchange.test_fhir import OFFICIAL
from tests.records import assessed

Json = dict[str, Any]


def look(ward: Ward, view: BedView, at: datetime, **facts: Any) -> BedView:
    """A look at the patient at a ward time, saved at it."""
    ward.clock = Clock.fixed(at)
    return ward.save(view.stay, seen(view.bed, at, **facts), ward.bed(view.stay).version)


def seen(bed: str, at: datetime, **facts: Any) -> Record:
    return assessed(bed, assessed_at=at, assessed_by="JN", **facts)


def sent(ward: Ward, since: datetime) -> dict[str, Json]:
    """What goes to a server, by address; each valid by the official schema."""
    bundle = json.loads("".join(fhir_since_text(ward, None, since, transaction=True)))
    assert [error.message[:200] for error in OFFICIAL.iter_errors(bundle)] == []
    assert problems(bundle) == []
    urls = [entry["request"]["url"] for entry in bundle["entry"]]
    assert len(set(urls)) == len(urls), "each address is put once"
    return {entry["request"]["url"]: entry["resource"] for entry in bundle["entry"]}


def of_kind(resources: dict[str, Json], kind: str) -> list[Json]:
    return [each for each in resources.values() if each["resourceType"] == kind]


def flag(resources: dict[str, Json], precaution: str) -> Json:
    (found,) = [
        each for each in of_kind(resources, "Flag") if code_in(each["code"], codes.PRECAUTION) == precaution
    ]
    return found


def tells(resources: dict[str, Json], fact: str, look_at: datetime) -> Json:
    """The Observation of a fact at one look."""
    at = {"url": codes.LOOK, "valueString": look_at.isoformat()}
    (found,) = [
        each
        for each in of_kind(resources, "Observation")
        if fact in (code_in(each["code"], codes.FACT), code_in(each["code"], codes.DERIVED))
        and at in each["extension"]
    ]
    return found


def last_record(ward: Ward, view: BedView) -> int:
    """The version of the entry that recorded the bed last."""
    return max(entry.version for entry in ward.ledger.history(view.stay) if entry.kind == "record")


def clock(at: datetime) -> Json:
    """The ward's own hour beside a date that goes out without one."""
    return {"extension": [{"url": codes.CLOCK, "valueString": at.isoformat()}]}


EIGHT, NINE, TEN = (MORNING + timedelta(hours=hours) for hours in range(3))


@pytest.fixture
def view(ward: Ward) -> BedView:
    """Looked at at eight: bed rest ordered, half the weight on the left leg."""
    admitted = ward.stays.admit("5N-01")
    limits = {"left_leg": {"status": "PWB", "percent": 50}}
    return look(
        ward,
        admitted,
        EIGHT,
        precautions=["bed_rest", "sternal"],
        weight_bearing=limits,
        goals=[{"task": "chair", "times_per_shift": 2}],
    )


def test_a_lifted_order_sends_its_flag_inactive_with_the_time_it_ended(ward: Ward, view: BedView) -> None:
    first = flag(sent(ward, EIGHT), "bed_rest")
    assert (first["status"], "end" in first["period"]) == ("active", False)
    ward.clock = Clock.fixed(NINE)
    ward.order_over(ward.bed(view.stay), "bed_rest", "Dr A")
    after = sent(ward, NINE)
    lifted = flag(after, "bed_rest")
    assert lifted["id"] == first["id"]
    assert lifted["status"] == "inactive"
    assert lifted["period"]["end"] == "2026-03-02T09:00:00+00:00"
    assert flag(after, "sternal")["status"] == "active"


def test_a_flag_began_when_it_was_first_told_and_again_when_it_was_told_again(
    ward: Ward, view: BedView
) -> None:
    look(ward, view, NINE, precautions=["bed_rest", "sternal"])
    assert flag(sent(ward, NINE), "sternal")["period"]["_start"] == clock(EIGHT)
    ward.clock = Clock.fixed(TEN)
    ward.order_over(ward.bed(view.stay), "sternal", "Dr A")
    again = TEN + timedelta(hours=1)
    assert flag(sent(ward, NINE), "sternal")["period"]["_start"] == clock(EIGHT)
    look(ward, view, again, precautions=["bed_rest", "sternal"])
    assert flag(sent(ward, NINE), "sternal")["period"]["_start"] == clock(again)


def test_a_lifted_limb_order_is_said_to_be_none_in_place_of_the_old_one(ward: Ward, view: BedView) -> None:
    """The order ends without a new look: the same Observation, amended."""
    first = tells(sent(ward, EIGHT), "weight_bearing", EIGHT)
    ward.clock = Clock.fixed(NINE)
    ward.order_over(ward.bed(view.stay), "left_leg", "Dr A")
    now = tells(sent(ward, NINE), "weight_bearing", EIGHT)
    assert now["id"] == first["id"]
    assert now["status"] == "amended"
    assert code_in(now["valueCodeableConcept"], codes.STATUS) == codes.NO_ORDER


def test_a_new_look_has_addresses_of_its_own_and_leaves_the_old_one_true(ward: Ward, view: BedView) -> None:
    first = tells(sent(ward, EIGHT), "standing", EIGHT)
    look(ward, view, NINE, standing="unable", precautions=["sternal"])
    after = sent(ward, EIGHT)
    second = tells(after, "standing", NINE)
    assert second["id"] != first["id"]
    assert code_in(second["valueCodeableConcept"], codes.answers("standing")) == "unable"
    assert tells(after, "standing", EIGHT)["status"] == "final"


def test_the_plan_of_the_look_before_is_revoked(ward: Ward, view: BedView) -> None:
    look(ward, view, NINE, standing="unable")
    plans = {each["extension"][0]["valueString"]: each for each in of_kind(sent(ward, EIGHT), "CarePlan")}
    assert plans[EIGHT.isoformat()]["status"] == "revoked"
    assert plans[EIGHT.isoformat()]["period"]["end"] == "2026-03-02T09:00:00+00:00"
    assert plans[NINE.isoformat()]["status"] == "active"


def test_a_plan_that_ended_by_itself_is_revoked_and_its_level_amended(ward: Ward, view: BedView) -> None:
    """Nothing was entered since: the time alone ended it."""
    ended = ward.bed(view.stay).plan.valid_until
    assert ended is not None
    ward.clock = Clock.fixed(ended + timedelta(minutes=5))
    after = sent(ward, ended - timedelta(minutes=5))
    (plan,) = of_kind(after, "CarePlan")
    assert plan["status"] == "revoked"
    level = tells(after, "level", EIGHT)
    assert (level["status"], level["valueCodeableConcept"]["text"]) == ("amended", "REMAIN")


def test_a_withdrawn_entry_is_in_error_and_what_stood_before_stands(ward: Ward, view: BedView) -> None:
    second = look(ward, view, NINE, standing="unable", precautions=["bed_rest", "sternal", "no_gait_belt"])
    assert flag(sent(ward, NINE), "no_gait_belt")["status"] == "active"
    ward.clock = Clock.fixed(TEN)
    withdraw(ward, second, last_record(ward, view), "another patient")
    after = sent(ward, TEN)
    assert tells(after, "standing", NINE)["status"] == "entered-in-error"
    assert flag(after, "no_gait_belt")["status"] == "entered-in-error"
    assert flag(after, "bed_rest")["status"] == "active"
    assert tells(after, "standing", EIGHT)["status"] == "final"
    states = {each["extension"][0]["valueString"]: each["status"] for each in of_kind(after, "CarePlan")}
    assert states == {EIGHT.isoformat(): "active", NINE.isoformat(): "entered-in-error"}


def test_a_correction_of_the_same_look_is_corrected(ward: Ward, view: BedView) -> None:
    wrong = last_record(ward, view)
    right = seen(view.bed, EIGHT, standing="unable", precautions=["bed_rest", "sternal"])
    ward.clock = Clock.fixed(NINE)
    ward.correct(view.stay, wrong, right, "wrong key", ward.bed(view.stay).version)
    standing = tells(sent(ward, NINE), "standing", EIGHT)
    assert standing["status"] == "corrected"
    assert code_in(standing["valueCodeableConcept"], codes.answers("standing")) == "unable"


def test_who_has_left_leaves_nothing_active_behind(ward: Ward, view: BedView) -> None:
    ward.clock = Clock.fixed(NINE)
    ward.stays.discharge(ward.bed(view.stay))
    after = sent(ward, NINE)
    (encounter,) = of_kind(after, "Encounter")
    assert (encounter["status"], encounter["period"]["end"]) == ("finished", "2026-03-02T09:00:00+00:00")
    assert {each["status"] for each in of_kind(after, "Flag")} == {"inactive"}
    assert {each["status"] for each in of_kind(after, "CarePlan")} == {"revoked"}
    assert {each["lifecycleStatus"] for each in of_kind(after, "Goal")} == {"cancelled"}
    assert {each["status"] for each in of_kind(after, "DeviceUseStatement")} <= {"completed"}
    assert [each["active"] for each in of_kind(after, "Patient")] == [False]
    assert from_bundle(
        {"resourceType": "Bundle", "entry": [{"resource": each} for each in after.values()]}
    ).left


def test_what_is_sent_twice_is_the_same(ward: Ward, view: BedView) -> None:
    look(ward, view, NINE, standing="unable")
    assert sent(ward, EIGHT) == sent(ward, EIGHT)


def test_an_untouched_bed_is_not_sent(ward: Ward, view: BedView) -> None:
    ward.clock = Clock.fixed(NINE)
    assert sent(ward, EIGHT + timedelta(minutes=1)) == {}


def test_who_said_so_and_with_what_stands_beside_each_look(ward: Ward, view: BedView) -> None:
    (by,) = of_kind(sent(ward, EIGHT), "Provenance")
    agents = {agent["type"]["coding"][0]["code"]: agent["who"]["display"] for agent in by["agent"]}
    assert agents["author"] == "JN"
    assert agents["assembler"].startswith("mobicard ")
    assert len(by["target"]) > 10


def test_a_judgement_names_who_made_it(ward: Ward, view: BedView) -> None:
    second = look(ward, ward.stays.admit("5N-02"), NINE)
    ward.call_me("PT")
    ward.override(second, Level.HOIST, "weak tonight")
    judged = [each for each in of_kind(sent(ward, NINE), "Provenance") if "reason" in each]
    assert [each["agent"][0]["who"]["display"] for each in judged] == ["PT"]
    assert judged[0]["reason"][0]["text"] == "weak tonight"


def test_the_schema_here_knows_the_kinds_that_are_sent(ward: Ward, view: BedView) -> None:
    """A CarePlan of a wrong shape is refused: the cut-down schema has teeth for the new kinds too."""
    (plan,) = of_kind(sent(ward, EIGHT), "CarePlan")
    with pytest.raises(jsonschema.ValidationError):
        OFFICIAL.validate({**plan, "activity": {}})
