"""One sweep over the facts: none is taken in and then lost on the way to the form, the card, JSON or FHIR.

A new fact is named here by a value that differs from the well patient's; without one the first test fails.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest

from mobicard import scheme
from mobicard.derive import Policy, plan_for
from mobicard.exchange.fhir.bundle_in import from_bundle
from mobicard.exchange.fhir.bundle_out import to_bundle
from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts import Record, read_record
from mobicard.facts.record import THREE_VALUED
from mobicard.paper.bedside.card import bedside_html
from mobicard.paper.door.face import BedCard
from tests.paper.reading import Reader
from tests.records import SEEN

NOW = datetime(2026, 3, 2, 8, 0)
HOUSE = scheme.load()
WELL = {"bed": "5N-01", **SEEN, "weight_kg": 70, "assessed_at": "2026-03-02T07:10", "assessed_by": "JN"}
OTHER: dict[str, Any] = {
    "bed": "5N-02",
    "label": "RT",
    "weight_kg": 200,
    "weight_by_eye": "to_180_kg",
    "height_cm": 150,
    "assessed_at": "2026-03-01T06:10",
    "assessed_by": "AB",
    "alertness": "voice",
    "directions": "unable",
    "behavior": "combative",
    "sitting": "unable",
    "standing": "unable",
    "stepping": "unable",
    "arms": "neither",
    "weak_side": "left",
    "neglect": "left",
    "legs": {"left_leg": {"straight_leg_raise": False, "block": {"scale": "bromage", "number": 2}}},
    "skin_risk": "high",
    "sore_sites": ["sacrum"],
    "pregnancy_weeks": 24,
    "help": {"chair": "maximal"},
    "helpers_used": {"chair": 3},
    "weight_bearing": {"left_leg": {"status": "NWB"}},
    "precautions": ["sternal"],
    "lines": [{"kind": "chest tube", "side": "left", "note": "keep below chest"}],
    "on_before_up": ["cervical collar"],
    "aids": ["front_wheeled_walker"],
    "proficient_with": ["crutches"],
    "communication": {"language": "es", "interpreter": True, "hearing": "right ear"},
    "vitals": {
        "lying": {"sbp": 128, "dbp": 76},
        "standing_1min": {"sbp": 100, "dbp": 60},
        "dizzy": True,
        "target_88_92": True,
    },
    "fall_risk": {"instrument": "morse", "answers": {"history": True, "gait": "impaired"}},
    "fall_event": {
        "at": "2026-03-02T07:40",
        "head_strike": "yes",
        "cleared_by": "MD",
        "cleared_at": "2026-03-02T07:55",
        "head": "clear",
        "spine": "suspected",
        "bones": "cannot_say",
        "lift_as": "flat",
    },
    "head_watch": {
        "at": "2026-03-02T07:40",
        "seen": "below",
        "noted_at": "2026-03-02T07:50",
        "noted_by": "AB",
    },
    "pressure_drop": {"at": "2026-03-01T07:40", "sbp": 24, "dbp": 14},
    "readings_cleared": {"at": "2026-03-02T07:40", "by": "Dr NN"},
    "child": True,
    "operation": {"at": "2026-03-02T07:40", "what": "hip nailing", "by": "AB"},
    "orders": [{"what": "bed_rest", "at": "2026-03-01T07:40", "by": "AB", "until": "2026-03-02T14:00"}],
    "ended": [{"what": "left_leg", "at": "2026-03-02T07:40", "by": "Dr NN"}],
    "turn_every_h": 2,
    "toilet_every_h": 3,
    "goals": [{"task": "chair", "times_per_shift": 3}],
    "appointments": [{"task": "stretcher", "at": "2026-03-02T10:00"}],
    "override": {"level": "HOIST", "reason": "very weak today", "by": "JN", "at": "2026-03-02T07:30"},
}
"""For every fact a value that is not the well patient's."""

BESIDE = {"orders": {"precautions": ["bed_rest"]}}
"""What else is recorded where a fact is told to another system."""

NOT_IN_THE_CODE = {
    "proficient_with": "counts only where a leg is limited and crutches are at the bed, and does so then",
    "readings_cleared": "counts only beside a reading outside the limits, and does so then",
    "weight_by_eye": "counts only where no weight was measured, and does so then",
    "label": "printed on a door only where the policy says so",
    "height_cm": "printed by no card; it only turns a weight into a body mass index",
    "assessed_by": "counts once the plan has expired: the same findings by another leave the door as it is",
    "ended": "an entry of its moment: what it ended is printed no more",
    "appointments": "on the day plan and the handoff, which carry no code",
}


NOT_AT_THE_BED = {
    "weight_by_eye": "counts only where no weight was measured, and is printed then",
    "height_cm": "it only turns a weight into a body mass index",
    "proficient_with": "counts only where crutches are at the bed, and is printed then",
    "readings_cleared": "counts only beside a reading outside the limits, and is printed then",
    "orders": "the age of what the precautions and limbs already say, and printed beside them",
    "ended": "an entry of its moment",
}
"""Facts the bedside card of an otherwise well patient does not print."""


def record(**facts: Any) -> Record:
    return read_record({**WELL, **facts})


def code(found: Record) -> str:
    return plan_for(found, Policy(), NOW).code


@pytest.mark.parametrize("fact", THREE_VALUED)
def test_asked_and_none_is_an_answer(fact: str) -> None:
    """Nobody asked, and asked and none, are two things: in JSON, in FHIR, in the plan and in its code."""
    none = record(**{fact: {} if fact in ("weight_bearing", "communication") else []})
    assert fact in none.as_json()
    assert none != record()
    assert read_record(none.as_json()) == none
    bundle = to_bundle([FhirStay("s1", none)], timezone="Europe/Zurich", labels=True)
    assert from_bundle(bundle).records == (("s1", none),)
    assert fact in plan_for(record(), Policy(), NOW).not_assessed
    assert fact not in plan_for(none, Policy(), NOW).not_assessed
    assert code(none) != code(record())
    assert record(**{fact: "none"}) == none
    assert record(**{fact: None}) == record()


def test_every_fact_is_in_this_sweep() -> None:
    """A fact that is new or gone is named."""
    assert set(OTHER) == set(Record.model_fields)


@pytest.mark.parametrize("fact", OTHER)
def test_a_fact_comes_back_equal_from_json(fact: str) -> None:
    changed = record(**{fact: OTHER[fact]})
    assert getattr(changed, fact) != getattr(record(), fact)
    assert read_record(changed.as_json()) == changed


@pytest.mark.parametrize("fact", OTHER)
def test_a_fact_comes_back_equal_from_fhir(fact: str) -> None:
    """Initials leave the house only when asked for."""
    changed = record(**{fact: OTHER[fact], **BESIDE.get(fact, {})})
    bundle = to_bundle([FhirStay("s1", changed)], timezone="Europe/Zurich", labels=True)
    assert from_bundle(bundle).records == (("s1", changed),)


@pytest.mark.parametrize("fact", OTHER)
def test_a_fact_that_cards_print_is_in_their_code(fact: str) -> None:
    """Another answer, another code, so that the old card no longer matches; the others are exempt by name."""
    moved = code(record(**{fact: OTHER[fact]})) != code(record())
    assert moved is (fact not in NOT_IN_THE_CODE)


def at_the_bed(found: Record) -> str:
    """The words of the bedside card, its code left out, which every fact in it would move."""
    plan = replace(plan_for(found, Policy(), NOW), code="4E35JB")
    return Reader(bedside_html((BedCard(plan, found),), HOUSE, NOW)).text


@pytest.mark.parametrize("fact", OTHER)
def test_a_fact_is_printed_at_the_bed(fact: str) -> None:
    """Another answer, other words on the bedside card; the others are exempt by name."""
    printed = at_the_bed(record(**{fact: OTHER[fact]})) != at_the_bed(record())
    assert printed is (fact not in NOT_AT_THE_BED)


def test_nothing_is_exempt_that_is_no_fact() -> None:
    assert set(NOT_IN_THE_CODE) <= set(Record.model_fields)
    assert set(NOT_AT_THE_BED) <= set(Record.model_fields)
