"""A bed list against the unit: preview, then all of it in one step or none."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal

from mobicard.exchange.census.cells import bed_key
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.hl7_messages import looks_like_hl7, read_hl7
from mobicard.exchange.census.mapping import CensusMapping
from mobicard.exchange.census.preview import Preview, Step, preview, steps
from mobicard.exchange.census.rows import Census, CurrentStay
from mobicard.ledger import Entry, NewEntry, StayState
from mobicard.ledger.staff.visit_numbers import visit_hider
from mobicard.ward.beds import Beds
from mobicard.ward.carried_forward import record_of
from mobicard.ward.views import WardRefused

EVENT_AT = "event_at"
"""In a body: when what a message told of happened (ward time); the entry's own time is when it was taken."""


def census_preview(
    ward: Beds,
    data: bytes,
    mapping: CensusMapping | None = None,
    *,
    absent: Literal["keep", "discharge"] = "keep",
    only: str | None = None,
) -> Preview:
    """What a bed list (CSV, a workbook, or HL7 v2 ADT messages) would do now; nothing is done.

    ``only`` is the unit that is meant, where the list is of the whole house; the ward's own by default.

    Raises exchange.CensusRefused when the file is no bed list at all.
    """
    key, only = _hidden(ward), only or ward.unit
    census = (
        read_hl7(data, salt=key, only=only)
        if looks_like_hl7(data)
        else read_census(data, replace(mapping or CensusMapping(), only=only), salt=key)
    )
    states = ward.ledger.beds()
    current = [_as_it_lies(state) for state in states]
    last = _last_events(ward, _spoken_of(census, current))
    ended = {stay for stay, (kind, _) in last.items() if kind == "discharge"} - {one.stay for one in current}
    told = {stay: at for stay, (_, at) in last.items()}
    return preview(census, current, absent=absent, now=ward.now, former=ended, last=told, only=only)


def _as_it_lies(state: StayState) -> CurrentStay:
    if state.record is None:
        return CurrentStay(state.stay, state.bed, state.label)
    record = state.record
    return CurrentStay(state.stay, state.bed, state.label, record.weight_kg, record.assessed_at)


PLACED = ("admit", "readmit", "move", "discharge")


def _spoken_of(census: Census, current: Sequence[CurrentStay]) -> set[str]:
    """The stays that these rows may speak of: by their visit, or by a bed they name."""
    beds = {bed_key(bed) for row in census.rows for bed in (row.bed, row.from_bed) if bed}
    here = {one.stay for one in current if bed_key(one.bed) in beds}
    return here | {row.stay for row in census.rows if row.stay}


def _last_events(ward: Beds, stays: set[str]) -> dict[str, tuple[str, datetime]]:
    """What last placed each stay, and when that happened: as a message told it, else when it was entered."""
    return {stay: (one.kind, _when(ward, one)) for stay, one in ward.ledger.newest_of(stays, PLACED).items()}


def _when(ward: Beds, placed: Entry) -> datetime:
    told = placed.body.get(EVENT_AT)
    return datetime.fromisoformat(told) if isinstance(told, str) else ward.clock.ward_time(placed.at)


def census_apply(
    ward: Beds, seen: Preview, *, all_or_nothing: bool = False, message: str | None = None
) -> int:
    """Apply a preview in one transaction; gives the number of stays touched. Never touches an assessment.

    A weight is taken, for a new stay or as the newer one, only where this person may record. Of messages,
    those that cannot be read stop only their own visit, unless ``all_or_nothing``; of a list, a line stops
    all of it.
    ``message`` names the entries after the message they come from, so that it is known when it comes again.

    Raises WardRefused when lines could not be read, LedgerError when the unit changed since the preview.
    """
    if seen.cannot_read and (all_or_nothing or not seen.may_be_applied):
        lines = "; ".join(f"line {one.line}: {one.why}" for one in seen.cannot_read[:5])
        raise WardRefused(f"{len(seen.cannot_read)} lines cannot be read, so nothing is applied: {lines}")
    entries: list[NewEntry] = []
    for step in steps(seen):
        if step.kind == "weigh":
            entries += _weighed(ward, step)
            continue
        stay = step.stay or f"c-{secrets.token_hex(8)}"
        body: dict[str, Any] = {"bed": step.bed, "from": step.from_bed, "source": "bed list"}
        if step.swap:
            body["swap"] = step.swap
        if step.kind in ("admit", "readmit"):
            body = {"bed": step.bed, "label": step.label, "source": "bed list"}
        if step.event_at is not None:
            body[EVENT_AT] = step.event_at.isoformat()
        entries.append(ward.entry(stay, step.kind, body))
        if step.kind == "admit" and step.facts and ward.may("record"):
            facts = {"bed": step.bed, "label": step.label, **step.facts}
            record = {name: value for name, value in facts.items() if value is not None}
            entries.append(ward.entry(stay, "record", {"record": record, "source": "bed list"}))
    if message is not None:
        entries = [replace(one, id=f"{message}-{number}") for number, one in enumerate(entries)]
    ward.append(*entries)
    return len(seen.admit) + len(seen.move) + len(seen.discharge) + len(seen.weigh)


def _weighed(ward: Beds, step: Step) -> list[NewEntry]:
    """The record with the newer weight, by this person where she may record; the look keeps its own time."""
    state = ward.ledger.latest(step.stay or "") if ward.may("record") else None
    if state is None:
        return []
    record = record_of(state).changed(**step.facts)
    body = {"record": record.as_json(), "source": "bed list"}
    return [ward.entry(state.stay, "record", body, state.fact_version)]


def _hidden(ward: Beds) -> Callable[[str], str]:
    """What hides visit numbers: the ledger, asked at the first number it is needed for."""
    hider: list[Callable[[str], str]] = []

    def hide(visit: str) -> str:
        if not hider:
            hider.append(visit_hider(ward.ledger, _own_key(ward)))
        return hider[0](visit)

    return cache(hide)


def _own_key(ward: Beds) -> bytes | None:
    """The key this station had kept itself, before ledgers did: ``MOBICARD_CENSUS_KEY``, or a file."""
    given = os.environ.get("MOBICARD_CENSUS_KEY")
    if given:
        return given.encode()
    path: Path = ward.settings.config_dir / "census.key"
    try:
        return path.read_bytes() or None
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as cannot:
        raise WardRefused(
            f"the key by which patients of earlier bed lists are found again cannot be read at {path} "
            f"({cannot.strerror}): name another folder with --config, or set MOBICARD_CENSUS_KEY"
        ) from None
