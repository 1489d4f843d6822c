"""One line of a handoff's cell, and which of its words stand on which printed line: set beforehand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

from mobicard.paper import text_fit
from mobicard.paper.text_fit import BOLD, REGULAR

LEADING = 1.14
"""Line height of the handoff, in ems."""

GROUND = ("late", "open")
"""Marks that stand on a ground or in a frame of their own, word by word."""

PAD = 0.3
"""Room left and right of words on a ground, ems."""

INDENT = {"more": 1.15, "less": 1.15, "box": 1.3, "level": 2.1}
"""What is drawn before a marked word takes, ems: a triangle, a box to tick, a level's chip."""


@dataclass(frozen=True, slots=True)
class Say:
    """A line: its bold ``lead``, a level's ``word``, then text; ``about`` names it where it is cut.

    ``mark`` is a style of the lead: ``late``, ``open``, ``more``, ``less``, ``box`` or none. ``joined``: in a
    paragraph the next one follows it without a full stop.
    """

    text: str
    lead: str = ""
    about: str = ""
    level: str = ""
    word: str = ""
    mark: str = ""
    joined: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """Words of one look side by side on a line; ``left`` and ``wide`` in ems. ``mark`` is also ``level``."""

    text: str
    face: str
    left: float
    wide: float
    mark: str = ""
    level: str = ""


Lines = tuple[tuple[Piece, ...], ...]


@lru_cache(maxsize=16384)
def set_says(says: tuple[Say, ...], ems: float, flow: bool) -> Lines:
    """The printed lines of a cell ``ems`` wide: a paragraph where they ``flow``, else a line or more each."""
    lines: list[list[Piece]] = []
    for word, left, begins in _placed(says, ems, flow):
        if begins:
            lines.append([])
        lines[-1].append(Piece(word.text, word.face, left, word.wide, word.mark, word.level))
    return tuple(tuple(_joined(line)) for line in lines)


@lru_cache(maxsize=65536)
def count_lines(says: tuple[Say, ...], ems: float, flow: bool) -> int:
    """How many lines ``set_says`` sets, which is asked far oftener than which they are."""
    return sum(begins for _, _, begins in _placed(says, ems, flow))


def flowing(says: Iterable[Say], size: float, box: float) -> int:
    """How many lines these take one after the other in one paragraph."""
    return count_lines(tuple(says), box / size, True)


# -- Words to lines ---------------------------------------------------------------------------------------


@lru_cache(maxsize=16384)
def _words(one: Say, stop: bool) -> tuple[Piece, ...]:
    """Each word as a piece without a place; a level, and what has a triangle before it, is never broken."""
    mark = one.mark if one.mark != "box" else ""
    words = [(one.word, BOLD, "level", one.level)] if one.level else []
    words += [("", REGULAR, "box", "")] if one.mark == "box" else []
    words += [(word, BOLD, mark, "") for word in ([one.lead] if mark in INDENT else _split(one.lead))]
    words += [(word, REGULAR, "", "") for word in _split(one.text)]
    if stop and words and words[-1][0][-1:] not in (".", "?", "!"):
        words[-1] = (f"{words[-1][0]}.", *words[-1][1:])
    return tuple(Piece(text, face, 0.0, _em(text, face), *look) for text, face, *look in words)


def _split(text: str) -> Iterator[str]:
    """The words between which a line may end."""
    return (word.replace("\xa0", " ") for word in text.split(" ") if word)


def _placed(says: Sequence[Say], room: float, flow: bool) -> Iterator[tuple[Piece, float, bool]]:
    """Each word with its left edge, ems, and whether a line begins with it."""
    last: Piece | None = None
    at = 0.0
    for one in says:
        last = last if flow else None
        for word in _words(one, flow and not one.joined):
            for piece in (word,) if word.wide <= room else _broken(word, room):
                before = _before(last, piece)
                begins = last is None or at + before + piece.wide + PAD * (piece.mark in GROUND) > room
                left = _before(None, piece) if begins else at + before
                yield piece, left, begins
                last, at = piece, left + piece.wide


def _broken(word: Piece, room: float) -> Iterator[Piece]:
    """A word wider than the line, in pieces."""
    for text in text_fit.wrapped(word.text, 1.0, room - INDENT.get(word.mark, PAD), word.face):
        yield replace(word, text=text, wide=_em(text, word.face))


def _before(last: Piece | None, word: Piece) -> float:
    """What lies between the last word and this one: a space, the edge of a ground, a mark that is drawn."""
    drawn = INDENT.get(word.mark, 0.0)
    if last is None:
        return drawn + PAD * (word.mark in GROUND)
    turns = last.mark != word.mark and (last.mark in GROUND or word.mark in GROUND)
    space = 0.0 if last.mark == "box" else _em(" ", word.face)
    return space + drawn + PAD * turns


@lru_cache(maxsize=16384)
def _em(text: str, face: str) -> float:
    return text_fit.width_mm(text, 1.0, face)


def _joined(line: Sequence[Piece]) -> Iterator[Piece]:
    """Neighbours of one look as one piece, so that they are read and searched as one."""
    for (face, mark), group in groupby(line, key=lambda piece: (piece.face, piece.mark)):
        pieces = list(group)
        wide = pieces[-1].left + pieces[-1].wide - pieces[0].left
        text = " ".join(piece.text for piece in pieces)
        yield Piece(text, face, pieces[0].left, wide, mark, pieces[0].level)


# -- What finds no room -----------------------------------------------------------------------------------


@lru_cache(maxsize=32768)
def within(
    says: tuple[Say, ...], room: int, size: float, box: float, where: str, least: int = 1
) -> tuple[Say, ...]:
    """The first of these that fit so many lines of a paragraph, and one that names what the rest is about.

    ``where`` the rest is read. The ``least`` stand whatever the room: what leads a cell is why it is there.
    Where even the names find no room, they are counted.
    """
    if flowing(says, size, box) <= room or len(says) <= least:
        return says
    for kept in range(len(says) - 1, least - 1, -1):
        if flowing(says[:kept], size, box) > room:
            continue
        topics = _topics(says[kept:])
        for named in range(len(topics), 0, -1):
            shown = (*says[:kept], _rest(topics[:named], len(topics) - named, where))
            if flowing(shown, size, box) <= room:
                return shown
    topics = _topics(says[least:])
    return (*says[:least], _rest(topics[:1], len(topics) - 1, where))


def _topics(says: Sequence[Say]) -> list[str]:
    return list(dict.fromkeys(one.about or one.lead or one.text for one in says))


def _rest(topics: Sequence[str], more: int, where: str) -> Say:
    return Say(", ".join(topics) + (f" and {more} more" if more else ""), f"See {where}:")
