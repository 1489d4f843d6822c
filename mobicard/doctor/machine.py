"""Checks of the machine: page library, printing, terminal, clock."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from datetime import UTC, datetime

from mobicard.doctor.files import ward_zone
from mobicard.doctor.finding import Finding, fail, ok, warn
from mobicard.doctor.subject import Setup
from mobicard.paper.pdf import APT_LINE, PdfUnavailable
from mobicard.paper.printer.queue import PrinterSilent

BUILT = datetime(2026, 1, 1, tzinfo=UTC)
"""No clock that is right can stand before this."""


def python(_: Setup) -> Iterator[Finding]:
    """The interpreter."""
    yield ok("python", f"{sys.version.split()[0]} at {sys.executable}")


def page_library(setup: Setup) -> Iterator[Finding]:
    """Whether PDF pages can be made."""
    try:
        setup.machine.page_library()
    except PdfUnavailable:
        yield fail(
            "page library",
            "no PDF can be made: the text-layout libraries are missing; HTML pages work without them",
            APT_LINE,
        )
        return
    if setup.machine.find_library("harfbuzz-subset") is None:
        yield warn(
            "page library", "PDF pages are slow to make and larger without libharfbuzz-subset", APT_LINE
        )
    else:
        yield ok("page library", "PDF pages can be made")


def printing(setup: Setup) -> Iterator[Finding]:
    """The print command and its queues."""
    machine = setup.machine
    if machine.find_program("lp") is None:
        yield warn(
            "printer",
            "this machine has no print command (lp); PDF files are written and printed by hand",
            "apt-get install cups-client",
        )
        return
    try:
        queues = machine.printers()
    except PrinterSilent as silent:
        yield fail("printer", silent.says, "PDF files are written all the same, and printed by hand")
        return
    if setup.printer and setup.printer not in queues:
        there = f"there are {', '.join(queues)}" if queues else "there is none"
        yield fail(
            "printer",
            f"no print queue is called “{setup.printer}”; {there}",
            "lpstat -e lists the names; add the printer with the system's printer settings",
        )
    elif not queues:
        yield warn(
            "printer",
            "no print queue is set up, or the print service does not run",
            "add a printer with the system's printer settings, or print the PDF files elsewhere",
        )
    else:
        yield ok("printer", f"print queues: {', '.join(queues)}")


def terminal(setup: Setup) -> Iterator[Finding]:
    """Room, letters and colours on the screen."""
    machine = setup.machine
    size, environment = machine.terminal(), machine.environment
    if size is None:
        yield ok("terminal", "not run in a terminal; commands work without one")
        return
    columns, lines = size
    if columns < 80 or lines < 24:
        yield warn(
            "terminal",
            f"{columns} columns and {lines} lines; the screens want 80 and 24",
            "make the window larger or its letters smaller",
        )
    elif environment.get("TERM", "") in ("", "dumb"):
        yield warn(
            "terminal", "the terminal does not say what it can do (TERM)", "export TERM=xterm-256color"
        )
    else:
        colours = "without colour (NO_COLOR)" if environment.get("NO_COLOR") else "in colour"
        yield ok("terminal", f"{columns} columns, {lines} lines, {colours}")
    if "utf" not in machine.encoding().casefold():
        yield warn(
            "letters",
            f"letters are written as {machine.encoding() or 'unknown'}, not UTF-8; some signs will be wrong",
            "export LANG=C.UTF-8",
        )


def clock(setup: Setup) -> Iterator[Finding]:
    """Whether the clock can be right at all, and whether the ward's zone is known."""
    now, zone = setup.machine.now(), ward_zone(setup)
    if zone is None and (fault := setup.machine.zone_fault()):
        yield fail("clock", fault, "correct TZ, or write shift.timezone in the facility's policy")
    elif now < BUILT:
        yield fail(
            "clock",
            f"this machine's clock says {now:%Y-%m-%d}, which cannot be",
            "set the clock, best by a time service; times decide until when a card holds",
        )
    else:
        yield ok("clock", f"{now:%Y-%m-%d %H:%M} UTC, {now.astimezone(zone):%H:%M} on the ward")
