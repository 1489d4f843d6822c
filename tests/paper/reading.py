"""How the page tests read what was made: the words of an HTML page, the lines and letters of a PDF's page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from html.parser import HTMLParser

from pdfminer.layout import LTChar, LTPage, LTTextContainer, LTTextLine


class Reader(HTMLParser):
    """The page as a reader meets it: its elements, and its words outside style sheets."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: Counter[str] = Counter()
        self.attributes: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._style = False
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements[tag] += 1
        self.attributes.append((tag, dict(attrs)))
        self._style = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._style = False

    def handle_data(self, data: str) -> None:
        if not self._style:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def lines(page: LTPage) -> Iterator[LTTextLine]:
    for block in page:
        if isinstance(block, LTTextContainer):
            yield from (line for line in block if isinstance(line, LTTextLine) and line.get_text().strip())


def letters(page: LTPage) -> Iterator[LTChar]:
    for line in lines(page):
        yield from (item for item in line if isinstance(item, LTChar) and item.get_text().strip())
