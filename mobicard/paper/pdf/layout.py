"""The press: the page library set up once, loaded only when a PDF is wanted, and what it costs kept low."""

from __future__ import annotations

import gc
import io
import re
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from mobicard.paper import templates

APT_LINE = "apt-get install -y --no-install-recommends libpangoft2-1.0-0 libharfbuzz-subset0"
VARIANT = "pdf/ua-1"
NO_OUTLINE = "h1, h2, h3, h4, h5, h6 { bookmark-level: none }"
"""A paged-media property no browser knows, so it stays out of the pages' own style sheet."""
_FONTS = re.compile(re.escape(templates.FONTS_OPEN) + ".*?" + re.escape(templates.FONTS_CLOSE), re.DOTALL)
_STYLE = re.compile(r"<style[^>]*>(.*?)</style>", re.DOTALL)


class PdfUnavailable(RuntimeError):  # noqa: N818 - said to people; the HTML page still works
    """This machine cannot make a PDF; ``says`` has what to install. HTML pages need nothing of it."""

    def __init__(self, says: str) -> None:
        self.says = says
        super().__init__(says)


@dataclass
class Layouter:
    """What is made once and used for every page: the library, the font set, the parsed style sheets.

    ``fetcher`` reads only what a page carries itself (``data:``), never a file or the network.
    """

    weasyprint: Any
    fonts: Any
    font_sheet: Any
    fetcher: Any
    sheets: dict[str, Any] = field(default_factory=dict)

    def document(self, html: str) -> Any:
        """The page laid out. Style sheets are parsed the first time they are seen only."""
        text = _FONTS.sub("", html)
        bare = _STYLE.sub("", text)
        return self.weasyprint.HTML(string=bare, url_fetcher=self.fetcher).render(
            stylesheets=self.sheets_of(text), font_config=self.fonts, pdf_variant=VARIANT
        )

    def sheets_of(self, html: str) -> list[Any]:
        """The parsed style sheets of this page, the carried fonts by file first."""
        styles = _STYLE.findall(_FONTS.sub("", html))
        return [self.font_sheet, *(self.sheet(css) for css in styles if css.strip())]

    def sheet(self, css: str) -> Any:
        """The parsed style sheet of this text."""
        if css not in self.sheets:
            self.sheets[css] = self.weasyprint.CSS(string=css, font_config=self.fonts, media_type="print")
        return self.sheets[css]


@cache
def layouter() -> Layouter:
    """The press, set up at first use (about a third of a second). Raises PdfUnavailable."""
    weasyprint = _library()
    fonts = weasyprint.text.fonts.FontConfiguration()
    sheet = weasyprint.CSS(string=templates.font_files_css() + NO_OUTLINE, font_config=fonts)
    return Layouter(weasyprint, fonts, sheet, weasyprint.urls.URLFetcher(allowed_protocols=("data",)))


def _library() -> Any:
    banner = io.StringIO()
    try:
        with redirect_stdout(banner):
            import weasyprint
            import weasyprint.text.fonts
            import weasyprint.urls
    except (OSError, ImportError) as missing:
        first = next((line for line in str(missing).splitlines() if line.strip()), type(missing).__name__)
        raise PdfUnavailable(
            "no PDF can be made on this machine: the text-layout libraries are missing.\n"
            f"Install them with:  {APT_LINE}\n"
            f"(what the system said: {first.strip()})\n"
            "The HTML pages work without them, and nothing recorded is touched."
        ) from None
    return weasyprint


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
