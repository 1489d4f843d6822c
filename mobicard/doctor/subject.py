"""What the doctor looks at: the facility's paths, and the machine as a set of questions it can answer."""

from __future__ import annotations

import ctypes.util
import os
import shutil
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from mobicard.ward.station.clock import machine_zone_fault


def _page_library() -> object:
    from mobicard.paper.pdf.layout import layouter

    return layouter()


def _printers() -> tuple[str, ...]:
    from mobicard.paper.printer.queue import printers

    return printers()


def _mounts() -> str:
    try:
        return Path("/proc/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _terminal() -> tuple[int, int] | None:
    """Columns and lines, or None where there is no terminal."""
    try:
        size = os.get_terminal_size(sys.__stdout__.fileno() if sys.__stdout__ else 1)
    except (OSError, ValueError):
        return None
    return size.columns, size.lines


@dataclass(frozen=True)
class Machine:
    """The machine's answers; a test gives others."""

    page_library: Callable[[], object] = _page_library
    find_library: Callable[[str], str | None] = ctypes.util.find_library
    find_program: Callable[[str], str | None] = shutil.which
    printers: Callable[[], tuple[str, ...]] = _printers
    free_bytes: Callable[[Path], int] = lambda folder: shutil.disk_usage(folder).free
    mounts: Callable[[], str] = _mounts
    terminal: Callable[[], tuple[int, int] | None] = _terminal
    encoding: Callable[[], str] = lambda: str(getattr(sys.stdout, "encoding", "") or "")
    environment: Mapping[str, str] = field(default_factory=lambda: dict(os.environ))
    now: Callable[[], datetime] = lambda: datetime.now(UTC)
    zone_fault: Callable[[], str | None] = machine_zone_fault


@dataclass(frozen=True)
class Setup:
    """The facility's files. A path of None means the packaged default; ``printer`` is the queue to use."""

    config_dir: Path
    policy: Path | None = None
    scheme: Path | None = None
    inventory: Path | None = None
    staff: Path | None = None
    templates: Path | None = None
    ledger: str | None = None
    printer: str | None = None
    machine: Machine = field(default_factory=Machine)
