"""R4's own value sets (statuses, categories, units): model libraries check shapes, not codes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from mobicard.exchange.fhir.codes import FLAG_CATEGORY, LOINC, OBSERVATION_CATEGORY, UCUM
from tests.derive.loinc import loinc_checks

STATUSES: Final[Mapping[str, frozenset[str]]] = {
    "Observation": frozenset(
        [
            "registered",
            "preliminary",
            "final",
            "amended",
            "corrected",
            "cancelled",
            "entered-in-error",
            "unknown",
        ]
    ),
    "Flag": frozenset(["active", "inactive", "entered-in-error"]),
    "DeviceUseStatement": frozenset(
        ["active", "completed", "entered-in-error", "intended", "stopped", "on-hold"]
    ),
    "Encounter": frozenset(
        [
            *("planned", "arrived", "triaged", "in-progress", "onleave", "finished", "cancelled"),
            *("entered-in-error", "unknown"),
        ]
    ),
    "Location": frozenset(["active", "suspended", "inactive"]),
    "CarePlan": frozenset(
        ["draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"]
    ),
}
"""Required value sets of R4 4.0.1: observation-status, flag-status, device-statement-status,
encounter-status, location-status, request-status."""

GOAL_STATUSES: Final = frozenset(
    [
        *("proposed", "planned", "accepted", "active", "on-hold", "completed", "cancelled"),
        *("entered-in-error", "rejected"),
    ]
)
"""Required value set of R4 4.0.1: goal-status, of Goal.lifecycleStatus."""

CATEGORIES: Final[Mapping[str, frozenset[str]]] = {
    OBSERVATION_CATEGORY: frozenset(
        [
            "social-history",
            "vital-signs",
            "imaging",
            "laboratory",
            "procedure",
            "survey",
            "exam",
            "therapy",
            "activity",
        ]
    ),
    FLAG_CATEGORY: frozenset(
        [
            "diet",
            "drug",
            "lab",
            "admin",
            "contact",
            "clinical",
            "behavioral",
            "research",
            "advance-directive",
            "safety",
        ]
    ),
}
"""R4 4.0.1 code systems observation-category and flag-category."""

UNITS: Final = frozenset({"kg", "cm", "mm[Hg]", "/min", "%"})
"""UCUM codes used here."""


def problems(bundle: Mapping[str, Any]) -> list[str]:
    """Every code its value set does not know, and every LOINC number that fails its check digit."""
    found: list[str] = []
    for number, entry in enumerate(bundle.get("entry", ())):
        resource = entry.get("resource", {})
        kind = resource.get("resourceType", "?")
        known = STATUSES.get(kind)
        if known and resource.get("status") not in known:
            found.append(f"entry {number}: {kind}.status “{resource.get('status')}” is none of R4's")
        if kind == "Goal" and resource.get("lifecycleStatus") not in GOAL_STATUSES:
            found.append(f"entry {number}: Goal.lifecycleStatus is none of R4's")
        found += [f"entry {number}: {kind}: {says}" for says in _code_problems(resource)]
    return found


def _code_problems(node: Any) -> Iterator[str]:
    if isinstance(node, Mapping):
        system, code = node.get("system"), node.get("code")
        if isinstance(system, str) and isinstance(code, str):
            if system in CATEGORIES and code not in CATEGORIES[system]:
                yield f"“{code}” is no code of {system}"
            if system == UCUM and code not in UNITS:
                yield f"“{code}” is no unit used here"
            if system == LOINC and not code.startswith("LA") and not loinc_checks(code):
                yield f"“{code}” fails LOINC's check digit"
        for value in node.values():
            yield from _code_problems(value)
    elif isinstance(node, list):
        for value in node:
            yield from _code_problems(value)
