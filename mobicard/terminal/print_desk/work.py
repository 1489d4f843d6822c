"""The print desk's slow work, in a thread: pages written, handed to a queue, noted as waiting to hang."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from textual.message import Message

from mobicard.ledger import LedgerError
from mobicard.outflow import write_private
from mobicard.ward import DoorJob, Ward, WardRefused
from mobicard.ward.clerk.order import Order
from mobicard.ward.clerk.sending import DOORS, Sent, send_pages

KINDS = {
    "door": ("door",),
    "bedside": ("bedside",),
    "both": ("door", "bedside"),
    "briefs": ("bedside",),
    "all": ("door", "bedside"),
}
WITH_BRIEFS = ("briefs", "all")
"""Choices that put the shift's briefs behind each bedside card."""

SIZES: tuple[tuple[str | None, int | None, str | None], ...] = (
    (None, None, None),
    ("a4", 1, None),
    ("half-letter", 1, "card"),
    ("letter", 1, None),
    ("a6", 4, None),
    ("a5", 1, "card"),
)
"""Card, how many on a sheet, paper; the first leaves all three to the facility's stock."""
Step = Callable[[str, int, int], None]


@dataclass
class PrintChoice:
    """Where and how this station prints: folder, queue (empty for none), kinds of card, size."""

    folder: str
    queue: str = ""
    kinds: str = "both"
    size: int = 0

    @classmethod
    def kept(cls, beside: Path) -> PrintChoice:
        """As chosen last at this station."""
        try:
            press = cls(**json.loads((beside / "print-desk.json").read_text(encoding="utf-8")))
            assert press.kinds in KINDS and 0 <= press.size < len(SIZES)  # noqa: PT018 - one file, one check
        except (OSError, ValueError, TypeError, AssertionError):
            return cls(str(Path.home() / "mobicard-cards"))
        return press

    def keep(self, beside: Path) -> None:
        """Remember the choice; a disk that refuses only means it is asked for again."""
        with suppress(OSError):
            beside.mkdir(mode=0o700, parents=True, exist_ok=True)
            write_private(beside / "print-desk.json", json.dumps(asdict(self)).encode())

    def order(self, stock: str, formats: tuple[str, ...] = ("html", "pdf")) -> Order:
        """The same as an order for the pages."""
        size, up, paper = SIZES[self.size]
        out = Path(self.folder).expanduser()
        briefs = self.kinds in WITH_BRIEFS
        return Order(out, KINDS[self.kinds], formats, size, up, paper, stock=stock, briefs=briefs)

    @property
    def kinds_say(self) -> str:
        """Which cards, and whether with the shift's briefs behind."""
        behind = ", the shift's briefs behind" if self.kinds in WITH_BRIEFS else ""
        return f"{' and '.join(KINDS[self.kinds])} cards{behind}"

    def size_says(self, stock: str) -> str:
        """The card's size, and how many on which paper where it does not fill its page."""
        sheet = self.order(stock).sheet
        card = sheet.card.name.replace("-", " ")
        return f"{card}, {sheet.up} on {sheet.paper.capitalize()}" if sheet.cut else card


@dataclass
class PrintStep(Message):
    """How far the pages are."""

    says: str


@dataclass
class PrintDone(Message):
    """The pages are written: the files, and what there is to know besides."""

    files: tuple[Path, ...]
    doors: int
    says: tuple[str, ...]


@dataclass
class PrintFailed(Message):
    """Nothing was printed, and why."""

    says: str


@dataclass
class JobsRead(Message):
    """The doors as just read from the ledger; ``stale`` are the stays whose door does not match."""

    jobs: Sequence[DoorJob]
    stale: frozenset[str]


@dataclass
class QueuesRead(Message):
    """The print queues this machine knows; ``says`` why there are none."""

    names: Sequence[str]
    says: str


def read_queues() -> QueuesRead:
    """Ask the print service; it may keep silent for some seconds."""
    from mobicard.paper.printer.queue import PrinterSilent, printers

    try:
        names = printers()[:9]
    except PrinterSilent as silent:
        return QueuesRead((), f"{silent.says[:1].upper()}{silent.says[1:]}.")
    return QueuesRead(names, "" if names else "This machine knows no print queue.")


def read_jobs(ward: Ward, every: bool) -> JobsRead:
    """What the clerk has to do, or with ``every`` all doors. Raises LedgerError."""
    stale = ward.doors.jobs()
    jobs = ward.doors.jobs(changed_only=False) if every else stale
    return JobsRead(jobs, frozenset(job.stay for job in stale))


def print_cards(ward: Ward, beds: Sequence[str], press: PrintChoice, on_step: Step) -> Message:
    """Write cards and slip of these beds as they stand now, hand them to the queue, note them as prepared."""
    try:
        every = ward.doors.jobs(changed_only=False)
        jobs = [job for job in every if job.hang and job.bed in beds]
        down = [job for job in every if job.hang is None]
        files, says = _written(ward, jobs, down, press, on_step)
        sent = _queued(files, press, on_step)
        if press.queue and sent.doors_refused and any(path.name == DOORS for path in files):
            return PrintFailed(f"{sent.stopped} The files are written: {press.folder}")
        twice = ward.doors.meanwhile(jobs)
        ward.doors.prepare(jobs, waits=sent.doors_wait)
    except OSError as refused:
        where = refused.filename or press.folder
        return PrintFailed(f"The folder cannot be written ({refused.strerror}); T chooses another. {where}")
    except (WardRefused, LedgerError) as refused:
        return PrintFailed(refused.says)
    twice = [f"{bed}: somebody else has printed this card meanwhile." for bed in twice]
    return PrintDone(tuple(files), len(jobs), (*says, *twice, *sent.says))


def _written(
    ward: Ward, jobs: Sequence[DoorJob], down: Sequence[DoorJob], press: PrintChoice, on_step: Step
) -> tuple[list[Path], list[str]]:
    """The files and what to say about them; without PDF the pages are written as HTML.

    The slip names every card of a patient who has left too: it is the walk along the doors.
    """
    from mobicard.paper.pdf import PdfUnavailable

    try:
        return _pages(ward, jobs, down, press, ("html", "pdf"), on_step), []
    except PdfUnavailable as missing:
        files = _pages(ward, jobs, down, press, ("html",), on_step)
        return files, [f"Only HTML pages were written, to print from a browser. {missing.says}"]


def _pages(
    ward: Ward,
    jobs: Sequence[DoorJob],
    down: Sequence[DoorJob],
    press: PrintChoice,
    formats: tuple[str, ...],
    on_step: Step,
) -> list[Path]:
    from mobicard.ward.clerk.printing import cards_of, write_cards, write_slip

    order = press.order(ward.settings.stock, formats)
    slip = write_slip([*jobs, *down], order.out, ward.settings, ward.now, formats, order.sheet.page)
    return slip + write_cards(cards_of(jobs), order, ward.settings, ward.now, on_step)


def _queued(files: Sequence[Path], press: PrintChoice, on_step: Step) -> Sent:
    """What the queue says about each page, if a queue was chosen."""
    if not press.queue:
        return Sent()
    return send_pages(files, press.queue, on_page=lambda name: on_step(f"{name} at {press.queue}", 0, 1))
