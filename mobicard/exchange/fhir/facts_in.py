"""The facts that one FHIR resource tells, taken into the stay it is of."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from mobicard.derive import functional_codes
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import code_in
from mobicard.exchange.fhir.facts import PLAIN

Json = Mapping[str, Any]
Facts = dict[str, Any]

_VITALS = {
    **{f"pressure_{position}": position for position in codes.POSITIONS},
    **{name: name for name in ("spo2", "resp_rate", "dizzy", "target_88_92")},
    "vitals_at": "",
}


@dataclass(slots=True)
class StayRead:
    """One Patient of ours as it is put together from what the bundle says of it."""

    key: str
    facts: Facts = field(default_factory=dict)
    active: bool = True
    torn: str | None = None
    said: set[str] = field(default_factory=set)
    placed: list[tuple[int, str, Any]] = field(default_factory=list)

    @property
    def look(self) -> str:
        return str(self.facts.get("assessed_at", "none"))


def extension(resource: Json, url: str, value: str) -> Any:
    found = (each for each in resource.get("extension", ()) if each["url"] == url)
    return next((each[value] for each in found), None)


def patient_facts(patient: Json) -> Facts:
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


def take(resource: Json, stay: StayRead) -> bool:
    """Take what a resource tells into the stay; whether it was understood.

    Raises ValueError for a fact said twice, and what a shape that is not R4's runs into.
    """
    return TAKERS[resource["resourceType"]](resource, stay)


def _place(stay: StayRead, resource: Json, name: str, value: Any) -> None:
    """Keep what belongs into a list of the record, with its place there."""
    place = extension(resource, codes.PLACE, "valueInteger")
    stay.placed.append((place if isinstance(place, int) else 2**31, name, value))


def _flag(flag: Json, stay: StayRead) -> bool:
    precaution = code_in(flag["code"], codes.PRECAUTION)
    if precaution:
        _place(stay, flag, "precautions", precaution)
    return bool(precaution or code_in(flag["code"], codes.DERIVED))


def _goal(goal: Json, stay: StayRead) -> bool:
    (target,) = goal["target"]
    task = code_in(target["measure"], codes.TASK)
    if task:
        times = target["detailQuantity"]["value"]
        _place(stay, goal, "goals", {"task": task, "times_per_shift": times})
    return bool(task)


def _device(statement: Json, stay: StayRead) -> bool:
    use = next((found for each in statement["reasonCode"] if (found := code_in(each, codes.USE))), None)
    kind = statement["contained"][0]["type"]
    if use == "aid":
        _place(stay, statement, "aids", code_in(kind, codes.DEVICE))
    elif use == "on_before_up":
        _place(stay, statement, "on_before_up", kind["text"])
    elif use == "line":
        side = code_in(statement.get("bodySite"), codes.SIDE)
        notes = [each["text"] for each in statement.get("note", ())]
        line = {
            "kind": kind["text"],
            **({"side": side} if side else {}),
            **({"note": notes[0]} if notes else {}),
        }
        _place(stay, statement, "lines", line)
    return use is not None


def _observation(seen: Json, stay: StayRead) -> bool:
    code = seen["code"]
    if code_in(code, codes.DERIVED) or ("dataAbsentReason" in seen and _is_known(code)):
        return True
    fact = _fact(seen)
    if fact is None:
        return False
    if fact in stay.said:
        raise ValueError(f"{fact} is said twice; withdraw the one that does not hold")
    stay.said.add(fact)
    return _take_observation(seen, code, stay.facts)


def _is_known(code: Json) -> bool:
    return bool(code_in(code, codes.FACT) or code_in(code, codes.LOINC) in _LOINC_FACTS)


_LOINC_FACTS = {
    functional_codes.LOINC_BODY_WEIGHT: "weight_kg",
    functional_codes.LOINC_BODY_HEIGHT: "height_cm",
}


def _fact(seen: Json) -> str | None:
    """Which fact an Observation tells, by its code and, of limbs, its site."""
    code = seen["code"]
    if task := code_in(code, codes.TASK):
        return f"help.{task}"
    if code_in(code, codes.INSTRUMENT):
        return "fall_risk"
    name = code_in(code, codes.FACT) or _LOINC_FACTS.get(code_in(code, codes.LOINC) or "")
    return f"{name}.{code_in(seen['bodySite'], codes.LIMB)}" if name == "weight_bearing" else name


def _take_observation(seen: Json, code: Json, facts: Facts) -> bool:
    if task := code_in(code, codes.TASK):
        return _take_help(seen, task, facts)
    if measured := _LOINC_FACTS.get(code_in(code, codes.LOINC) or ""):
        facts[measured] = _figure(seen["valueQuantity"], measured.partition("_")[2])
        return True
    if instrument := code_in(code, codes.INSTRUMENT):
        answers = dict(_answer(part) for part in seen.get("component", ()))
        facts["fall_risk"] = {"instrument": instrument, "answers": answers}
        return True
    return _take_own(seen, code_in(code, codes.FACT), facts)


def _take_own(seen: Json, name: str | None, facts: Facts) -> bool:
    """One of our own named facts."""
    if name in PLAIN:
        facts[name] = code_in(seen["valueCodeableConcept"], codes.answers(name))
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
    status = code_in(seen["valueCodeableConcept"], codes.STATUS)
    if status == codes.NO_ORDER:
        return
    order: Facts = {"status": status}
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
    at = extension(seen, codes.CLOCK, "valueString")
    return None if at is None else str(at)


def _figure(quantity: Json, unit: str) -> Any:
    if quantity.get("code") != unit:
        raise ValueError(f"a figure in {unit} is wanted, not in {quantity.get('code')}")
    return quantity["value"]


def _answer(part: Json) -> tuple[str, bool | int | str]:
    key = code_in(part["code"], codes.ITEM)
    if key is None:
        raise ValueError("an answer names no item")
    for kind in ("valueBoolean", "valueInteger"):
        if kind in part:
            value: bool | int = part[kind]
            return key, value
    word = code_in(part["valueCodeableConcept"], codes.ITEM_ANSWER)
    if word is None:
        raise ValueError(f"the answer to {key} has no code")
    return key, word


TAKERS: Mapping[str, Callable[[Json, StayRead], bool]] = {
    "Observation": _observation,
    "Flag": _flag,
    "DeviceUseStatement": _device,
    "Goal": _goal,
}
"""The kinds of resources that tell facts."""
