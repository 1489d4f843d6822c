"""What a door card is made from and says: a bed's plan and record, its words, the sizes they fit at."""

from __future__ import annotations

from dataclasses import dataclass

from mobicard.derive import Plan
from mobicard.facts import Record
from mobicard.paper import text_fit
from mobicard.scheme.scheme import LevelLook


@dataclass(frozen=True, slots=True)
class BedCard:
    """One bed's plan beside the record it follows from."""

    plan: Plan
    record: Record


@dataclass(frozen=True, slots=True)
class DoorFace:
    """Everything one door card says, in words, before it is fitted to a size."""

    look: LevelLook
    sub_line: str
    band: str
    expired: bool
    helpers: str
    items: tuple[str, ...]
    bed: str
    until_says: str
    until: tuple[str, str]
    code: str


@dataclass(frozen=True, slots=True)
class DoorCard:
    """A door face fitted to its size: what the template fills in. Sizes in mm."""

    face: DoorFace
    sub_size: float
    band_size: float
    helpers_size: float
    bed_size: float
    clock_size: float
    code_size: float
    items: text_fit.Fitted
