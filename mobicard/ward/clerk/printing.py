"""From plans to files: cards and slip as HTML and PDF, in batches, with progress."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any

from mobicard.paper.door.face import BedCard
from mobicard.paper.door.slip import Slip, SlipLine
from mobicard.paper.files import write_files
from mobicard.paper.pdf.write import Page
from mobicard.paper.sheet_sizes import Sheet
from mobicard.ward.clerk.order import Order
from mobicard.ward.station.bed_order import bed_order
from mobicard.ward.station.settings import Settings
from mobicard.ward.views import DoorJob

Progress = Callable[[str, int, int], None]
BEDSIDE = "bedside-cards"


def cards_of(jobs: Iterable[DoorJob]) -> list[BedCard]:
    """The cards of the jobs that hang something."""
    return [BedCard(job.plan, job.record) for job in jobs if job.plan is not None and job.record is not None]


def write_cards(
    cards: Sequence[BedCard], order: Order, settings: Settings, now: datetime, on_step: Progress | None = None
) -> list[Path]:
    """Write the cards; gives the files in order. Raises WardRefused, OSError, PdfUnavailable."""
    if not cards:
        return []
    made = [_cards(kind, cards, order.sheet, settings, now) for kind in order.kinds]
    if order.briefs:
        made = [*(one for one in made if one[0] != BEDSIDE), *_with_backs(cards, order, settings, now)]
    return [
        path
        for name, html, batches in made
        for path in write_files(
            name, order.out, order.formats, html, partial(_counted, batches, name, len(cards), on_step)
        )
    ]


def write_slip(
    jobs: Sequence[DoorJob],
    out: Path,
    settings: Settings,
    now: datetime,
    formats: Sequence[str] = ("html", "pdf"),
    paper: str = "a4",
) -> list[Path]:
    """Write the slip that says, door by door, what comes down and what goes up."""
    slip = Slip(by_doors(jobs), settings.scheme, now, paper)
    return write_files("slip", out, formats, slip.html, lambda: [slip])


def by_doors(jobs: Sequence[DoorJob]) -> list[SlipLine]:
    """One line a door in the order of the corridor, whoever lies behind it now or hung there before."""
    up = {job.bed: job for job in jobs if job.hang}
    down: dict[str, str] = {}
    for job in jobs:
        if job.take_down:
            door = job.take_down_at or job.bed
            down[door] = f"{down[door]}, {job.take_down}" if door in down else job.take_down
    return [
        SlipLine(door, up[door].hang, down.get(door), up[door].level)
        if door in up
        else SlipLine(door, None, down[door])
        for door in sorted({*up, *down}, key=bed_order)
    ]


def _counted(
    pages: Callable[[], Iterable[Page]], name: str, whole: int, on_step: Progress | None
) -> Iterable[Page]:
    """The pages, telling how far the work has come: a batch counts once the next one is asked for."""
    batches = max(1, -(-whole // 30))
    for number, page in enumerate(pages()):
        if on_step:
            on_step(name, min(whole, number * whole // batches), whole)
        yield page
    if on_step:
        on_step(name, whole, whole)


def _cards(
    kind: str, cards: Sequence[BedCard], sheet: Sheet, settings: Settings, now: datetime
) -> tuple[str, Callable[[], str], Callable[[], Iterable[Page]]]:
    """The file's name; the cards as one page; the same in batches.

    A bedside card fills an upright page of the same family of papers as the door card.
    """
    scheme = settings.scheme
    if kind == "door":
        from mobicard.paper.door.card import door_batches, door_html

        door = (cards, sheet, scheme, settings.policy, now)
        return "door-cards", partial(door_html, *door), partial(door_batches, *door)
    from mobicard.paper.bedside.card import bedside_batches, bedside_html

    how: Any = {
        "paper": sheet.page,
        "ink": sheet.ink,
        "phrases": settings.phrases,
        "address": settings.policy.door.address,
    }
    bedside = (cards, scheme, now)
    return BEDSIDE, partial(bedside_html, *bedside, **how), partial(bedside_batches, *bedside, **how)


Made = tuple[str, Callable[[], str], Callable[[], Iterable[Page]]]


def _with_backs(cards: Sequence[BedCard], order: Order, settings: Settings, now: datetime) -> list[Made]:
    """The bedside cards, in the PDF each with its briefs behind it; and all briefs by themselves."""
    from mobicard.paper.bedside.card import bedside_html
    from mobicard.paper.brief.second_side import Back, backs_html
    from mobicard.ward.clerk.briefs import back_of

    how: Any = {"paper": order.sheet.page, "ink": order.ink}
    backs = [back_of(card, settings.policy, now, settings.phrases) for card in cards]

    def front(some: Sequence[BedCard]) -> str:
        own: Any = {"phrases": settings.phrases, "address": settings.policy.door.address}
        return bedside_html(some, settings.scheme, now, **own, **how)

    def back(some: Sequence[Back]) -> str:
        return backs_html(some, settings.scheme, now, **how)

    def both() -> Iterator[Page]:
        for one, behind in zip(cards, backs, strict=True):
            yield front([one])
            yield back([behind])

    alone = partial(back, backs)
    return [(BEDSIDE, partial(front, cards), both), ("bedside-briefs", alone, lambda: [alone()])]
