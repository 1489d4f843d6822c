"""A list or feed of the whole house, of which one unit is meant: who lies elsewhere is told only so far.

With a unit named, a bed outside it is read as ``ELSEWHERE``, whatever it is called there. A patient of this
unit who is told to be elsewhere leaves it; all others elsewhere are passed over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from mobicard.exchange.census import cells
from mobicard.exchange.census.rows import CensusRow, CurrentStay
from mobicard.facts.text import in_unit

ELSEWHERE = "elsewhere"


def bed_or_elsewhere(name: str, unit: str | None) -> str:
    """The bed as it will be kept, or that it is another unit's. Raises CellRefused for one of this unit."""
    return ELSEWHERE if unit and name and not in_unit(name, unit) else cells.bed(name)


def of_this_unit(
    rows: Iterable[CensusRow], here: Callable[[CensusRow], CurrentStay | None]
) -> tuple[list[CensusRow], int]:
    """The rows that speak of this unit's beds or patients, and how many were passed over.

    ``here`` finds the patient of this unit that a row names by visit or by the bed left.
    """
    kept: list[CensusRow] = []
    over = 0
    for row in rows:
        who = here(row) if row.bed == ELSEWHERE else None
        if row.bed != ELSEWHERE:
            kept.append(row if row.from_bed != ELSEWHERE else replace(row, from_bed=None))
        elif who is None:
            over += 1
        else:
            kept.append(_leaving(row, who))
    return kept, over


def _leaving(row: CensusRow, who: CurrentStay) -> CensusRow:
    gone = replace(row, bed=who.bed, from_bed=None, state="discharge", discharge_times=())
    return replace(gone, weight_kg=None, leaves_unit=True)
