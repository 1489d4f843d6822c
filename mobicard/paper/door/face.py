"""What a door card is made from and says: a bed's plan and record, its words, the sizes they fit at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from mobicard.derive import Plan
from mobicard.facts import Record
from mobicard.paper import text_fit
from mobicard.scheme.scheme import LevelLook


@dataclass(frozen=True, slots=True)
class BedCard:
    """One bed's plan beside the record it follows from."""

    plan: Plan
    record: Record


class State(StrEnum):
    """The three states of a card, which differ at a glance."""

    LEVEL = "level"
    UNSEEN = "unseen"
    FALLEN = "fallen"


@dataclass(frozen=True, slots=True)
class Number:
    """How many people a group of moves takes, whoever reads it included; the picture that stands beside."""

    people: str
    says: str
    moves: str
    picture: str


@dataclass(frozen=True, slots=True)
class DoorFace:
    """Everything one door card says, in words, before it is fitted to a size.

    ``until`` is the day and the hour after which it is not valid, ``boxes`` the ends of the shifts after it,
    ``lasts`` the last of all; ``more`` counts the lines that stand on the bedside card only; ``code`` names
    all that is printed but the ends, and those too where there are no boxes; ``address`` stands before it in
    the QR.
    """

    state: State
    look: LevelLook
    word: str
    sub_line: str
    band: str
    numbers: tuple[Number, ...]
    says: tuple[str, ...]
    items: tuple[str, ...]
    more: int
    bed: str
    until: tuple[str, ...]
    boxes: tuple[str, ...]
    lasts: datetime | None
    code: str
    address: str = ""


@dataclass(frozen=True, slots=True)
class DoorCard:
    """A door face fitted to its size: what the template fills in. Sizes in mm."""

    face: DoorFace
    sub_size: float
    band_size: float
    bed_size: float
    until_size: float
    items: tuple[text_fit.Line, ...]
    items_size: float
    says: tuple[text_fit.Line, ...]
    says_size: float
