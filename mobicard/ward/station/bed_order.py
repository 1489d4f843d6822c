"""How beds are put in order, and where a station keeps what is its own."""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Sequence
from pathlib import Path

from platformdirs import user_data_path


def station_folder(where: str) -> Path:
    """This station's own folder for one ledger: what is unsaved or held never reaches another ledger."""
    digest = hashlib.sha256(os.fsencode(where)).hexdigest()[:12]
    return user_data_path("mobicard", appauthor=False) / "stations" / digest


def bed_order(bed: str) -> tuple[Sequence[object], str]:
    """Sort key that reads numbers as numbers, so 4W-2 comes before 4W-12."""
    parts = re.split(r"(\d+)", bed)
    return [(1, int(part), "") if part.isdigit() else (0, 0, part.casefold()) for part in parts], bed
