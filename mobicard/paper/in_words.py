"""How pages put things into words: times, equipment, helpers; the same on every page."""

from __future__ import annotations

import re
import unicodedata
from datetime import datetime

from mobicard.derive.equipment import WORDS
from mobicard.facts.words import Equipment, Task
from mobicard.paper import text_fit

SUPPORT = "Decision support only. Licensed judgement, orders, facility policy and local codes come first."

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_UNPRINTABLE = re.compile(
    r"[\x00-\x1f\x7f-\x9f\xad\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]+"
)

EQUIPMENT_SAYS: dict[Equipment, str] = {
    **WORDS,
    Equipment.SEATED_TRANSFER_AID: "seated transfer aid (board)",
    Equipment.LATERAL_TRANSFER_AID: "lateral transfer aid (slide board)",
    Equipment.CRUTCHES: "crutches",
}
"""The ward's words, but for a list: the kind first, no article's sense of a pair."""


def clock(at: datetime) -> str:
    """``19:30``."""
    return f"{at:%H:%M}"


def day(at: datetime) -> str:
    """``Mon 2 Mar 2026``, the same in every locale."""
    return f"{_DAYS[at.weekday()]} {at.day} {_MONTHS[at.month - 1]} {at.year}"


def short_day(at: datetime) -> str:
    """``Thu 26 Nov``."""
    return f"{box_day(at)} {_MONTHS[at.month - 1]}"


def box_day(at: datetime) -> str:
    """``Thu 26``."""
    return f"{_DAYS[at.weekday()]} {at.day}"


def when(at: datetime) -> str:
    """``19:30, Mon 2 Mar 2026``."""
    return f"{clock(at)}, {day(at)}"


def helpers(count: int | None) -> str:
    """How many people, as a card says it; None is a move nobody should make."""
    if count is None:
        return "not now"
    return {0: "no helper", 1: "1 helper"}.get(count, f"{count} helpers")


def move_in_short(task: Task) -> str:
    """``sit up``; in the chair again by the trade's word: “up in chair” was read as “up to the chair”."""
    return "reposition in chair" if task is Task.UP_IN_CHAIR else task.value.replace("_", " ")


def printable(text: str) -> str:
    """The text as it can be printed: no controls or direction marks, picture signs by their names."""
    shown = _UNPRINTABLE.sub(" ", text)
    if not shown.isascii():
        shown = _named(shown)
    return re.sub(" {2,}", " ", shown).strip(" ")


_PICTURE_KINDS = ("So", "Sk", "Cn", "Co")
_JOINERS = re.compile("[\ufe00-\ufe0f\U0001f3fb-\U0001f3ff]|(?<=[^\\w\\s])\u200d")
"""What only shapes the picture before it: variation selectors, skin tones, the joiner of two pictures."""


def _named(text: str) -> str:
    """Each picture sign the carried fonts lack by its name: a printer would set an empty box."""
    return "".join(_name(letter) for letter in _JOINERS.sub("", text))


def _name(letter: str) -> str:
    if text_fit.carried(letter) or unicodedata.category(letter) not in _PICTURE_KINDS:
        return letter
    return f"[{unicodedata.name(letter, f'U+{ord(letter):04X}').lower()}]"


def sentence(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
