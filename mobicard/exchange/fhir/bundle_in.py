"""FHIR R4 in: the records of a Bundle that mobicard wrote, as it went out or as a server gives it back.

``from_bundle(bundle) -> FhirRead(records, ignored, left)``. Facts are read from the Observations, Flags,
DeviceUseStatements and Goals themselves, so what another program changed there is what comes in; every record
is checked like any other. Only the newest look is read: what earlier ones saw is history, and what was
derived or stands around it is ours to make. What is not understood is listed in ``ignored``, one by one; a
stay of which one thing is torn is passed over whole, because half a record would read as not assessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.facts_in import TAKERS, Facts, StayRead, extension, patient_facts, take
from mobicard.facts import Record, RecordRefused, read_from_outside

Json = Mapping[str, Any]

_OURS = ("Encounter", "Location", "Provenance", "CarePlan")
"""Kinds that say nothing which the others do not."""
_WITHDRAWN = ("entered-in-error", "cancelled", "inactive", "stopped", "completed", "rejected")


class FhirRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A bundle that cannot be read; the text says where and what to do."""


@dataclass(frozen=True, slots=True)
class FhirRead:
    """The records by stay key, what was passed over and why, and the stays whose patient has left."""

    records: tuple[tuple[str, Record], ...]
    ignored: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


def from_bundle(bundle: Json) -> FhirRead:
    """The records of a bundle, whatever else is in it. Raises FhirRefused where it is none."""
    if not isinstance(bundle, Mapping) or bundle.get("resourceType") != "Bundle":
        raise FhirRefused("this is no FHIR Bundle; export one with “mobicard export --fhir”")
    resources = list(_resources(bundle))
    ignored: list[str] = []
    stays: dict[str, StayRead] = {}
    for number, address, resource in resources:
        if resource.get("resourceType") == "Patient":
            ignored += _take_patient(number, address, resource, stays)
    for number, _, resource in resources:
        if resource.get("resourceType") != "Patient":
            ignored += _take_resource(number, resource, stays)
    return _made({id(stay): stay for stay in stays.values()}.values(), ignored)


def _made(stays: Iterable[StayRead], ignored: list[str]) -> FhirRead:
    records, left = [], []
    for stay in stays:
        if not stay.active:
            left.append(stay.key)
            continue
        try:
            if stay.torn:
                raise FhirRefused(stay.torn)
            records.append((stay.key, _record(stay.key, _whole(stay))))
        except FhirRefused as refused:
            ignored.append(str(refused))
    return FhirRead(tuple(records), tuple(ignored), tuple(left))


def _whole(stay: StayRead) -> Facts:
    """The facts with their lists in the order they had; what tells no place comes last."""
    facts = dict(stay.facts)
    for _, name, value in sorted(stay.placed, key=lambda each: each[0]):
        facts[name] = [*facts.get(name, ()), value]
    return facts


def _resources(bundle: Json) -> Iterable[tuple[int, str, Json]]:
    entries = bundle.get("entry", [])
    if not isinstance(entries, list):
        raise FhirRefused("Bundle.entry is no list")
    for number, entry in enumerate(entries):
        resource = entry.get("resource") if isinstance(entry, Mapping) else None
        if not isinstance(resource, Mapping):
            raise FhirRefused(f"entry {number} holds no resource")
        yield number, str(entry.get("fullUrl", "")), resource


def _addresses(address: str, resource: Json) -> set[str]:
    """What a reference to this resource may end in: its address here, its kind and id, its id as a URN."""
    id_ = resource.get("id")
    named = {f"{resource.get('resourceType')}/{id_}", f"urn:uuid:{id_}"} if isinstance(id_, str) else set()
    return named | ({_tail(address)} if address else set())


def _tail(reference: object) -> str:
    """A reference without server and version: ``Patient/1`` of ``https://host/fhir/Patient/1/_history/2``."""
    text = str(reference).partition("/_history/")[0]
    return text if text.startswith("urn:") else "/".join(text.split("/")[-2:])


def _take_patient(number: int, address: str, resource: Json, stays: dict[str, StayRead]) -> list[str]:
    """Note a Patient of ours under every address it may be referred to by; what is to be said of another."""
    try:
        key = _stay(resource)
        if key is None:
            return [f"entry {number}: the Patient has no identifier of system {codes.STAY}; it is another's"]
        if any(stay.key == key for stay in stays.values()):
            raise FhirRefused("stay is said twice")
        stay = StayRead(key, patient_facts(resource), active=resource.get("active") is not False)
    except _TORN as wrong:
        return [f"entry {number}: Patient is not as R4 has it ({wrong!r})"]
    stays.update(dict.fromkeys({f"entry {number}", *_addresses(address, resource)}, stay))
    return []


_TORN = (KeyError, TypeError, AttributeError, IndexError, ValueError, StopIteration, RecursionError)
"""What a resource of another shape than R4's runs into."""


def _take_resource(number: int, resource: Json, stays: Mapping[str, StayRead]) -> list[str]:
    kind, stay = resource.get("resourceType"), _whose(resource, stays)
    if kind in ("Location", "Provenance") and _is_ours(resource):
        return []
    if stay is None or kind not in (*TAKERS, *_OURS):
        return [f"entry {number}: {kind} is of no patient of ours in the bundle or of no kind read here"]
    if kind in _OURS or not stay.active:
        return []
    return _taken(number, resource, stay)


def _taken(number: int, resource: Json, stay: StayRead) -> list[str]:
    """What is to be said of a resource of a stay of ours; one that is torn tears its stay."""
    kind = resource["resourceType"]
    try:
        known = _is_over(resource) or _is_history(resource, stay) or take(resource, stay)
    except _TORN as wrong:
        said = f"entry {number}: {kind} “{_said(resource)}” is not as R4 has it ({wrong!r})"
        stay.torn = stay.torn or f"stay {stay.key}: {said}"
        return []
    return [] if known else [f"entry {number}: {kind} “{_said(resource)}” is not understood"]


def _is_ours(resource: Json) -> bool:
    """Whether a bed or a note of who said it is one of those that mobicard writes."""
    told = (*_listed(resource, "identifier"), *_listed(resource, "extension"))
    return any(
        each.get("system") == codes.BED or each.get("url") == codes.LOOK
        for each in told
        if isinstance(each, Mapping)
    )


def _listed(resource: Json, name: str) -> list[Any]:
    found = resource.get(name)
    return found if isinstance(found, list) else []


def _whose(resource: Json, stays: Mapping[str, StayRead]) -> StayRead | None:
    subject = resource.get("subject")
    return stays.get(_tail(subject.get("reference"))) if isinstance(subject, Mapping) else None


def _is_over(resource: Json) -> bool:
    return bool(resource.get("status") in _WITHDRAWN or resource.get("lifecycleStatus") in _WITHDRAWN)


def _is_history(resource: Json, stay: StayRead) -> bool:
    """Whether a look of ours saw it that is not the one the Patient was last put with."""
    look = extension(resource, codes.LOOK, "valueString")
    return look is not None and look != stay.look


def _said(resource: Json) -> str:
    code = resource.get("code")
    return str(code.get("text", ""))[:40] if isinstance(code, Mapping) else ""


def _stay(patient: Json) -> str | None:
    for each in patient.get("identifier", ()):
        if each.get("system") == codes.STAY and isinstance(each.get("value"), str):
            return str(each["value"])
    return None


def _record(stay: str, facts: Facts) -> Record:
    try:
        return read_from_outside(facts)
    except RecordRefused as refused:
        raise FhirRefused(f"stay {stay}: {refused}") from None
