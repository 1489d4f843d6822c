"""The facts of a record as FHIR R4 Observations and DeviceUseStatements; ``fhir_in`` reads each back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from mobicard.derive import functional_codes
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.exchange.fhir.resources import Resources, codable
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Help, Limb, Task

Json = dict[str, Any]

PLAIN = (
    *("alertness", "directions", "behavior", "sitting", "standing", "stepping", "arms", "weight_by_eye"),
    *("weak_side", "neglect", "skin_risk"),
)
"""Facts that are one word of a list."""


def observations(resources: Resources) -> Iterable[tuple[str, Json]]:
    """The name and the body of each Observation; who and when are added by the caller."""
    for facts in (_plain, _help, _measures, _limbs, _vitals, _communication, _fall_risk):
        yield from facts(resources)


def _plain(resources: Resources) -> Iterable[tuple[str, Json]]:
    for name in PLAIN:
        if name in resources.facts:
            answer = resources.facts[name]
            value = concept(coding(f"{codes.FACT}:{name}", answer), text=answer.replace("_", " "))
            yield name, {"code": codes.own_code(name), "valueCodeableConcept": value}


def _help(resources: Resources) -> Iterable[tuple[str, Json]]:
    seen, used = resources.facts.get("help", {}), resources.facts.get("helpers_used", {})
    for task in Task:
        if task.value not in seen and task.value not in used:
            continue
        helpers = used.get(task.value)
        body: Json = {"code": concept(*codes.task_codings(task), text=f"{MOVES[task].says}: help observed")}
        if task.value in seen:
            help_ = Help(seen[task.value])
            said = help_.value.replace("_", " ")
            body["valueCodeableConcept"] = concept(*codes.help_codings(task, help_, helpers), text=said)
        if note := _help_note(task, seen.get(task.value), helpers):
            body["note"] = [{"text": note}]
        if helpers is not None:
            body["component"] = [{"code": codes.own_code("helpers_used"), "valueInteger": helpers}]
        yield f"help.{task.value}", body


def _measures(resources: Resources) -> Iterable[tuple[str, Json]]:
    if "weight_kg" in resources.facts:
        yield (
            "weight",
            {
                "category": [concept(coding(codes.OBSERVATION_CATEGORY, "vital-signs"))],
                "code": concept(coding(codes.LOINC, functional_codes.LOINC_BODY_WEIGHT), text="Body weight"),
                "valueQuantity": codes.quantity(resources.facts["weight_kg"], "kg"),
            },
        )
    if "height_cm" in resources.facts:
        yield (
            "height",
            {
                "code": codes.own_code("height_cm"),
                "valueQuantity": codes.quantity(resources.facts["height_cm"], "cm"),
            },
        )


def _limbs(resources: Resources) -> Iterable[tuple[str, Json]]:
    for limb, order in resources.facts.get("weight_bearing", {}).items():
        said = Limb(limb).value.replace("_", " ")
        body: Json = {
            "code": codes.own_code("weight_bearing"),
            **resources.when("effectiveDateTime", order.get("ordered_at")),
            "valueCodeableConcept": concept(
                coding(codes.STATUS, order["status"]), text=f"{order['status']}, {said}"
            ),
            "bodySite": concept(coding(codes.LIMB, limb), text=said),
        }
        if "ordered_at" in order:
            body["extension"] = [{"url": codes.CLOCK, "valueString": order["ordered_at"]}]
        figures = [(unit, order[key]) for key, unit in (("percent", "%"), ("kg", "kg")) if key in order]
        if figures:
            body["component"] = [
                {"code": codes.own_code("load_limit"), "valueQuantity": codes.quantity(figure, unit)}
                for unit, figure in figures
            ]
        yield f"weight_bearing.{limb}", body


def _vitals(resources: Resources) -> Iterable[tuple[str, Json]]:
    vitals = resources.facts.get("vitals", {})
    time: Json = {}
    if "at" in vitals:
        time = {
            **resources.when("effectiveDateTime", vitals["at"]),
            "extension": [{"url": codes.CLOCK, "valueString": vitals["at"]}],
        }
    for position in codes.POSITIONS:
        if position in vitals:
            yield (
                f"vitals.{position}",
                {
                    "code": codes.own_code(f"pressure_{position}"),
                    **time,
                    "component": _pressure(position, vitals),
                },
            )
    for name, unit in (("spo2", "%"), ("resp_rate", "/min")):
        if name in vitals:
            yield (
                f"vitals.{name}",
                {"code": codes.own_code(name), **time, "valueQuantity": codes.quantity(vitals[name], unit)},
            )
    for name in ("dizzy", "target_88_92"):
        if name in vitals:
            yield f"vitals.{name}", {"code": codes.own_code(name), **time, "valueBoolean": vitals[name]}
    if set(vitals) == {"at"}:
        yield "vitals.at", {"code": codes.own_code("vitals_at"), **time}


def _communication(resources: Resources) -> Iterable[tuple[str, Json]]:
    for name in ("hearing", "vision", "note"):
        said = resources.facts.get("communication", {}).get(name)
        if said:
            yield (
                f"communication.{name}",
                {"code": codes.own_code(f"communication_{name}"), "valueString": said},
            )


def _fall_risk(resources: Resources) -> Iterable[tuple[str, Json]]:
    asked = resources.facts.get("fall_risk")
    if not asked or not codable(asked):
        return
    known = codes.instrument(asked["instrument"])
    panel = [coding(codes.LOINC, known.loinc.panel)] if known and known.loinc.panel else []
    components = [
        _answer(codes.item_loinc(known, key), key, value) for key, value in asked["answers"].items()
    ]
    yield (
        "fall_risk",
        {
            "code": concept(
                *panel, coding(codes.INSTRUMENT, asked["instrument"]), text=known.name if known else None
            ),
            **({"component": components} if components else {}),
        },
    )


def devices(resources: Resources) -> Iterable[tuple[str, Json]]:
    """Aids, lines and what goes on before up, each as the use of a device."""
    for name in resources.facts.get("aids", ()):
        yield (
            f"aid.{name}",
            resources.device("aid", concept(coding(codes.DEVICE, name), text=name.replace("_", " "))),
        )
    for number, line in enumerate(resources.facts.get("lines", ())):
        body = resources.device("line", concept(text=line["kind"]))
        if "side" in line:
            body["bodySite"] = concept(coding(codes.SIDE, line["side"]), text=line["side"])
        if line.get("note"):
            body["note"] = [{"text": line["note"]}]
        yield f"line.{number}", body
    for number, name in enumerate(resources.facts.get("on_before_up", ())):
        yield f"on_before_up.{number}", resources.device("on_before_up", concept(text=name))


def _help_note(task: Task, seen: str | None, helpers: int | None) -> str:
    """What the published code leaves open, said beside it."""
    if seen is None or not MOVES[task].gg_item:
        return ""
    parts = [functional_codes.gg_code(Help(seen), helpers).note]
    if task is Task.WALK:
        parts.append("the distance walked was not recorded")
    return "; ".join(part for part in parts if part)


def _pressure(position: str, vitals: Mapping[str, Any]) -> list[Json]:
    names = (("sbp", "mm[Hg]"), ("dbp", "mm[Hg]"), ("hr", "/min"))
    published = codes.pressure_codes(position)
    return [
        {
            "code": concept(
                *([coding(codes.LOINC, loinc)] if loinc else []),
                coding(codes.FACT, name),
                text=f"{name} {position.replace('_', ' ')}",
            ),
            "valueQuantity": codes.quantity(vitals[position][name], unit),
        }
        for (name, unit), loinc in zip(names, published, strict=True)
        if name in vitals[position]
    ]


def _answer(loinc: str | None, key: str, value: bool | int | str) -> Json:
    published = [coding(codes.LOINC, loinc)] if loinc else []
    body: Json = {"code": concept(*published, coding(codes.FACT, key), text=key.replace("_", " "))}
    if isinstance(value, bool):
        return {**body, "valueBoolean": value}
    if isinstance(value, int):
        return {**body, "valueInteger": value}
    return {
        **body,
        "valueCodeableConcept": concept(coding(f"{codes.FACT}:{key}", value), text=value.replace("_", " ")),
    }
