"""What the front ends show of a bed: values only, made by the ward from ledger and plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from mobicard.derive.as_json import AsJson
from mobicard.derive.model import Plan
from mobicard.derive.over_time.changes import Change
from mobicard.facts import Record
from mobicard.facts.words import Level


class Due(StrEnum):
    """Whether someone has to look at the patient again."""

    OK = "ok"
    DUE = "due"
    OVERDUE = "overdue"


class Door(StrEnum):
    """Whether the card on the door still says what holds."""

    CURRENT = "current"
    PREPARED = "prepared"
    OUT_OF_DATE = "out_of_date"
    NONE = "none"


@dataclass(frozen=True)
class BedView:
    """One bed as the Board shows it. ``version`` is the fact version a save must name.

    ``unseen_since`` names what happened since somebody last looked at the patient: move, procedure, fall.
    """

    stay: str
    bed: str
    label: str | None
    record: Record
    plan: Plan
    version: int
    recorded_at: datetime | None
    recorded_by: str | None
    assignment: str | None
    due: Due
    due_says: str
    door: Door
    hung_code: str | None
    door_code: str
    door_lasts: datetime | None
    printed_at: datetime | None = None
    before: Plan | None = None
    changed: tuple[Change, ...] = ()
    limit_says: str = ""
    moved_at: datetime | None = None
    procedure_at: datetime | None = None
    fall_at: datetime | None = None
    unseen_since: frozenset[str] = frozenset()
    read_by: Mapping[str, datetime] = field(default_factory=dict)
    ticks: tuple[Mapping[str, object], ...] = ()
    goals: tuple[str, ...] = ()
    pending: bool = False
    late: datetime | None = None
    """When the look just saved was made, where it is history: the one that stands is newer."""

    @property
    def late_says(self) -> str:
        """That the look just saved is history, as a sentence to add; empty where it is the newest."""
        if self.late is None or self.record.assessed_at is None:
            return ""
        newer = f"{self.record.assessed_at:%d %b %H:%M}"
        return f" Your look of {self.late:%d %b %H:%M} is kept as history: the one of {newer} is newer."

    @property
    def assessed(self) -> bool:
        """Whether anything has been recorded for this stay yet."""
        return self.record.assessed_at is not None


@dataclass(frozen=True)
class DoorJob:
    """One door for the clerk: what hangs there, what should, and what to do."""

    stay: str
    bed: str
    take_down: str | None
    hang: str | None
    level: Level | None
    plan: Plan | None
    record: Record | None
    prepared: bool
    lasts: datetime | None = None
    printed_at: datetime | None = None
    """When the card that waits to be hung was printed, ward time."""
    take_down_at: str | None = None
    """The door the old card hangs on where it is another one: the patient moved since it was hung."""

    @property
    def says(self) -> str:
        """What to do at the door, and that its card was printed already."""
        again = f" (printed {self.printed_at:%d %b %H:%M} already)" if self.printed_at else ""
        return self._does + again

    @property
    def _does(self) -> str:
        if self.take_down_at and self.take_down:
            return f"hang {self.hang}, take down {self.take_down} from the door of {self.take_down_at}"
        if self.hang is None:
            return f"take down {self.take_down}: the patient is no longer in {self.bed}"
        if self.take_down is None:
            return f"hang {self.hang}: no card is on the door"
        return f"hang {self.hang}, take down {self.take_down}"


@dataclass(frozen=True)
class CodeAnswer(AsJson):
    """What a card's code stands for now. ``state``: current, replaced or unknown."""

    state: str
    code: str
    bed: str | None = None
    at: datetime | None = None
    by_code: str | None = None
    says: str = ""


@dataclass(frozen=True)
class FieldChange:
    """One fact two people saw differently: before, mine, theirs, as JSON values."""

    field: str
    before: object
    mine: object
    theirs: object
    both: bool


class WardRefused(Exception):  # noqa: N818 - said to people as a refusal
    """Something the ward will not do, and why; nothing was changed."""

    def __init__(self, says: str) -> None:
        self.says = says
        super().__init__(says)


class SaveRefused(WardRefused):
    """Somebody saved first: what they changed, field by field; the unsaved answers are kept."""

    def __init__(
        self, says: str, fields: tuple[FieldChange, ...], theirs: Record, version: int, by: str
    ) -> None:
        super().__init__(says)
        self.fields, self.theirs, self.version, self.by = fields, theirs, version, by
