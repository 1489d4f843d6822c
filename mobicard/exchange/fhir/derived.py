"""What was derived, for the FHIR bundle: level, score, band, pressure on standing, equipment to fetch.

Marked as derived by its code system; ``fhir_in`` passes it over, because only facts are read back.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from mobicard.derive import Plan
from mobicard.derive.instrument import Instrument
from mobicard.derive.model import FallRisk, Orthostatic
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.codes import coding, concept
from mobicard.exchange.fhir.resources import Resources
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Equipment, Level

Json = dict[str, Any]


def derived(resources: Resources) -> Iterable[tuple[str, Json]]:
    """Each derived resource with its name; nothing without a plan."""
    plan = resources.stay.plan
    if plan is None:
        return
    yield resources.of_look("derived.level"), resources.observation(_level(resources, plan))
    if plan.orthostatic:
        yield resources.of_look("derived.orthostatic"), resources.observation(_orthostatic(plan.orthostatic))
    if plan.fall_risk:
        for name, body in _fall_risk(resources, plan.fall_risk):
            yield resources.of_look(name), resources.observation(body)
        if not _is_lowest(plan.fall_risk):
            text = f"Fall risk: {plan.fall_risk.band.replace('_', ' ')} ({plan.fall_risk.instrument})"
            yield "derived.fall_flag", resources.flag(concept(derived_code("fall_risk"), text=text))
    if not plan.expired:
        yield from _equipment(resources, plan)


def derived_code(name: str) -> dict[str, str]:
    return coding(codes.DERIVED, name)


def _level(resources: Resources, plan: Plan) -> Json:
    """The level a card shows; an expired plan shows the most cautious one and no head count."""
    level: Level = plan.shown_level
    parts: list[Json] = []
    if plan.helpers is not None and not plan.expired:
        parts.append(
            {"code": concept(derived_code("helpers"), text="helpers needed"), "valueInteger": plan.helpers}
        )
    if plan.valid_until:
        until = resources.when("valueDateTime", plan.valid_until)
        parts.append({"code": concept(derived_code("valid_until"), text="holds until"), **until})
    return {
        "code": concept(derived_code("level"), text="Moving and handling level, bed to chair"),
        "valueCodeableConcept": concept(coding(codes.LEVEL, level.value), text=level.value),
        "note": [{"text": _ended(plan) if plan.expired else plan.headline.method}],
        **({"component": parts} if parts else {}),
    }


def _ended(plan: Plan) -> str:
    history = f"; history: {plan.last_known.says}" if plan.last_known else ""
    return f"expired: assess again before moving{history}"


def _orthostatic(found: Orthostatic) -> Json:
    drops = (("drop_sbp", found.drop_sbp), ("drop_dbp", found.drop_dbp))
    parts = [
        {
            "code": concept(derived_code(name), text=name.replace("_", " ")),
            "valueQuantity": {"value": drop, "unit": "mmHg", "system": codes.UCUM, "code": "mm[Hg]"},
        }
        for name, drop in drops
        if drop is not None
    ]
    return {
        "code": concept(derived_code("orthostatic"), text="Fall of blood pressure on standing"),
        **({} if found.positive is None else {"valueBoolean": found.positive}),
        "note": [{"text": found.says}],
        **({"component": parts} if parts else {}),
    }


def _fall_risk(resources: Resources, risk: FallRisk) -> Iterable[tuple[str, Json]]:
    """Total and level. A score with unanswered items is a range, and preliminary."""
    known = codes.instrument(risk.instrument)
    total = [coding(codes.LOINC, known.loinc.total)] if known and known.loinc.total else []
    level = [coding(codes.LOINC, known.loinc.level)] if known and known.loinc.level else []
    status = "preliminary" if risk.unanswered else "final"
    value: Json = {"valueInteger": risk.score}
    if risk.lowest != risk.score:
        value = {"valueRange": {"low": {"value": risk.lowest}, "high": {"value": risk.score}}}
    asked = resources.reference("Observation", resources.id(resources.of_look("fall_risk")))
    source = {"derivedFrom": [asked]} if resources.sends_fall_risk else {}
    yield (
        "derived.fall_total",
        {
            "status": status,
            "category": "survey",
            "code": concept(
                *total, derived_code("fall_risk_total"), text=f"Fall risk total ({risk.instrument})"
            ),
            **value,
            **source,
        },
    )
    answer = _published_band(known, risk)
    band = [coding(codes.LOINC, answer)] if answer else []
    yield (
        "derived.fall_level",
        {
            "status": status,
            "category": "survey",
            "code": concept(
                *level, derived_code("fall_risk_level"), text=f"Fall risk level ({risk.instrument})"
            ),
            "valueCodeableConcept": concept(
                *band, coding(codes.BAND, risk.band), text=risk.band.replace("_", " ")
            ),
            **source,
        },
    )


def _published_band(known: Instrument | None, risk: FallRisk) -> str | None:
    """The published answer for this band, where the total lies in it by the published cuts as well."""
    bands = sorted(known.bands, key=lambda band: band.least) if known else []
    within = {
        max((band for band in bands if band.least <= total), key=lambda band: band.least, default=None)
        for total in (risk.lowest, risk.score)
    }
    held = within.pop() if len(within) == 1 else None
    return held.loinc if held and held.name == risk.band else None


def _is_lowest(risk: FallRisk) -> bool:
    """Whether the band is the lowest of its instrument; of an unknown instrument none is."""
    known = codes.instrument(risk.instrument)
    return known is not None and risk.band == min(known.bands, key=lambda band: band.least).name


def _equipment(resources: Resources, plan: Plan) -> Iterable[tuple[str, Json]]:
    for item in Equipment:
        moves = [MOVES[task].says for task, how in plan.tasks.items() if item in how.equipment]
        if moves:
            kind = concept(coding(codes.DEVICE, item.value), text=item.value.replace("_", " "))
            yield f"derived.equipment.{item.value}", resources.device("equipment", kind, "intended", moves)
