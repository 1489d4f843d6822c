"""Which stay a line of a bed list speaks of, and whether all lines together leave one patient to a bed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from mobicard.exchange.census.cells import STAY_PREFIX, bed_key
from mobicard.exchange.census.rows import CensusRow, CurrentStay, Decision, Kind, Unreadable
from mobicard.facts.units import both_masses


def without_doubles(rows: Sequence[CensusRow]) -> tuple[list[CensusRow], list[Unreadable], list[str]]:
    """Rows that say one thing, rows that contradict each other, and notes on plain repetitions."""
    wrong = {**_two_in_a_bed(rows), **_one_in_two_places(rows)}
    kept: list[CensusRow] = []
    notes: list[str] = []
    seen: dict[tuple[str, str, str | None], int] = {}
    for row in rows:
        if row.line in wrong:
            continue
        first = seen.setdefault((bed_key(row.bed), row.state, row.stay), row.line)
        if first == row.line:
            kept.append(row)
        else:
            notes.append(f"line {row.line}: the bed {row.bed} is listed again; line {first} counts")
    return kept, [Unreadable(row.line, wrong[row.line], row.bed) for row in rows if row.line in wrong], notes


def _two_in_a_bed(rows: Sequence[CensusRow]) -> dict[int, str]:
    by_bed: dict[str, list[CensusRow]] = {}
    for row in rows:
        if row.state == "present":
            by_bed.setdefault(bed_key(row.bed), []).append(row)
    wrong: dict[int, str] = {}
    for same in by_bed.values():
        if len({(row.stay, row.label) for row in same}) > 1:
            lines = ", ".join(str(row.line) for row in same)
            says = f"the bed {same[0].bed} is listed for more than one patient (lines {lines}); none is taken"
            wrong.update({row.line: says for row in same})
    return wrong


def _one_in_two_places(rows: Sequence[CensusRow]) -> dict[int, str]:
    by_stay: dict[str, list[CensusRow]] = {}
    for row in rows:
        if row.stay:
            by_stay.setdefault(row.stay, []).append(row)
    wrong: dict[int, str] = {}
    for same in by_stay.values():
        if len({(bed_key(row.bed), row.state) for row in same}) > 1:
            lines = ", ".join(str(row.line) for row in same)
            says = f"the same visit stands on lines {lines} with different beds or events; none is taken"
            wrong.update({row.line: says for row in same})
    return wrong


class Unit:
    """The unit as it is now, looked up by bed and by stay; ``former`` are stays already discharged.

    ``last`` is when each stay last came, moved or went.
    """

    def __init__(
        self, current: tuple[CurrentStay, ...], former: frozenset[str], last: Mapping[str, datetime]
    ) -> None:
        self.current = current
        self.former = former
        self.last = last
        self.by_stay = {each.stay: each for each in current}
        self.by_bed = {bed_key(each.bed): each for each in current}

    def overtaken(self, row: CensusRow, who: CurrentStay | None) -> bool:
        """Whether a message tells of something older than what is known of its stay."""
        last = self.last.get(who.stay if who else row.stay or "")
        return row.event_at is not None and last is not None and row.event_at < last

    def named(self, row: CensusRow) -> CurrentStay | None:
        """The stay that a row names by its visit or by the bed it comes from."""
        return self.by_stay.get(row.stay or "") or self.holder(row.from_bed)

    def holder(self, bed: str | None) -> CurrentStay | None:
        return self.by_bed.get(bed_key(bed)) if bed else None


def decide_all(
    rows: Sequence[CensusRow], unit: Unit, now: datetime | None
) -> tuple[list[Decision], list[Unreadable]]:
    """What each row alone would do, and the rows of which that cannot be told."""
    decided: list[Decision] = []
    unread: list[Unreadable] = []
    for row, who in zip(rows, _speakers(rows, unit), strict=True):
        decision = who if isinstance(who, str) else _decide(row, who, unit, now)
        if isinstance(decision, str):
            unread.append(Unreadable(row.line, decision, row.bed))
        else:
            decided.append(decision)
    return decided, unread


def _speakers(rows: Sequence[CensusRow], unit: Unit) -> list[CurrentStay | str | None]:
    """The stay each row speaks of, None for a newcomer, or a sentence where that cannot be told.

    Visit numbers and prior beds are heard first, then discharges by bed, then the rest by bed: who leaves a
    bed in this list is not the one who lies in it after.
    """
    found = {row.line: _named(row, unit) for row in rows}
    for state in ("discharge", "present"):
        claims = _claims(found.values())
        for row in rows:
            if found[row.line] is None and row.state == state:
                found[row.line] = _in_its_bed(row, unit, claims)
    claims = _claims(found.values())
    twice = "more than one line speaks of the patient in {}; none is taken"
    return [
        twice.format(who.bed) if isinstance(who, CurrentStay) and claims[who.stay] > 1 else who
        for who in (found[row.line] for row in rows)
    ]


def _claims(found: Iterable[CurrentStay | str | None]) -> Counter[str]:
    return Counter(who.stay for who in found if isinstance(who, CurrentStay))


def _named(row: CensusRow, unit: Unit) -> CurrentStay | str | None:
    """The stay a row names by its visit or by the bed it comes from; a sentence where that is wrong."""
    if row.stay and row.stay in unit.by_stay:
        return unit.by_stay[row.stay]
    holder = unit.holder(row.from_bed)
    if holder is None or bed_key(holder.bed) == bed_key(row.bed) or row.stay in unit.former:
        return None
    if not _may_be_same(row, holder):
        return _other_than(holder)
    already = unit.holder(row.bed)
    return _either_of(already, holder) if already and _may_be_same(row, already) else holder


def _either_of(already: CurrentStay, before: CurrentStay) -> str:
    """Both beds hold somebody this line may speak of: the list may have been applied before."""
    return (
        f"nothing tells the patient in {already.bed} from the one in {before.bed}, so the move may be done "
        "already; add initials or the visit number, or swap them by hand"
    )


def _in_its_bed(row: CensusRow, unit: Unit, claims: Counter[str]) -> CurrentStay | str | None:
    """The stay in the row's own bed, unless another line speaks of it or it is plainly somebody else."""
    holder = unit.holder(row.bed)
    if holder is None or claims[holder.stay] or row.stay in unit.former:
        return None
    if _may_be_same(row, holder):
        return holder
    return _other_than(holder) if row.state == "discharge" else None


def _other_than(holder: CurrentStay) -> str:
    return f"{holder.bed} holds another patient than this line says; check who is meant"


def _may_be_same(row: CensusRow, holder: CurrentStay) -> bool:
    """A bed's holder is this row's patient unless visit keys or labels say otherwise."""
    if row.stay and holder.stay.startswith(STAY_PREFIX):
        return row.stay == holder.stay
    return not (row.label and holder.label) or row.label.casefold() == holder.label.casefold()


def _decide(row: CensusRow, who: CurrentStay | None, unit: Unit, now: datetime | None) -> Decision | str:
    left = _has_left(row, now)
    if left is None:
        return "day and month of the discharge could be either way; set options.dates in a mapping file"
    if unit.overtaken(row, who):
        says = f"{row.bed}: told of {row.event_at:%d %b %H:%M}, older than what is known; nothing is done"
        return _decision("unchanged", row, says, who)
    if row.state == "empty":
        return _decision("unchanged", row, f"{row.bed}: stands empty in the file")
    if left:
        return _discharge(row, who)
    return _admission(row, unit) if who is None else _stays(row, who)


def _discharge(row: CensusRow, who: CurrentStay | None) -> Decision:
    if who is None:
        return _decision("unchanged", row, f"{row.bed}: already gone, nobody to discharge")
    gone = "leaves the unit" if row.leaves_unit else "discharged"
    return _decision("discharge", row, f"{who.bed}: {who.label or 'patient'} {gone}", who)


def _admission(row: CensusRow, unit: Unit) -> Decision:
    if not row.admits:
        return _decision(
            "unchanged", row, f"{row.bed}: an update of a patient who is not here; nothing is done"
        )
    if row.stay in unit.former:
        return _decision("readmit", row, f"{row.bed}: comes back; assess again")
    return _decision("admit", row, f"{row.bed}: new patient{_written(row)}, not assessed yet")


def _written(row: CensusRow) -> str:
    """What is written of a newcomer besides the bed: initials, and the weight with its unit."""
    weight = both_masses(row.weight_kg) if row.weight_kg else ""
    return "".join(f" {part}" for part in (row.label, weight) if part)


def _stays(row: CensusRow, who: CurrentStay) -> Decision | str:
    if bed_key(who.bed) == bed_key(row.bed):
        return _weighed(row, who) or _decision("unchanged", row, f"{who.bed}: same patient", who)
    label = f" {who.label}" if who.label else ""
    return _decision("move", row, f"{who.bed}:{label} moves to {row.bed}", who)


MOST_CHANGE = 0.25
"""A weight that differs by more than this share is asked about. Common practice, no source."""


def _weighed(row: CensusRow, who: CurrentStay) -> Decision | str | None:
    """A newer weight that a message tells of a patient who is here; a list says nothing of when.

    One told before the last look is not newer: whoever looked may have weighed.
    """
    told, known = row.weight_kg, who.weight_kg
    if told is None or row.event_at is None or (known is not None and abs(told - known) < 0.05):
        return None
    if known is None:
        return _decision("weigh", row, f"{who.bed}: weight {both_masses(told)}, none was known", who)
    if who.looked_at is not None and row.event_at < who.looked_at:
        return None
    change = f"{both_masses(known)} -> {both_masses(told)}"
    if abs(told - known) > MOST_CHANGE * known:
        return f"{who.bed}: the weight {change} is an unlikely change; weigh again, and record it"
    return _decision("weigh", row, f"{who.bed}: weight {change}", who)


def _has_left(row: CensusRow, now: datetime | None) -> bool | None:
    """Whether the row says the patient has left by ``now``; None when its date can be read both ways."""
    if row.state == "discharge" or not row.discharge_times:
        return row.state == "discharge"
    past = {now is None or time <= now for time in row.discharge_times}
    return None if len(past) > 1 else past == {True}


def _decision(kind: Kind, row: CensusRow, says: str, who: CurrentStay | None = None) -> Decision:
    left_at = row.discharge_times[0] if len(row.discharge_times) == 1 else None
    return Decision(
        kind=kind,
        line=row.line,
        bed=who.bed if who and kind != "move" else row.bed,
        says=says,
        stay=who.stay if who else row.stay,
        label=row.label or (who.label if who else None),
        from_bed=who.bed if who and kind == "move" else None,
        weight_kg=row.weight_kg if kind in ("admit", "weigh") else None,
        at=left_at or row.at if kind == "discharge" else row.at,
        event_at=row.event_at,
    )


def without_collisions(
    decided: Iterable[Decision], unit: Unit, all_leave: bool
) -> tuple[list[Decision], list[Unreadable]]:
    """Decisions after which no bed holds two patients; taking one back may take back others.

    ``all_leave``: stays that no line names are leaving too.
    """
    live = list(decided)
    named = {each.stay for each in live if each.stay}
    refused: list[Unreadable] = []
    while True:
        leaving = {each.stay for each in live if each.kind in ("discharge", "move")}
        staying = {
            bed_key(each.bed): each
            for each in unit.current
            if each.stay not in leaving and (each.stay in named or not all_leave)
        }
        back = [each for each in live if each.kind in _ENTER and bed_key(each.bed) in staying]
        if not back:
            return live, refused
        refused += [Unreadable(each.line, _held(each, staying[bed_key(each.bed)]), each.bed) for each in back]
        taken_back = {id(each) for each in back}
        live = [each for each in live if id(each) not in taken_back]


_ENTER = ("admit", "readmit", "move")


def _held(wanted: Decision, holder: CurrentStay) -> str:
    who = f" ({holder.label})" if holder.label else ""
    return (
        f"{wanted.bed} is held by another patient{who} who does not leave in this file; "
        "discharge or move that patient first"
    )
