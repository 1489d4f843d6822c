"""All that one record and its plan say, resource by resource."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.around import judgement, provenance
from mobicard.exchange.fhir.care_plan import care_plan, goals
from mobicard.exchange.fhir.derived import derived
from mobicard.exchange.fhir.facts import devices, observations
from mobicard.exchange.fhir.resources import Resources

Json = dict[str, Any]
Statement = tuple[str, Json]
"""A resource and its id."""


def statements(resources: Resources) -> Iterator[Statement]:
    """The facts, then what was derived from them, then who said so."""
    of_look: list[Json] = []
    for id_, body in _said(resources):
        if body["resourceType"] in ("Observation", "CarePlan"):
            of_look.append(resources.reference(body["resourceType"], id_))
        yield id_, body
    if by := provenance(resources, of_look):
        yield resources.statement(resources.of_look("provenance"), by)
    level = resources.reference("Observation", resources.id(resources.of_look("derived.level")))
    if over := judgement(resources, level):
        yield resources.statement(resources.of_look("judgement"), over)


def _said(resources: Resources) -> Iterator[Statement]:
    for place, (name, body) in enumerate(_lists(resources)):
        body["extension"] = [{"url": codes.PLACE, "valueInteger": place}]
        yield resources.statement(name, body)
    for name, body in observations(resources):
        yield resources.statement(resources.of_look(name), resources.observation(body))
    for name, body in derived(resources):
        yield resources.statement(name, body)
    if plan := resources.stay.plan:
        yield resources.statement(resources.of_look("plan"), care_plan(resources, plan))


def _lists(resources: Resources) -> Iterator[Statement]:
    """What stands in a list of the record, where the place in it has to be told."""
    yield from goals(resources)
    yield from resources.flags()
    yield from devices(resources)
