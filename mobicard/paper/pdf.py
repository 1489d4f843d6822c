"""Turns pages into one tagged PDF: bounded batches, in parallel where it pays, the same bytes every time."""

from __future__ import annotations

import gc
import io
import os
import re
import tempfile
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass, field
from functools import cache
from itertools import chain, islice
from pathlib import Path
from typing import Any

from mobicard.paper import templates
from mobicard.paper.parts import Part, alone, joined, part_of

APT_LINE = "apt-get install -y --no-install-recommends libpangoft2-1.0-0 libharfbuzz-subset0"
BATCH = 30
SMALL = 10
VARIANT = "pdf/ua-1"
_FONTS = re.compile(re.escape(templates.FONTS_OPEN) + ".*?" + re.escape(templates.FONTS_CLOSE), re.DOTALL)
_STYLE = re.compile(r"<style[^>]*>(.*?)</style>", re.DOTALL)


class PdfUnavailable(RuntimeError):  # noqa: N818 - said to people; the HTML page still works
    """This machine cannot make a PDF; ``says`` has what to install. HTML pages need nothing of it."""

    def __init__(self, says: str) -> None:
        self.says = says
        super().__init__(says)


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
            data = alone(press().document(first[0]), VARIANT)
        else:
            data = _joined(chain(first, pages), workers or cores())
    if path is not None:
        _replace(Path(path), data)
    return data


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


@contextmanager
def collector_resting() -> Iterator[None]:
    """Keep the collector from walking the page boxes while they are laid out; restored whatever happens."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


@dataclass
class Press:
    """What is made once and used for every page: the library, the font set, the parsed style sheets."""

    weasyprint: Any
    fonts: Any
    font_sheet: Any
    sheets: dict[str, Any] = field(default_factory=dict)

    def document(self, html: str) -> Any:
        """The page laid out. Style sheets are parsed the first time they are seen only."""
        text = _FONTS.sub("", html)
        sheets = [self.font_sheet, *(self.sheet(css) for css in _STYLE.findall(text) if css.strip())]
        bare = _STYLE.sub("", text)
        return self.weasyprint.HTML(string=bare, url_fetcher=_nothing_from_outside).render(
            stylesheets=sheets, font_config=self.fonts, pdf_variant=VARIANT
        )

    def sheet(self, css: str) -> Any:
        """The parsed style sheet of this text."""
        if css not in self.sheets:
            self.sheets[css] = self.weasyprint.CSS(string=css, font_config=self.fonts, media_type="print")
        return self.sheets[css]


@cache
def press() -> Press:
    """The press, set up at first use (about a third of a second). Raises PdfUnavailable."""
    weasyprint = _library()
    fonts = weasyprint.text.fonts.FontConfiguration()
    sheet = weasyprint.CSS(string=templates.font_files_css(), font_config=fonts)
    return Press(weasyprint, fonts, sheet)


def _library() -> Any:
    banner = io.StringIO()
    try:
        with redirect_stdout(banner):
            import weasyprint
            import weasyprint.text.fonts
    except (OSError, ImportError) as missing:
        first = next((line for line in str(missing).splitlines() if line.strip()), type(missing).__name__)
        raise PdfUnavailable(
            "no PDF can be made on this machine: the text-layout libraries are missing.\n"
            f"Install them with:  {APT_LINE}\n"
            f"(what the system said: {first.strip()})\n"
            "The HTML pages work without them, and nothing recorded is touched."
        ) from None
    return weasyprint


def _nothing_from_outside(url: str, *_args: Any, **_kwargs: Any) -> Any:
    """A page is one file: only what it carries itself (``data:``) is read, never a file or the network."""
    if not url.startswith("data:"):
        raise ValueError("a page reads nothing from outside itself")
    from weasyprint.urls import URLFetcher

    return URLFetcher().fetch(url)


def _part(html: str) -> Part:
    return part_of(press().document(html), VARIANT)


def _joined(pages: Iterator[str], workers: int) -> bytes:
    press()
    if workers < 2 or threading.active_count() > 1 or not hasattr(os, "fork"):
        return joined(_part(page) for page in pages)
    return joined(_in_parallel(pages, workers))


def _in_parallel(pages: Iterator[str], workers: int) -> Iterator[Part]:
    """Parts in order from forked workers, which start warm; what a dead worker left is done here."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool

    window: list[tuple[str, Any]] = []
    with ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context("fork")) as pool:
        for page in chain(pages, [None] * workers * 2):
            if page is not None:
                window.append((page, pool.submit(_part, page)))
            if window and (page is None or len(window) >= workers * 2):
                text, future = window.pop(0)
                try:
                    yield future.result()
                except BrokenProcessPool:
                    yield _part(text)


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
