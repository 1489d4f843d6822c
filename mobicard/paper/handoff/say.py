"""One line of a handoff's cell; a cell that has room for fewer says what the rest is about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mobicard.paper import text_fit

LEADING = 1.14
"""Line height of the handoff, in ems."""

_BOLDER = 0.97
"""What a bold lead takes of a line that is measured as regular letters."""

_MARKS = {"more": "xx", "less": "xx", "late": "x", "open": "x"}
"""As wide as what is drawn at a marked lead."""

_CHIP = "xxxx"
"""As wide as the mark that stands before a level's word."""


@dataclass(frozen=True, slots=True)
class Say:
    """A line: its bold ``lead``, a level's ``word``, then text; ``about`` names it where it is cut.

    ``mark`` is a style of the lead: ``late``, ``open``, ``more``, ``less`` or none.
    """

    text: str
    lead: str = ""
    about: str = ""
    level: str = ""
    word: str = ""
    mark: str = ""

    @property
    def share(self) -> float:
        """How much of the box it may fill, measured in these letters."""
        return _BOLDER if self.lead and self.text else 1.0

    @property
    def face(self) -> str:
        """The letters most of it is set in."""
        return text_fit.BOLD if len(self.lead) > len(self.text) else text_fit.REGULAR

    @property
    def plain(self) -> str:
        """All of it, as wide as it is printed."""
        mark = _MARKS.get(self.mark, "")
        return " ".join(filter(None, (mark, self.lead, _CHIP if self.level else "", self.word, self.text)))


def lines_of(says: Iterable[Say], size: float, box: float) -> int:
    """How many lines these take in a box this wide."""
    return sum(text_fit.lines_needed(one.plain, size, box * one.share, one.face) for one in says)


def flowing(says: Sequence[Say], size: float, box: float) -> int:
    """How many lines these take one after the other in one paragraph."""
    text = " ".join(f"{one.plain}." for one in says)
    return text_fit.lines_needed(text, size, box * _BOLDER, text_fit.REGULAR) if says else 0


def within(
    says: Sequence[Say], room: int, size: float, box: float, where: str, least: int = 1
) -> tuple[Say, ...]:
    """The first of these that fit so many lines of a paragraph, and one that names what the rest is about.

    ``where`` the rest is read. The ``least`` stand whatever the room: what leads a cell is why it is there.
    Where even the names find no room, they are counted.
    """
    if flowing(says, size, box) <= room or len(says) <= least:
        return tuple(says)
    for kept in range(len(says) - 1, least - 1, -1):
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
