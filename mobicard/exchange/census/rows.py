"""The lines of a bed list as values: what was read, what could not be, what a line would do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from mobicard.derive.as_json import AsJson

Kind = Literal["admit", "readmit", "move", "discharge", "unchanged", "not_in_file", "weigh"]


@dataclass(frozen=True, slots=True)
class CensusRow:
    """One patient line of a list, read. Times are ward wall clock.

    ``admits``: whether the line may bring a patient in; a bare update of one who is not here may not.
    ``event_at`` is when what a message tells of happened; a list tells of now and has none.
    """

    line: int
    bed: str
    state: Literal["present", "discharge", "empty"] = "present"
    label: str | None = None
    stay: str | None = None
    from_bed: str | None = None
    weight_kg: float | None = None
    at: datetime | None = None
    discharge_times: tuple[datetime, ...] = ()
    notes: tuple[str, ...] = ()
    admits: bool = True
    event_at: datetime | None = None
    leaves_unit: bool = False


@dataclass(frozen=True, slots=True)
class Unreadable(AsJson):
    """A line that could not be read, and why. ``line`` counts from 1 as an editor shows it."""

    line: int
    why: str
    bed: str | None = None


@dataclass(frozen=True, slots=True)
class Merge:
    """Two stays that a message says are one patient: the one kept, and its double."""

    line: int
    kept: str
    double: str


@dataclass(frozen=True, slots=True)
class Census:
    """A list as read. ``whole``: it lists everybody, so who is not in it may have left; messages never do."""

    rows: tuple[CensusRow, ...]
    cannot_read: tuple[Unreadable, ...] = ()
    notes: tuple[str, ...] = ()
    whole: bool = True
    merges: tuple[Merge, ...] = ()


class CensusRefused(ValueError):  # noqa: N818 - said to people as a refusal
    """A file that cannot be read as a bed list at all; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class CurrentStay:
    """A stay that is in a bed now, as the ledger has it; ``looked_at`` is when it was last assessed."""

    stay: str
    bed: str
    label: str | None = None
    weight_kg: float | None = None
    looked_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Decision(AsJson):
    """What one line would do; ``line`` is 0 for a stay no line names, ``stay`` None for a new one."""

    kind: Kind
    line: int
    bed: str
    says: str
    stay: str | None = None
    label: str | None = None
    from_bed: str | None = None
    weight_kg: float | None = None
    at: datetime | None = None
    event_at: datetime | None = None

    KEYS = ("kind", "line", "bed", "says", "from_bed", "label", "at")

    def as_json(self) -> dict[str, Any]:
        return {**AsJson.as_json(self), "line": self.line or None}
