"""What stands around the facts of a stay: the Encounter, the bed as a Location, and who said so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mobicard import __version__
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.exchange.fhir.resources import Resources

Json = dict[str, Any]


def location(resources: Resources) -> Json:
    """The bed, the same whoever lies in it."""
    bed = resources.facts["bed"]
    return {
        "resourceType": "Location",
        "identifier": [{"system": codes.BED, "value": bed}],
        "status": "active",
        "name": bed,
        "mode": "instance",
        "physicalType": concept(coding(codes.PHYSICAL_TYPE, "bd"), text="Bed"),
    }


def encounter(resources: Resources) -> Json:
    """The stay: in progress until the patient has left."""
    stay = resources.stay
    bed = {
        "location": resources.reference("Location", resources.bed_id()),
        "status": "completed" if stay.left_at else "active",
        **resources.period(stay.moved_at or stay.admitted_at, stay.left_at),
    }
    return {
        "resourceType": "Encounter",
        "identifier": [{"system": codes.STAY, "value": stay.stay}],
        "status": "finished" if stay.left_at else "in-progress",
        "class": coding(codes.INPATIENT, "IMP"),
        "subject": resources.subject,
        **resources.period(stay.admitted_at, stay.left_at),
        "location": [bed],
    }


def provenance(resources: Resources, said: Sequence[Json]) -> Json | None:
    """By whom, with what and when this look was told; none where nobody has looked or nothing is targeted."""
    by, recorded = resources.facts.get("assessed_by"), resources.stay.recorded_at
    if not by or recorded is None or not said:
        return None
    return {
        "resourceType": "Provenance",
        "extension": [{"url": codes.LOOK, "valueString": resources.look}],
        "target": list(said),
        **resources.when("occurredDateTime", resources.facts.get("assessed_at")),
        "recorded": resources.instant(recorded),
        "agent": [_agent("author", by), _agent("assembler", f"mobicard {__version__}")],
    }


def judgement(resources: Resources, level: Json) -> Json | None:
    """By whom and why the level was judged otherwise than derived, while that judgement holds."""
    over = resources.stay.plan.override if resources.stay.plan else None
    recorded = resources.stay.recorded_at
    if over is None or recorded is None:
        return None
    return {
        "resourceType": "Provenance",
        "extension": [{"url": codes.LOOK, "valueString": resources.look}],
        "target": [level],
        **resources.when("occurredDateTime", over.at),
        "recorded": resources.instant(recorded),
        "reason": [concept(text=over.reason)],
        "agent": [_agent("verifier", over.by)],
    }


def _agent(kind: str, who: str) -> Json:
    return {"type": concept(coding(codes.AGENT_TYPE, kind)), "who": {"display": who}}
