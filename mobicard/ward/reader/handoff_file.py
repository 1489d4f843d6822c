"""The handoff as files."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from mobicard.derive.over_time.handoff_values import Handoff
from mobicard.paper.files import write_files
from mobicard.paper.handoff.page import HandoffPage
from mobicard.ward.station.settings import Settings


def write_handoff(
    handoff: Handoff,
    out: Path,
    settings: Settings,
    now: datetime,
    formats: Sequence[str] = ("html", "pdf"),
    paper: str | None = None,
) -> list[Path]:
    """Write the handoff summary, on the facility's stock. Raises OSError, PdfUnavailable."""
    page = HandoffPage(handoff, settings.scheme, now, paper or settings.stock)
    return write_files("handoff", out, formats, page.html, lambda: [page])
