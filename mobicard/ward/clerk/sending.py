"""Pages handed to a print queue, in order, and what the queue said became of each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from mobicard.paper.printer.queue import PrintAnswer

DOORS = "door-cards.pdf"
BRIEFS_ALONE = "bedside-briefs.pdf"
"""The same briefs as behind the bedside cards, for who wants them by themselves."""


@dataclass
class Sent:
    """What the queue said of each page, by the file's name; ``missing`` where no queue can be asked."""

    answers: dict[str, PrintAnswer] = field(default_factory=dict)
    missing: str = ""

    @property
    def says(self) -> list[str]:
        """The same for a person, a line a page."""
        return [f"{name}: {told.says}" for name, told in self.answers.items()] + [self.missing] * bool(
            self.missing
        )

    @property
    def ok(self) -> bool:
        """Whether the queue says of every page that it is printed."""
        return not self.missing and all(told.ok for told in self.answers.values())

    @property
    def doors_refused(self) -> bool:
        """Whether the door cards never reached the queue, so that none can come out."""
        told = self.answers.get(DOORS)
        return bool(self.missing) or told is None or not _taken(told)

    @property
    def doors_wait(self) -> bool:
        """Whether the queue has the door cards and has not printed them yet."""
        return DOORS in self.answers and not self.answers[DOORS].ok

    @property
    def stopped(self) -> str:
        """What came out and what did not, for whoever stands at the printer."""
        out = [name for name, told in self.answers.items() if told.ok]
        said = "; ".join(f"{name}: {told.says}" for name, told in self.answers.items() if not told.ok)
        printed = f"Printed: {', '.join(out)}." if out else "Nothing is known to be printed."
        return self.missing or f"{said}\n{printed}"


def send_pages(
    files: Sequence[Path], printer: str, copies: int = 1, on_page: Callable[[str], None] | None = None
) -> Sent:
    """Hand over each PDF in order, briefs only behind their cards; after one not taken none is sent."""
    from mobicard.paper.printer.queue import PrinterUnavailable, send

    sent = Sent()
    for pdf in (one for one in files if one.suffix == ".pdf" and one.name != BRIEFS_ALONE):
        if on_page:
            on_page(pdf.stem)
        try:
            sent.answers[pdf.name] = send(pdf, printer, copies)
        except PrinterUnavailable as missing:
            return Sent(sent.answers, missing.says)
        if not _taken(sent.answers[pdf.name]):
            break
    return sent


def _taken(told: PrintAnswer) -> bool:
    return told.job is not None and told.state != "refused"
