"""FHIR R4 in: the records of a Bundle that mobicard wrote, equal to what went out.

``from_bundle(bundle) -> FhirRead(records, ignored)``. Facts are read from the Observations, Flags and
DeviceUseStatements themselves, so what another program changed there is what comes in; every record is
checked like any other. What was derived is passed over, what is not understood is listed in ``ignored``.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from mobicard.derive import functional_codes
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import code_in
from mobicard.exchange.fhir.facts import PLAIN
from mobicard.facts import Record, RecordRefused, read_record

Json = Mapping[str, Any]
Facts = dict[str, Any]

_UNDERSTOOD = ("Observation", "Flag", "DeviceUseStatement")
_VITALS = {
    **{f"pressure_{position}": position for position in codes.POSITIONS},
    **{name: name for name in ("spo2", "resp_rate", "dizzy", "target_88_92")},
    "vitals_at": "",
}
_WITHDRAWN = ("entered-in-error", "cancelled", "inactive", "stopped", "completed")


class FhirRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A bundle that cannot be read; the text says where and what to do."""


@dataclass(frozen=True, slots=True)
class FhirRead:
    """The records by stay key, and what was passed over because it is not understood."""

    records: tuple[tuple[str, Record], ...]
    ignored: tuple[str, ...] = ()


def from_bundle(bundle: Json) -> FhirRead:
    """The records of a bundle. Raises FhirRefused naming the entry or the fact."""
    if not isinstance(bundle, Mapping) or bundle.get("resourceType") != "Bundle":
        raise FhirRefused("this is no FHIR Bundle; export one with “mobicard export --fhir”")
    patients: dict[str, Facts] = {}
    stays: dict[str, str] = {}
    ignored: list[str] = []
    resources = list(_resources(bundle))
    for number, url, resource in resources:
        if resource.get("resourceType") == "Patient":
            stays[url] = _stay(number, resource)
            patients[url] = _guarded(number, resource, _patient)
    for number, _, resource in resources:
        kind = resource.get("resourceType")
        if kind == "Patient":
            continue
        facts = patients.get(str((resource.get("subject") or {}).get("reference")))
        if facts is None or kind not in _UNDERSTOOD:
            ignored.append(f"entry {number}: {kind} is of no patient in the bundle or of no kind read here")
            continue
        if resource.get("status") in _WITHDRAWN:
            continue
        if not _guarded(number, resource, _taker(str(kind), facts)):
            ignored.append(f"entry {number}: {kind} “{_said(resource)}” is not understood")
    return FhirRead(
        tuple((stays[url], _record(stays[url], facts)) for url, facts in patients.items()), tuple(ignored)
    )


def _resources(bundle: Json) -> Iterable[tuple[int, str, Json]]:
    entries = bundle.get("entry", [])
    if not isinstance(entries, list):
        raise FhirRefused("Bundle.entry is no list")
    for number, entry in enumerate(entries):
        resource = entry.get("resource") if isinstance(entry, Mapping) else None
        if not isinstance(resource, Mapping):
            raise FhirRefused(f"entry {number} holds no resource")
        yield number, str(entry.get("fullUrl", number)), resource


def _guarded(number: int, resource: Json, read: Callable[[Json], Any]) -> Any:
    """Whatever shape the resource has, a refusal in words."""
    try:
        return read(resource)
    except (KeyError, TypeError, AttributeError, IndexError, ValueError) as wrong:
        kind = resource.get("resourceType")
        raise FhirRefused(
            f"entry {number}: {kind} “{_said(resource)}” is not as R4 has it ({wrong!r})"
        ) from None


def _said(resource: Json) -> str:
    code = resource.get("code")
    return str(code.get("text", ""))[:40] if isinstance(code, Mapping) else ""


def _stay(number: int, patient: Json) -> str:
    for each in patient.get("identifier", ()):
        if each.get("system") == codes.STAY and isinstance(each.get("value"), str):
            return str(each["value"])
    raise FhirRefused(
        f"entry {number}: the Patient has no identifier of system {codes.STAY}; mobicard did not write it"
    )


def _record(stay: str, facts: Facts) -> Record:
    try:
        return read_record(facts)
    except RecordRefused as refused:
        raise FhirRefused(f"stay {stay}: {refused}") from None


def _patient(patient: Json) -> Facts:
    facts: Facts = {}
    for extension in patient.get("extension", ()):
        if extension["url"] == codes.INTERPRETER:
            facts.setdefault("communication", {})["interpreter"] = extension["valueBoolean"]
        if extension["url"] == codes.RECORD:
            for part in extension.get("extension", ()):
                facts[part["url"]] = _own(part)
    for spoken in patient.get("communication", ()):
        language = code_in(spoken["language"], codes.BCP_47)
        if language:
            facts.setdefault("communication", {})["language"] = language
    return facts


def _own(part: Json) -> Any:
    value = next(part[key] for key in part if key.startswith("value"))
    if isinstance(value, str) and value.startswith("json:"):
        return json.loads(value.removeprefix("json:"))
    return value


def _taker(kind: str, facts: Facts) -> Callable[[Json], bool]:
    takers = {"Observation": _observation, "Flag": _flag, "DeviceUseStatement": _device}
    return lambda resource: takers[kind](resource, facts)


def _flag(flag: Json, facts: Facts) -> bool:
    precaution = code_in(flag["code"], codes.PRECAUTION)
    if precaution:
        facts.setdefault("precautions", []).append(precaution)
    return bool(precaution or code_in(flag["code"], codes.DERIVED))


def _device(statement: Json, facts: Facts) -> bool:
    use = next((found for each in statement["reasonCode"] if (found := code_in(each, codes.USE))), None)
    kind = statement["contained"][0]["type"]
    if use == "aid":
        facts.setdefault("aids", []).append(code_in(kind, codes.DEVICE))
    elif use == "on_before_up":
        facts.setdefault("on_before_up", []).append(kind["text"])
    elif use == "line":
        side = code_in(statement.get("bodySite"), codes.SIDE)
        notes = [each["text"] for each in statement.get("note", ())]
        line = {
            "kind": kind["text"],
            **({"side": side} if side else {}),
            **({"note": notes[0]} if notes else {}),
        }
        facts.setdefault("lines", []).append(line)
    return use is not None


def _observation(seen: Json, facts: Facts) -> bool:
    """Take one Observation into the facts; whether it was understood."""
    code = seen["code"]
    if code_in(code, codes.DERIVED):
        return True
    if task := code_in(code, codes.TASK):
        return _take_help(seen, task, facts)
    if code_in(code, codes.LOINC) == functional_codes.LOINC_BODY_WEIGHT:
        facts["weight_kg"] = _kilograms(seen["valueQuantity"])
        return True
    if instrument := code_in(code, codes.INSTRUMENT):
        answers = dict(_answer(part) for part in seen.get("component", ()))
        facts["fall_risk"] = {"instrument": instrument, "answers": answers}
        return True
    return _take_own(seen, code_in(code, codes.FACT), facts)


def _take_own(seen: Json, name: str | None, facts: Facts) -> bool:
    """One of our own named facts."""
    if name in PLAIN:
        facts[name] = code_in(seen["valueCodeableConcept"], f"{codes.FACT}:{name}")
    elif name == "height_cm":
        facts[name] = seen["valueQuantity"]["value"]
    elif name == "weight_bearing":
        _take_limb(seen, facts)
    elif name and name.startswith("communication_"):
        facts.setdefault("communication", {})[name.removeprefix("communication_")] = seen["valueString"]
    elif name in _VITALS:
        _take_vitals(seen, _VITALS[name], facts)
    else:
        return False
    return True


def _take_help(seen: Json, task: str, facts: Facts) -> bool:
    help_ = code_in(seen.get("valueCodeableConcept"), codes.HELP)
    if help_:
        facts.setdefault("help", {})[task] = help_
    for part in seen.get("component", ()):
        if code_in(part["code"], codes.FACT) == "helpers_used":
            facts.setdefault("helpers_used", {})[task] = part["valueInteger"]
    return bool(help_ or seen.get("component"))


def _take_limb(seen: Json, facts: Facts) -> None:
    limb = code_in(seen["bodySite"], codes.LIMB)
    order: Facts = {"status": code_in(seen["valueCodeableConcept"], codes.STATUS)}
    for part in seen.get("component", ()):
        figure = part["valueQuantity"]
        order["percent" if figure["code"] == "%" else "kg"] = figure["value"]
    if ordered := _clock(seen):
        order["ordered_at"] = ordered
    facts.setdefault("weight_bearing", {})[limb] = order


def _take_vitals(seen: Json, name: str, facts: Facts) -> None:
    vitals = facts.setdefault("vitals", {})
    if at := _clock(seen):
        vitals["at"] = at
    if name in codes.POSITIONS:
        vitals[name] = {
            code_in(part["code"], codes.FACT): part["valueQuantity"]["value"] for part in seen["component"]
        }
    elif name in ("dizzy", "target_88_92"):
        vitals[name] = seen["valueBoolean"]
    elif name:
        vitals[name] = seen["valueQuantity"]["value"]


def _clock(seen: Json) -> str | None:
    """The ward's own time of this Observation, where it has one apart from the assessment's."""
    for extension in seen.get("extension", ()):
        if extension["url"] == codes.CLOCK:
            return str(extension["valueString"])
    return None


def _kilograms(quantity: Json) -> Any:
    if quantity.get("code") != "kg":
        raise ValueError(f"a weight in kg is wanted, not in {quantity.get('code')}")
    return quantity["value"]


def _answer(part: Json) -> tuple[str, bool | int | str]:
    key = code_in(part["code"], codes.FACT)
    if key is None:
        raise ValueError("an answer names no item")
    for kind in ("valueBoolean", "valueInteger"):
        if kind in part:
            value: bool | int = part[kind]
            return key, value
    word = code_in(part["valueCodeableConcept"], f"{codes.FACT}:{key}")
    if word is None:
        raise ValueError(f"the answer to {key} has no code")
    return key, word
