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

OWN: Final = "urn:mobicard"
RECORD: Final = f"{OWN}:record"
"""Extension of Patient for the facts R4 has no plain place for; structured ones as JSON text."""
FACT: Final = f"{OWN}:fact"
TASK: Final = f"{OWN}:task"
HELP: Final = f"{OWN}:help"
LIMB: Final = f"{OWN}:limb"
STATUS: Final = f"{OWN}:weight-bearing"
PRECAUTION: Final = f"{OWN}:precaution"
DEVICE: Final = f"{OWN}:device"
USE: Final = f"{OWN}:use"
SIDE: Final = f"{OWN}:side"
INSTRUMENT: Final = f"{OWN}:instrument"
BAND: Final = f"{OWN}:fall-risk-band"
LEVEL: Final = f"{OWN}:level"
DERIVED: Final = f"{OWN}:derived"
STAY: Final = f"{OWN}:stay"
CLOCK: Final = f"{OWN}:wall-clock"
NOTICE: Final = f"{OWN}:notice"

POSITIONS: Final = ("lying", "sitting", "standing_1min", "standing_3min")


def coding(system: str, code: str) -> dict[str, str]:
    """A Coding."""
    return {"system": system, "code": code}


def concept(*codings: dict[str, str], text: str | None = None) -> dict[str, Any]:
    """A CodeableConcept."""
    out: dict[str, Any] = {"coding": list(codings)} if codings else {}
    return {**out, "text": text} if text else out


def own_code(name: str) -> dict[str, Any]:
    """Our own name of a fact, as a CodeableConcept."""
    return concept(coding(FACT, name), text=name.replace("_", " "))


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


def task_codings(task: Task) -> list[dict[str, str]]:
    """The Section GG item's LOINC number where the move has one (performance set), and our own name."""
    letter = MOVES[task].gg_item
    published = [coding(LOINC, codes.LOINC_PERFORMANCE[letter])] if letter else []
    return [*published, coding(TASK, task.value)]


def help_codings(task: Task, help_: Help, helpers: int | None) -> list[dict[str, str]]:
    """The Section GG answer where the move has an item, and our own word, which tells more."""
    published = []
    if MOVES[task].gg_item:
        published = [coding(LOINC, codes.LOINC_ANSWER[codes.gg_code(help_, helpers).code])]
    return [*published, coding(HELP, help_.value)]


def pressure_codes(position: str) -> tuple[str | None, str | None, str | None]:
    """LOINC of systolic, diastolic and pulse in a position; None where no code is carried."""
    place = position.split("_", maxsplit=1)[0]
    systolic, diastolic = codes.LOINC_PRESSURE.get(place, (None, None))
    return systolic, diastolic, codes.LOINC_HEART_RATE.get(place)


def instrument(name: str) -> Instrument | None:
    """The packaged fall-risk instrument of this id, or None."""
    return fall_risk.instruments().get(name)


def item_loinc(known: Instrument | None, key: str) -> str | None:
    """The LOINC number of an instrument's item, where it has one."""
    item = known.items.get(key) if known else None
    return item.loinc if item else None
