"""The life of a stay: admit, move, swap, discharge, readmit, merge a double. Each one transaction."""

from __future__ import annotations

from uuid import uuid4

from mobicard.facts import read_record
from mobicard.ledger.state import StayState
from mobicard.ward.beds import Beds
from mobicard.ward.views import BedView, WardRefused


class Stays:
    """What can happen to a stay besides being assessed."""

    def __init__(self, beds: Beds) -> None:
        self._beds = beds

    def admit(self, bed: str, label: str | None = None) -> BedView:
        """A new stay in a free bed. Raises WardRefused when the bed is taken or its name cannot be read."""
        facts = {"bed": bed, **({"label": label} if label else {})}
        record = read_record(facts)
        taken = self._beds.find(record.bed)
        if taken:
            raise WardRefused(f"{taken.bed} is taken: move or discharge that stay first, or open it")
        stay = uuid4().hex[:16]
        body = {"bed": record.bed, "label": record.label}
        self._beds.append(self._beds.entry(stay, "admit", body, expect=0))
        return self._beds.bed(stay)

    def move(self, view: BedView, to: str) -> BedView:
        """Move a stay to a free bed. Raises WardRefused."""
        target = read_record({"bed": to}).bed
        if self._beds.find(target):
            raise WardRefused(f"{target} is taken: swap the two beds instead")
        self._beds.append(self._beds.entry(view.stay, "move", {"bed": target, "from": view.bed}))
        return self._beds.bed(view.stay)

    def swap(self, one: BedView, other: BedView) -> None:
        """Two stays change beds, both or neither."""
        self._beds.append(
            self._beds.entry(one.stay, "move", {"bed": other.bed, "from": one.bed, "swap": other.stay}),
            self._beds.entry(other.stay, "move", {"bed": one.bed, "from": other.bed, "swap": one.stay}),
        )

    def discharge(self, view: BedView) -> None:
        """End a stay; its entries are kept as policy says and its door card must come down."""
        self._beds.append(self._beds.entry(view.stay, "discharge", {"bed": view.bed}))

    def readmit(self, stay: str, bed: str) -> BedView:
        """Take a discharged stay up again; its last assessment does not count until redone."""
        target = read_record({"bed": bed}).bed
        if self._beds.find(target):
            raise WardRefused(f"{target} is taken: choose a free bed")
        self._beds.append(self._beds.entry(stay, "readmit", {"bed": target}))
        return self._beds.bed(stay)

    def ended(self, most: int = 9) -> list[StayState]:
        """The stays that ended last and were not taken up again, newest first. Raises LedgerError."""
        seen: dict[str, StayState | None] = {}
        for entry in self._beds.ledger.newest_first("discharge"):
            if entry.stay not in seen and self._beds.lies_here(entry.body.get("bed")):
                state = self._beds.ledger.latest(entry.stay)
                seen[entry.stay] = state if state and state.discharged_at and not state.open else None
            if len(ended := [one for one in seen.values() if one]) == most:
                return ended
        return [one for one in seen.values() if one]

    def merge_double(self, keep: BedView, double: BedView) -> BedView:
        """One patient entered twice: the double ends, naming the stay that is kept."""
        if keep.stay == double.stay:
            raise WardRefused("that is one stay, not two")
        self._beds.append(self._beds.entry(double.stay, "merge", {"into": keep.stay, "bed": double.bed}))
        return self._beds.bed(keep.stay)
