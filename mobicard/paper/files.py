"""A page as files of its own, readable by whoever wrote them: HTML, PDF or both."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from mobicard.outflow import write_private
from mobicard.paper.pdf.write import Page


def write_page(name: str, html: str, out: Path, formats: Sequence[str] = ("html", "pdf")) -> list[Path]:
    """Write one page as HTML, PDF or both. Raises OSError, PdfUnavailable."""
    return write_files(name, out, formats, lambda: html, lambda: [html])


def write_files(
    name: str,
    out: Path,
    formats: Sequence[str],
    html: Callable[[], str],
    pages: Callable[[], Iterable[Page]],
) -> list[Path]:
    """A page by its ways of being made, into a folder that is made too. Raises OSError, PdfUnavailable."""
    out.mkdir(parents=True, exist_ok=True)
    paths = []
    if "html" in formats:
        paths.append(out / f"{name}.html")
        write_private(paths[-1], html().encode())
    if "pdf" in formats:
        from mobicard.paper.pdf import write_pdf

        paths.append(out / f"{name}.pdf")
        write_pdf(pages(), paths[-1])
    return paths
