"""FHIR R4 (4.0.1) out: a Bundle of what is known of each stay and what follows from it.

``to_bundle([FhirStay(stay, record, plan), ...], timezone=None, labels=False, made_at=None) -> dict``.

A Patient is pseudonymous: the stay's key, no name, no birth date; initials only with ``labels=True``. Free
text of the record goes out as it was typed. R4 wants an offset beside every hour: without a time zone only
the date goes into the standard field and the hour into our own extension. What R4 cannot say goes into
extensions of ours (``definitions.py``), so ``bundle_in.from_bundle`` reads back an equal record. What was
derived (level, score, bands, fall-risk flag, equipment to fetch, plan) goes out beside the facts and is never
read back. Of a stay whose past is told, what does not hold any more is taken back (``taken_back.py``).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from mobicard.derive import functional_codes
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.around import encounter, location
from mobicard.exchange.fhir.resources import FhirStay, Json, Resources
from mobicard.exchange.fhir.statements import Statement
from mobicard.exchange.fhir.taken_back import with_what_was_said


def to_bundle(
    stays: Iterable[FhirStay],
    *,
    timezone: str | None = None,
    labels: bool = False,
    made_at: datetime | None = None,
    transaction: bool = False,
    since: datetime | None = None,
) -> Json:
    """A Bundle: a collection, or a transaction that puts each resource by its id, however often it is sent.

    ``timezone``: IANA name of the ward's clock; ``made_at``: the collection's timestamp, out only where the
    time zone is known; ``since`` (aware): what was taken back before then is left out.

    Raises ZoneInfoNotFoundError (a KeyError) for an unknown time zone. Same input, same bundle.
    """
    made = list(entries(stays, timezone=timezone, labels=labels, transaction=transaction, since=since))
    return {**head(timezone=timezone, made_at=made_at, transaction=transaction), "entry": made}


def head(*, timezone: str | None, made_at: datetime | None, transaction: bool) -> Json:
    """The Bundle without its entries."""
    if made_at and made_at.tzinfo is None:
        made_at = made_at.replace(tzinfo=ZoneInfo(timezone)) if timezone else None
    return {
        "resourceType": "Bundle",
        "meta": {
            "extension": [{"url": codes.NOTICE, "valueString": functional_codes.LOINC_NOTICE}],
        },
        "type": "transaction" if transaction else "collection",
        **({"timestamp": made_at.isoformat()} if made_at else {}),
    }


def entries(
    stays: Iterable[FhirStay],
    *,
    timezone: str | None = None,
    labels: bool = False,
    transaction: bool = False,
    since: datetime | None = None,
) -> Iterator[Json]:
    """The Bundle's entries, stay by stay; a bed that two stays lay in is told once."""
    zone = ZoneInfo(timezone) if timezone else None
    beds: set[str] = set()
    for stay in stays:
        resources = Resources(stay, zone, labels=labels, relative=transaction)
        for id_, resource in _of_stay(resources, beds, since):
            entry = {"fullUrl": f"urn:uuid:{id_}", "resource": resource}
            put = {"method": "PUT", "url": f"{resource['resourceType']}/{id_}"}
            yield {**entry, "request": put} if transaction else entry


def _of_stay(resources: Resources, beds: set[str], since: datetime | None) -> Iterator[Statement]:
    """Patient, bed and stay first, then what was and is said of them."""
    yield resources.statement("patient", resources.patient())
    if resources.bed_id() not in beds:
        beds.add(resources.bed_id())
        yield resources.bed_id(), resources.named(resources.bed_id(), location(resources))
    yield resources.statement("encounter", encounter(resources))
    yield from with_what_was_said(resources, since)
