"""Turns pages into one tagged PDF: bounded batches, in parallel where it pays, the same bytes every time."""

from __future__ import annotations

import gc
import os
import tempfile
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from mobicard.paper.parts import Part, alone, joined, part_of
from mobicard.paper.press import APT_LINE, VARIANT, PdfUnavailable, collector_resting, press

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

__all__ = ["APT_LINE", "Drawable", "Page", "PdfUnavailable", "batch_size", "batches", "warm_up", "write_pdf"]

BATCH = 30
SMALL = 10
"""Fewer cards than this are not worth a second process."""

_crew: list[ProcessPoolExecutor] = []
_printed_here: list[int] = []


@runtime_checkable
class Drawable(Protocol):
    """Pages that can be drawn straight into a PDF, or else laid out from HTML."""

    def html(self) -> str:
        """The pages as HTML."""

    def drawn(self) -> Part | None:
        """The pages as part of a PDF; None where they have to be laid out."""


Page = str | Drawable


def write_pdf(
    pages: Page | Iterable[Page], path: str | os.PathLike[str] | None, *, workers: int | None = None
) -> bytes:
    """One tagged PDF (PDF/UA-1) of a page, or of batches of pages in order; written to ``path`` if given.

    Returns its bytes. ``workers`` bounds the processes used (default: the cores this process may use);
    the bytes do not depend on it. Raises PdfUnavailable where the text-layout libraries are missing and
    needed, OSError where the path cannot be written; a file that was there stays whole until the new one is.
    """
    some = [pages] if isinstance(pages, str | Drawable) else pages
    with collector_resting():
        made = [_drawn(page) for page in some]
    texts = [page for page in made if isinstance(page, str)]
    if not made:
        raise ValueError("there is no page to print")
    if len(texts) < len(made):
        data = _mixed(made, texts, workers)
    else:
        data = _by_crew(texts, workers) if _crew else _made(texts, workers)
    if path is not None:
        _replace(Path(path), data)
    return data


def _drawn(page: Page) -> Part | str:
    return page if isinstance(page, str) else page.drawn() or page.html()


def _mixed(made: list[Part | str], texts: list[str], workers: int | None) -> bytes:
    """Drawn parts and laid-out ones joined in their order."""
    with collector_resting():
        laid_out = _parts(iter(texts), workers or cores()) if texts else iter(())
        return joined(next(laid_out) if isinstance(part, str) else part for part in made)


def warm_up() -> None:
    """Start the printing process now, so that it loads the page library while this one derives the plans.

    For a command that is going to print: call it first. Does nothing where a process cannot be forked safely
    (other threads run, or the system has no fork), or on a single core; printing works without it.
    """
    if _crew or cores() < 2 or not _may_fork():
        return
    _crew.append(_pool(1))
    _crew[0].submit(_load)


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


def _made(pages: list[str], workers: int | None) -> bytes:
    """The PDF's bytes, made in this process and what it forks."""
    with collector_resting():
        if len(pages) == 1:
            return alone(press().document(pages[0]), VARIANT)
        return joined(_parts(iter(pages), workers or cores()))


def _by_crew(pages: list[str], workers: int | None) -> bytes:
    """The same, made by the printing process; if that process died, made here."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        return _crew[0].submit(_made, pages, workers).result()
    except BrokenProcessPool:
        _crew.clear()
        return _made(pages, workers)


def _part(html: str) -> Part:
    """One batch. What the batch before left behind is collected first, so memory stays flat."""
    if _printed_here:
        gc.collect()
    _printed_here[:] = [1]
    with collector_resting():
        return part_of(press().document(html), VARIANT)


def _parts(pages: Iterator[str], workers: int) -> Iterator[Part]:
    """The parts in order: from workers forked warm, where there are cores for them, or one after the other.

    At most two pages a worker are under way at a time: pages are made only as they are needed.
    """
    first = next(pages)
    press().sheets_of(first)
    if workers < 2 or not _may_fork():
        yield from map(_part, chain([first], pages))
        return
    under_way: list[tuple[str, Future[Part] | None]] = []
    with _pool(workers) as pool:
        for page in chain([first], pages):
            under_way.append((page, _handed(pool, page)))
            if len(under_way) >= workers * 2:
                yield _answer(*under_way.pop(0))
        for page, future in under_way:
            yield _answer(page, future)


def _handed(pool: ProcessPoolExecutor, page: str) -> Future[Part] | None:
    from concurrent.futures.process import BrokenProcessPool

    try:
        return pool.submit(_part, page)
    except BrokenProcessPool:
        return None


def _answer(page: str, future: Future[Part] | None) -> Part:
    """What the worker made; what a worker that died left undone is done here."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        return future.result() if future else _part(page)
    except BrokenProcessPool:
        return _part(page)


def _pool(workers: int) -> ProcessPoolExecutor:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("fork"), initializer=gc.freeze)


def _load() -> None:
    """In the printing process: load the library; what cannot be loaded is said when a page comes."""
    with collector_resting(), suppress(PdfUnavailable):
        press()
    gc.freeze()


def _may_fork() -> bool:
    return hasattr(os, "fork") and threading.active_count() == 1


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(name).chmod(0o600)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
