"""Lines of text in two faces, set before they are laid out: which words stand on which line, and where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from mobicard.paper import text_fit
from mobicard.paper.text_fit import BOLD, REGULAR

LOUD_PAD = 0.3
"""Room left and right of white words on their black ground, ems."""


@dataclass(frozen=True, slots=True)
class Point:
    """One paragraph: what is set white on black, what is strong, and the rest."""

    text: str
    strong: str = ""
    loud: str = ""

    @property
    def plain(self) -> str:
        """All of its words."""
        return " ".join(part for part in (self.loud, self.strong, self.text) if part)


@dataclass(frozen=True, slots=True)
class Piece:
    """Words of one face side by side on a line; ``left`` and ``wide`` in ems."""

    text: str
    face: str
    left: float
    wide: float
    loud: bool = False


Set = tuple[tuple[Piece, ...], ...]
"""A paragraph's lines."""


@lru_cache(maxsize=32768)
def set_lines(point: Point, ems: float, face: str = REGULAR) -> Set:
    """The paragraph in lines at most ``ems`` wide, broken at spaces; a word wider than that, inside."""
    lines: list[list[Piece]] = [[]]
    at = 0.0
    room = ems / 1.02
    for word, own, loud, broken in _words(point, face, room):
        wide, before = _em(word, own), _gap(lines[-1], own, loud)
        if lines[-1] and (broken or at + before + wide + LOUD_PAD * loud > room):
            lines.append([])
            at, before = 0.0, LOUD_PAD * loud
        lines[-1].append(Piece(word, own, at + before, wide, loud))
        at += before + wide
    return tuple(tuple(_joined(line)) for line in lines)


def line_count(point: Point, ems: float, face: str = REGULAR) -> int:
    """How many lines the paragraph takes at this width."""
    return len(set_lines(point, ems, face))


def _words(point: Point, face: str, room: float) -> Iterator[tuple[str, str, bool, bool]]:
    """Each word; the parts of one wider than the line begin a line each, as in a browser."""
    for text, own, loud in ((point.loud, BOLD, True), (point.strong, BOLD, False), (point.text, face, False)):
        for word in text.split(" ") if text else ():
            broken = _em(word, own) > room
            whole = text_fit.wrapped(word, 1.0, room, own) if broken else (word,)
            yield from ((part, own, loud, broken) for part in whole)


def _gap(line: list[Piece], face: str, loud: bool) -> float:
    if not line:
        return LOUD_PAD * loud
    turns = LOUD_PAD * (line[-1].loud != loud)
    return _em(" ", face) + turns


@lru_cache(maxsize=32768)
def _em(text: str, face: str) -> float:
    return text_fit.width_mm(text, 1.0, face)


def _joined(line: list[Piece]) -> Iterator[Piece]:
    """Neighbours of one face as one piece, so that they are read and searched as one."""
    for (face, loud), group in groupby(line, key=lambda piece: (piece.face, piece.loud)):
        pieces = list(group)
        wide = pieces[-1].left + pieces[-1].wide - pieces[0].left
        yield Piece(" ".join(piece.text for piece in pieces), face, pieces[0].left, wide, loud)
