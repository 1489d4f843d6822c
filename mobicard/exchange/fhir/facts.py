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

DECIDING = PLAIN[:7]
"""Of these it is said when nobody asked: without them no move is cleared."""


def observations(resources: Resources) -> Iterable[tuple[str, Json]]:
    """The name and the body of each Observation; who and when are added by the caller."""
    for facts in (_plain, _help, _measures, _limbs, _vitals, _communication, _fall_risk):
        yield from facts(resources)


def _plain(resources: Resources) -> Iterable[tuple[str, Json]]:
    for name in PLAIN:
        if name in resources.facts:
            answer = resources.facts[name]
            value = concept(coding(codes.answers(name), answer), text=answer.replace("_", " "))
            yield name, {"code": codes.own_code(name), "valueCodeableConcept": value}
        elif name in DECIDING:
            yield name, {"code": codes.own_code(name), "dataAbsentReason": codes.absent("not-asked")}


def _help(resources: Resources) -> Iterable[tuple[str, Json]]:
    seen, used = resources.facts.get("help", {}), resources.facts.get("helpers_used", {})
    for task in Task:
        if task.value not in seen and task.value not in used:
            continue
        helpers = used.get(task.value)
        what = concept(coding(codes.TASK, task.value), text=f"{MOVES[task].says}: help observed")
        body: Json = {"category": "activity", "code": what}
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
    for fact, loinc, says, unit in (
        ("weight_kg", functional_codes.LOINC_BODY_WEIGHT, "Body weight", "kg"),
        ("height_cm", functional_codes.LOINC_BODY_HEIGHT, "Body height", "cm"),
    ):
        body: Json = {"category": "vital-signs", "code": concept(coding(codes.LOINC, loinc), text=says)}
        name = fact.partition("_")[0]
        if fact in resources.facts:
            yield name, {**body, "valueQuantity": codes.quantity(resources.facts[fact], unit)}
        elif name == "weight" and "assessed_at" in resources.facts:
            yield name, {**body, "dataAbsentReason": codes.absent("not-performed")}


def _limbs(resources: Resources) -> Iterable[tuple[str, Json]]:
    for limb, order in resources.facts.get("weight_bearing", {}).items():
        said = Limb(limb).value.replace("_", " ")
        body: Json = {
            **limb_order(limb),
            **resources.when("effectiveDateTime", order.get("ordered_at")),
            "valueCodeableConcept": concept(
                coding(codes.STATUS, order["status"]), text=f"{order['status']}, {said}"
            ),
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


def limb_order(limb: str) -> Json:
    """What an order for one limb is: of which limb."""
    said = Limb(limb).value.replace("_", " ")
    return {
        "category": "therapy",
        "code": codes.own_code("weight_bearing"),
        "bodySite": concept(coding(codes.LIMB, limb), text=said),
    }


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
            panel = coding(codes.LOINC, functional_codes.LOINC_PRESSURE_PANEL)
            name = f"pressure_{position}"
            code = concept(panel, coding(codes.FACT, name), text=name.replace("_", " "))
            parts = {"component": _pressure(position, vitals)}
            yield f"vitals.{position}", {"category": "vital-signs", "code": code, **time, **parts}
    for name, unit, loinc in (
        ("spo2", "%", functional_codes.LOINC_OXYGEN),
        ("resp_rate", "/min", (functional_codes.LOINC_BREATHING,)),
    ):
        if name in vitals:
            published = [coding(codes.LOINC, number) for number in loinc]
            code = concept(*published, coding(codes.FACT, name), text=name.replace("_", " "))
            value = {"valueQuantity": codes.quantity(vitals[name], unit)}
            yield f"vitals.{name}", {"category": "vital-signs", "code": code, **time, **value}
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
            "category": "survey",
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
    seen: list[str] = []
    for line in resources.facts.get("lines", ()):
        body = resources.device("line", concept(text=line["kind"]))
        if "side" in line:
            body["bodySite"] = concept(coding(codes.SIDE, line["side"]), text=line["side"])
        if line.get("note"):
            body["note"] = [{"text": line["note"]}]
        yield _once(f"line.{line.get('side')}.{line['kind']}", seen), body
    for name in resources.facts.get("on_before_up", ()):
        yield _once(f"on_before_up.{name}", seen), resources.device("on_before_up", concept(text=name))


def _once(name: str, seen: list[str]) -> str:
    """The name, told apart from the same thing before: two chest tubes on one side."""
    seen.append(name)
    return f"{name}.{seen.count(name)}"


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
                *(coding(codes.LOINC, number) for number in numbers),
                coding(codes.FACT, name),
                text=f"{name} {position.replace('_', ' ')}",
            ),
            "valueQuantity": codes.quantity(vitals[position][name], unit),
        }
        for (name, unit), numbers in zip(names, published, strict=True)
        if name in vitals[position]
    ]


def _answer(loinc: str | None, key: str, value: bool | int | str) -> Json:
    published = [coding(codes.LOINC, loinc)] if loinc else []
    body: Json = {"code": concept(*published, coding(codes.ITEM, key), text=key.replace("_", " "))}
    if isinstance(value, bool):
        return {**body, "valueBoolean": value}
    if isinstance(value, int):
        return {**body, "valueInteger": value}
    return {
        **body,
        "valueCodeableConcept": concept(coding(codes.ITEM_ANSWER, value), text=value.replace("_", " ")),
    }
