"""Runs every check in order; whatever a check trips over becomes a finding."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Protocol

from mobicard.doctor import files, machine, store
from mobicard.doctor.finding import Finding, fail
from mobicard.doctor.subject import Setup
from mobicard.ward.station.settings import Settings

Check = Callable[[Setup], Iterator[Finding]]

CHECKS: tuple[tuple[str, Check], ...] = (
    ("python", machine.python),
    ("policy", files.policy),
    ("scheme", files.scheme),
    ("inventory", files.inventory),
    ("instruments", files.instruments),
    ("phrases", files.phrases),
    ("staff list", files.staff),
    ("folder", files.folder),
    ("templates", files.templates),
    ("fonts", files.fonts),
    ("ledger", store.ledger),
    ("page library", machine.page_library),
    ("printer", machine.printing),
    ("terminal", machine.terminal),
    ("clock", machine.clock),
)
"""Every check by the name of what it looks at."""


def run_doctor(setup: Setup, checks: Iterable[tuple[str, Check]] = CHECKS) -> list[Finding]:
    """The findings of every check, in order. Never raises."""
    return [finding for what, check in checks for finding in _guarded(what, check, setup)]


def _guarded(what: str, check: Check, setup: Setup) -> list[Finding]:
    found: list[Finding] = []
    try:
        for finding in check(setup):
            found.append(finding)
    except Exception as wrong:  # a check that trips is itself a finding; the others go on
        says = f"could not be looked at: {type(wrong).__name__}: {wrong}"
        found.append(fail(what, says, "look at that file or device by hand; if it is in order, report this"))
    return found


class Station(Protocol):
    """What knows where this station's files are."""

    @property
    def settings(self) -> Settings: ...


def findings_of(station: Station, printer: str | None = None) -> list[Finding]:
    """The findings for a station's own settings."""
    settings = station.settings
    return run_doctor(
        Setup(
            config_dir=settings.config_dir,
            policy=settings.policy_path,
            scheme=settings.scheme_path,
            inventory=settings.inventory_path,
            staff=settings.staff_path,
            ledger=settings.ledger_url,
            printer=printer,
        )
    )
