"""Turns pages into one tagged PDF: bounded batches, in parallel where it pays, the same bytes every time."""

from __future__ import annotations

import gc
import os
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from mobicard.paper.parts import Part, alone, joined, part_of
from mobicard.paper.press import APT_LINE, VARIANT, PdfUnavailable, collector_resting, press

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

__all__ = ["APT_LINE", "PdfUnavailable", "batch_size", "batches", "warm_up", "write_pdf"]

BATCH = 30
SMALL = 10
"""Fewer cards than this are not worth a second process."""

_T = TypeVar("_T")
_crew: list[ProcessPoolExecutor] = []


def write_pdf(
    html: str | Iterable[str], path: str | os.PathLike[str] | None, *, workers: int | None = None
) -> bytes:
    """One tagged PDF (PDF/UA-1) of a page, or of batches of pages in order; written to ``path`` if given.

    Returns its bytes. ``workers`` bounds the processes used (default: the cores this process may use);
    the bytes do not depend on it. Raises PdfUnavailable where the text-layout libraries are missing, OSError
    where the path cannot be written; a file that was there stays whole until the new one is.
    """
    pages = iter([html] if isinstance(html, str) else html)
    first = list(islice(pages, 2))
    if not first:
        raise ValueError("there is no page to print")
    with collector_resting():
        if len(first) == 1:
            data = _single(first[0])
        else:
            data = joined(_parts(chain(first, pages), workers or cores()))
    if path is not None:
        _replace(Path(path), data)
    return data


def warm_up(workers: int | None = None) -> None:
    """Start the worker processes now, so that they load the page library while this one derives the plans.

    For a command that is going to print: call it first. Does nothing where processes cannot be forked safely
    (other threads run, or the system has no fork), or with a single core; printing works without it.
    """
    count = workers or cores()
    if _crew or count < 2 or not _may_fork():
        return
    _crew.append(_pool(count, _make_ready))
    _crew[0].submit(_nothing)


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


def _alone(html: str) -> bytes:
    return alone(press().document(html), VARIANT)


def _part(html: str) -> Part:
    """One batch; what it left behind is collected, so memory stays flat however many come."""
    with collector_resting():
        part = part_of(press().document(html), VARIANT)
    gc.collect()
    return part


def _single(html: str) -> bytes:
    if not _crew:
        return _alone(html)
    return _answer(_crew[0].submit(_alone, html), _alone, html)


def _parts(pages: Iterator[str], workers: int) -> Iterator[Part]:
    """The parts in order: from a crew that is warm, from workers forked warm here, or one after the other."""
    if _crew:
        yield from _from_crew(_crew[0], pages, workers)
        return
    press()
    if workers < 2 or not _may_fork():
        yield from map(_part, pages)
        return
    with _pool(workers, _make_ready) as pool:
        yield from _from_crew(pool, pages, workers)


def _from_crew(pool: ProcessPoolExecutor, pages: Iterator[str], workers: int) -> Iterator[Part]:
    """At most two pages a worker are under way at a time: pages are made only as they are needed."""
    under_way: list[tuple[str, Future[Part]]] = []
    for page in pages:
        under_way.append((page, pool.submit(_part, page)))
        if len(under_way) >= workers * 2:
            text, future = under_way.pop(0)
            yield _answer(future, _part, text)
    for text, future in under_way:
        yield _answer(future, _part, text)


def _answer(future: Future[_T], again: Callable[[str], _T], text: str) -> _T:
    """What the worker made; what a worker that died left undone is done here."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        return future.result()
    except BrokenProcessPool:
        _crew.clear()
        return again(text)


def _pool(workers: int, ready: Callable[[], None]) -> ProcessPoolExecutor:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("fork"), initializer=ready)


def _make_ready() -> None:
    """In a worker: load the library; what is loaded is never walked by the collector again."""
    gc.disable()
    try:
        press()
    except PdfUnavailable:
        return  # the page asked for will say it
    gc.freeze()
    gc.enable()


def _nothing() -> None:
    """The first job, so that the workers are started."""


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
