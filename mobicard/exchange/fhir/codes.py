"""The code systems of the FHIR R4 bundle: published codes where there are any, else our own names.

Clinical codes are those of ``derive.functional_codes`` and the instrument files, no others.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from mobicard.derive import fall_risk
from mobicard.derive import functional_codes as codes
from mobicard.derive.instrument import Instrument
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Help, Task

LOINC: Final = "http://loinc.org"
UCUM: Final = "http://unitsofmeasure.org"
OBSERVATION_CATEGORY: Final = "http://terminology.hl7.org/CodeSystem/observation-category"
FLAG_CATEGORY: Final = "http://terminology.hl7.org/CodeSystem/flag-category"
BCP_47: Final = "urn:ietf:bcp:47"
INTERPRETER: Final = "http://hl7.org/fhir/StructureDefinition/patient-interpreterRequired"

INPATIENT: Final = "http://terminology.hl7.org/CodeSystem/v3-ActCode"
PHYSICAL_TYPE: Final = "http://terminology.hl7.org/CodeSystem/location-physical-type"
ABSENT: Final = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
AGENT_TYPE: Final = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"

CANONICAL: Final = "https://w3id.org/mobicard/fhir"
"""Where our own definitions are published, under an address that any project may ask to have pointed at it.

Not registered yet: whoever publishes them elsewhere changes this line and nothing else.
"""


def own_system(name: str) -> str:
    """The canonical of one of our code systems."""
    return f"{CANONICAL}/CodeSystem/{name}"


def own_structure(name: str) -> str:
    """The canonical of one of our extensions."""
    return f"{CANONICAL}/StructureDefinition/{name}"


def own_names(name: str) -> str:
    """The system of one of our identifiers."""
    return f"{CANONICAL}/sid/{name}"


FACT: Final = own_system("fact")
TASK: Final = own_system("task")
HELP: Final = own_system("help")
LIMB: Final = own_system("limb")
STATUS: Final = own_system("weight-bearing")
PRECAUTION: Final = own_system("precaution")
DEVICE: Final = own_system("device")
USE: Final = own_system("use")
SIDE: Final = own_system("side")
INSTRUMENT: Final = own_system("instrument")
ITEM: Final = own_system("fall-risk-item")
ITEM_ANSWER: Final = own_system("fall-risk-answer")
BAND: Final = own_system("fall-risk-band")
LEVEL: Final = own_system("level")
DERIVED: Final = own_system("derived")

RECORD: Final = own_structure("record")
"""Extension of Patient for the facts R4 has no plain place for; structured ones as JSON text."""
CLOCK: Final = own_structure("wall-clock")
NOTICE: Final = own_structure("notice")
LOOK: Final = own_structure("look")
"""Extension of whatever belongs to one look at the patient: the ward time of the look."""
PLACE: Final = own_structure("place")
"""Extension of what stands in a list of the record: its place there; a server keeps no order."""

STAY: Final = own_names("stay")
BED: Final = own_names("bed")
STATEMENT: Final = own_names("statement")

NO_ORDER: Final = "no_order"
"""Of a limb that had an order: it has none any more."""

POSITIONS: Final = ("lying", "sitting", "standing_1min", "standing_3min")


def coding(system: str, code: str) -> dict[str, str]:
    """A Coding."""
    return {"system": system, "code": code}


def concept(*codings: dict[str, str], text: str | None = None) -> dict[str, Any]:
    """A CodeableConcept."""
    out: dict[str, Any] = {"coding": list(codings)} if codings else {}
    return {**out, "text": text} if text else out


def answers(fact: str) -> str:
    """The code system of the answers to a fact that is one word of a list."""
    return own_system(f"answer-{fact.replace('_', '-')}")


def own_code(name: str) -> dict[str, Any]:
    """Our own name of a fact, as a CodeableConcept."""
    return concept(coding(FACT, name), text=name.replace("_", " "))


def absent(reason: str) -> dict[str, Any]:
    """Why an Observation has no value: not-asked, not-performed (R4, data-absent-reason)."""
    return concept(coding(ABSENT, reason), text=reason.replace("-", " "))


def quantity(value: float, unit: str) -> dict[str, Any]:
    """A Quantity in UCUM; the unit's usual spelling beside its code."""
    said = {"mm[Hg]": "mmHg", "/min": "per minute"}.get(unit, unit)
    return {"value": value, "unit": said, "system": UCUM, "code": unit}


def code_in(concept: Mapping[str, Any] | None, system: str) -> str | None:
    """The code of a system in a CodeableConcept, or None."""
    for each in (concept or {}).get("coding", ()):
        if each.get("system") == system:
            code = each.get("code")
            return code if isinstance(code, str) else None
    return None


def help_codings(task: Task, help_: Help, helpers: int | None) -> list[dict[str, str]]:
    """Our own word, which tells more, behind the Section GG answer where that means the same.

    The item's LOINC number is left out: each published one speaks of three days or of usual ability, this is
    one look. Half the effort is in no answer of Section GG, and 01 says that the helper does all of it.
    """
    code = codes.gg_code(help_, helpers).code
    several = helpers is not None and helpers >= 2
    holds = MOVES[task].gg_item and (several or help_ not in (Help.MODERATE, Help.TOTAL))
    published = [coding(LOINC, codes.LOINC_ANSWER[code])] if holds else []
    return [*published, coding(HELP, help_.value)]


def pressure_codes(position: str) -> tuple[list[str], list[str], list[str]]:
    """LOINC of systolic, diastolic and pulse: in this position, and in any where the panel asks for it."""
    place = position.split("_", maxsplit=1)[0]
    systolic, diastolic = codes.LOINC_PRESSURE[place]
    any_systolic, any_diastolic = codes.LOINC_ANY_PRESSURE
    return [any_systolic, systolic], [any_diastolic, diastolic], [codes.LOINC_HEART_RATE[place]]


def instrument(name: str) -> Instrument | None:
    """The packaged fall-risk instrument of this id, or None."""
    return fall_risk.instruments().get(name)


def item_loinc(known: Instrument | None, key: str) -> str | None:
    """The LOINC number of an instrument's item, where it has one."""
    item = known.items.get(key) if known else None
    return item.loinc if item else None
