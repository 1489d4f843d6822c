"""FHIR R4 (4.0.1) out: a Bundle of what is known of each stay and what follows from it.

``to_bundle([FhirStay(stay, record, plan), ...], timezone=None, labels=False, made_at=None) -> dict``.

A Patient is pseudonymous: the stay's key, no name, no birth date; initials only with ``labels=True``. Free
text of the record goes out as it was typed. R4 wants an offset beside every hour: without a time zone only
the date goes into the standard field and the hour into our own extension. What R4 cannot say goes into
extensions under ``urn:mobicard:``, so ``fhir_in.from_bundle`` reads back an equal record. What was derived
(level, score, bands, fall-risk flag, equipment to fetch) goes out beside the facts and is never read back.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from mobicard.derive import functional_codes
from mobicard.exchange.fhir import codes
from mobicard.exchange.fhir.derived import derived
from mobicard.exchange.fhir.facts import devices, observations
from mobicard.exchange.fhir.resources import FhirStay, Json, Resources


def to_bundle(
    stays: Iterable[FhirStay],
    *,
    timezone: str | None = None,
    labels: bool = False,
    made_at: datetime | None = None,
) -> Json:
    """A collection Bundle. ``timezone``: IANA name of the ward's clock; ``made_at``: its timestamp.

    R4 wants an offset in a timestamp: a ward time goes out only where the time zone is known.

    Raises ZoneInfoNotFoundError (a KeyError) for an unknown time zone. Same input, same bundle.
    """
    zone = ZoneInfo(timezone) if timezone else None
    if made_at and made_at.tzinfo is None:
        made_at = made_at.replace(tzinfo=zone) if zone else None
    made = [entry for stay in stays for entry in entries(Resources(stay, zone, labels=labels))]
    return {
        "resourceType": "Bundle",
        "meta": {
            "extension": [{"url": codes.NOTICE, "valueString": functional_codes.LOINC_NOTICE}],
        },
        "type": "collection",
        **({"timestamp": made_at.isoformat()} if made_at else {}),
        "entry": made,
    }


def entries(resources: Resources) -> list[Json]:
    """Patient first, then the facts, then what was derived from them."""
    found = [
        ("patient", resources.whose()),
        *((name, resources.observation(body)) for name, body in observations(resources)),
        *resources.flags(),
        *devices(resources),
        *derived(resources),
    ]
    return [{"fullUrl": resources.url(name), "resource": resources.named(name, body)} for name, body in found]
