"""The unit in open formats: FHIR, CSV, JSON lines, and the ledger itself."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts.refusal import PLAN_ID, RECORD_ID, named
from mobicard.ward.beds import Beds
from mobicard.ward.views import BedView


def fhir_text(ward: Beds, views: Sequence[BedView]) -> str:
    """One FHIR R4 Bundle of the beds as they stand, pseudonymous."""
    from mobicard.ward.reader.stay_told import as_it_stands

    return _bundle(ward, (as_it_stands(ward, view) for view in views))


def fhir_since_text(
    ward: Beds, views: Sequence[BedView] | None, since: datetime | None, *, transaction: bool
) -> str:
    """A Bundle that takes back what does not hold any more, of these beds or (None) of all that changed."""
    from mobicard.ward.reader.stay_told import changed_since, whole_stay

    if views is not None:
        told: Iterable[FhirStay] = (stay for view in views if (stay := whole_stay(ward, view.stay)))
    else:
        told = changed_since(ward, since or ward.now)
    return _bundle(ward, told, since=since, transaction=transaction)


def _bundle(
    ward: Beds, stays: Iterable[FhirStay], *, since: datetime | None = None, transaction: bool = False
) -> str:
    from mobicard.exchange.fhir.bundle_out import to_bundle

    bundle = to_bundle(
        _noted(ward, stays),
        timezone=ward.policy.shift.timezone,
        made_at=None if transaction else ward.now,
        transaction=transaction,
        since=ward.clock.utc_of(since) if since else None,
    )
    return json.dumps(bundle, indent=2, ensure_ascii=False) + "\n"


def _noted(ward: Beds, stays: Iterable[FhirStay]) -> Iterator[FhirStay]:
    """The stays, each noted in the audit once all are told."""
    told = []
    for stay in stays:
        told.append(stay.stay)
        yield stay
    ward.seen(*told)


def csv_text(ward: Beds, views: Sequence[BedView]) -> str:
    """The unit's state for a spreadsheet, safe against formulas."""
    from mobicard.exchange.csv_out import unit_csv

    words = {level: look.word for level, look in ward.settings.scheme.looks.items()}
    return unit_csv([(view.record, view.plan) for view in views], words=words).decode("utf-8")


def line_text(ward: Beds, views: Sequence[BedView]) -> str:
    """One JSON line a bed: its record and its plan."""
    lines = (
        json.dumps(
            {
                "record": named(RECORD_ID, view.record.as_json()),
                "plan": named(PLAN_ID, view.plan.as_json()),
            },
            ensure_ascii=False,
        )
        for view in views
    )
    return "".join(f"{line}\n" for line in lines)


def ledger_lines(ward: Beds) -> str:
    """Every entry as JSON lines to read elsewhere, the staff list without what PINs were made into."""
    with tempfile.TemporaryDirectory(prefix="mobicard-") as folder:
        path = Path(folder) / "ledger.jsonl"
        ward.ledger.export_jsonl(path, secrets=False)
        return path.read_text(encoding="utf-8")
