"""The unit in open formats: FHIR, CSV, JSON lines, and the ledger itself."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path

from mobicard.ward.beds import Beds
from mobicard.ward.views import BedView


def fhir_text(ward: Beds, views: Sequence[BedView]) -> str:
    """One FHIR R4 Bundle of the beds, pseudonymous."""
    from mobicard.exchange.fhir.bundle_out import to_bundle
    from mobicard.exchange.fhir.resources import FhirStay

    stays = [FhirStay(view.stay, view.record, view.plan) for view in views]
    bundle = to_bundle(stays, timezone=ward.policy.shift.timezone, made_at=ward.now)
    return json.dumps(bundle, indent=2, ensure_ascii=False) + "\n"


def csv_text(ward: Beds, views: Sequence[BedView]) -> str:
    """The unit's state for a spreadsheet, safe against formulas."""
    from mobicard.exchange.csv_out import unit_csv

    words = {level: look.word for level, look in ward.settings.scheme.looks.items()}
    return unit_csv([(view.record, view.plan) for view in views], words=words).decode("utf-8")


def line_text(ward: Beds, views: Sequence[BedView]) -> str:
    """One JSON line a bed: its record and its plan."""
    lines = (
        json.dumps({"record": view.record.as_json(), "plan": view.plan.as_json()}, ensure_ascii=False)
        for view in views
    )
    return "".join(f"{line}\n" for line in lines)


def ledger_lines(ward: Beds) -> str:
    """Every entry as JSON lines to read elsewhere, the staff list without what PINs were made into."""
    with tempfile.TemporaryDirectory(prefix="mobicard-") as folder:
        path = Path(folder) / "ledger.jsonl"
        ward.ledger.export_jsonl(path, secrets=False)
        return path.read_text(encoding="utf-8")
