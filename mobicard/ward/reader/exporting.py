"""The unit in open formats, piece by piece as it is written: FHIR, CSV, JSON lines, the ledger itself."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from pathlib import Path
from textwrap import indent
from typing import Any, TypeVar

from mobicard.exchange.fhir.resources import FhirStay
from mobicard.facts.refusal import PLAN_ID, RECORD_ID, named
from mobicard.ward.beds import FEW, Beds
from mobicard.ward.views import BedView

T = TypeVar("T", FhirStay, BedView)


def fhir_text(ward: Beds, views: Iterable[BedView]) -> Iterator[str]:
    """One FHIR R4 Bundle of the beds as they stand, pseudonymous."""
    from mobicard.ward.reader.stay_told import as_it_stands

    return _bundle(ward, (as_it_stands(ward, view) for view in views))


def fhir_since_text(
    ward: Beds, views: Iterable[BedView] | None, since: datetime | None, *, transaction: bool
) -> Iterator[str]:
    """A Bundle that takes back what does not hold any more, of these beds or (None) of all that changed."""
    from mobicard.ward.reader.stay_told import changed_since, whole_stay

    if views is not None:
        told: Iterable[FhirStay] = (stay for view in views if (stay := whole_stay(ward, view.stay)))
    else:
        told = changed_since(ward, since or ward.now)
    return _bundle(ward, told, since=since, transaction=transaction)


def _bundle(
    ward: Beds, stays: Iterable[FhirStay], *, since: datetime | None = None, transaction: bool = False
) -> Iterator[str]:
    """The Bundle as ``json.dumps`` would write it; no more than one of its entries is held at a time."""
    from mobicard.exchange.fhir.bundle_out import entries, head

    zone = ward.policy.shift.timezone
    made_at = None if transaction else ward.now
    yield _spelled(head(timezone=zone, made_at=made_at, transaction=transaction)).removesuffix("\n}")
    before = ',\n  "entry": [\n'
    start = ward.clock.utc_of(since) if since else None
    for entry in entries(_noted(ward, stays), timezone=zone, transaction=transaction, since=start):
        yield before + indent(_spelled(entry), "    ")
        before = ",\n"
    yield "\n  ]\n}\n" if before == ",\n" else ',\n  "entry": []\n}\n'


def _spelled(said: Mapping[str, Any]) -> str:
    return json.dumps(said, indent=2, ensure_ascii=False)


def _noted(ward: Beds, stays: Iterable[T]) -> Iterator[T]:
    """The stays, noted in the audit some at a time, once they are told."""
    told: list[str] = []
    for stay in stays:
        told.append(stay.stay)
        yield stay
        if len(told) == FEW:
            ward.seen(*told)
            told.clear()
    ward.seen(*told)


def csv_text(ward: Beds, views: Iterable[BedView]) -> Iterator[str]:
    """The unit's state for a spreadsheet, safe against formulas."""
    from mobicard.exchange.csv_out import csv_lines

    words = {level: look.word for level, look in ward.settings.scheme.looks.items()}
    return csv_lines(((view.record, view.plan) for view in _noted(ward, views)), words)


def line_text(ward: Beds, views: Iterable[BedView]) -> Iterator[str]:
    """One JSON line a bed: its record and its plan."""
    for view in _noted(ward, views):
        record, plan = named(RECORD_ID, view.record.as_json()), named(PLAN_ID, view.plan.as_json())
        yield json.dumps({"record": record, "plan": plan}, ensure_ascii=False) + "\n"


def ledger_lines(ward: Beds) -> Iterator[str]:
    """Every entry as JSON lines to read elsewhere, the staff list without what PINs were made into."""
    with tempfile.TemporaryDirectory(prefix="mobicard-") as folder:
        path = Path(folder) / "ledger.jsonl"
        ward.ledger.export_jsonl(path, secrets=False)
        with path.open(encoding="utf-8") as lines:
            yield from lines
