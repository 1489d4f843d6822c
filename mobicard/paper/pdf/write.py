"""Turns pages into one tagged PDF: bounded batches, two processes where it pays, always the same bytes."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, zip_longest
from pathlib import Path
from typing import Any, Protocol, runtime_checkable

from mobicard.outflow import write_private
from mobicard.paper.pdf.layout import VARIANT, collector_resting, layouter
from mobicard.paper.pdf.merge import Part, alone, joined
from mobicard.paper.pdf.second_process import SecondProcess, laid_out

BATCH = 30
SMALL = 10
"""Fewer cards than this are not worth a second process."""


@runtime_checkable
class Drawable(Protocol):
    """Pages that can be drawn straight into a PDF, or else laid out from HTML."""

    def html(self) -> str:
        """The pages as HTML."""

    def drawn(self) -> Part | None:
        """The pages as part of a PDF; None where they have to be laid out."""


Page = str | Drawable


def write_pdf(
    pages: Page | Iterable[Page], path: str | os.PathLike[str] | None, *, processes: int | None = None
) -> bytes:
    """One tagged PDF (PDF/UA-1) of a page, or of batches of pages in order; written to ``path`` if given.

    Returns its bytes. ``processes`` bounds the processes used (default: this process's cores, two at most);
    the bytes do not depend on it. Raises PdfUnavailable where the text-layout libraries are missing
    and needed, OSError where the path cannot be written; a file that was there stays whole till then.
    """
    some = [pages] if isinstance(pages, str | Drawable) else pages
    with collector_resting():
        made = [_drawn(page) for page in some]
        data = _bytes(made, processes or cores())
    if path is not None:
        write_private(Path(path), data)
    return data


def _drawn(page: Page) -> Part | str:
    return page if isinstance(page, str) else page.drawn() or page.html()


def _bytes(made: Sequence[Part | str], processes: int) -> bytes:
    """Drawn parts and laid-out ones joined in their order; a single laid-out page is a file as it is."""
    if not made:
        raise ValueError("there is no page to print")
    if len(made) == 1 and isinstance(made[0], str):
        return alone(layouter().document(made[0]), VARIANT)
    texts = [page for page in made if isinstance(page, str)]
    parts = _parts(texts, processes)
    return joined(next(parts) if isinstance(part, str) else part for part in made)


def batch_size(count: int) -> int:
    """How many cards go into one batch: by the count alone, so the bytes are the same everywhere."""
    if count <= SMALL:
        return max(count, 1)
    return min(BATCH, -(-count // 2))


def batches(items: Sequence[Any], multiple: int = 1) -> Iterator[Sequence[Any]]:
    """The items in batches of ``batch_size``, rounded up to fill whole sheets of ``multiple``."""
    size = -(-batch_size(len(items)) // multiple) * multiple
    for start in range(0, len(items), size):
        yield items[start : start + size]


def cores() -> int:
    """The cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _parts(pages: Sequence[str], processes: int) -> Iterator[Part]:
    """The parts in order: every other one from a second process, where there is a core for it.

    The first page's style sheets are read before, so that a missing library is said at once.
    """
    if pages:
        layouter().sheets_of(pages[0])
    if processes < 2 or len(pages) < 2:
        return map(_one_of_many, pages)
    return iter(_shared(pages))


def _shared(pages: Sequence[str]) -> list[Part]:
    theirs = SecondProcess(pages[1::2])
    try:
        mine = [_one_of_many(page) for page in pages[::2]]
        others = theirs.parts() or [_one_of_many(page) for page in pages[1::2]]
    finally:
        theirs.end()
    return [part for part in chain.from_iterable(zip_longest(mine, others)) if part]


def _one_of_many(page: str) -> Part:
    """One batch. What the batch before left behind is collected first, so memory stays flat."""
    gc.collect()
    return laid_out(page)
