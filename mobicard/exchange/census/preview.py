"""What a bed list would do to the unit: admit, move, discharge, unchanged, or cannot read; nothing is done.

``preview(census, current, absent=..., now=..., former=...) -> Preview`` compares, ``steps(preview)`` is the
pure list the ward applies in one transaction or not at all. An assessment is never touched: a step carries
bed, label and, for an admission, at most a weight.

Who is who, decided simply:

- A row with a visit number is the stay whose key is the keyed hash of it (``cells.stay_of``).
- Else, a row that names the bed the patient comes from is the stay in that bed, unless the labels differ.
- Else, a row is the stay in its own bed, unless the labels differ. Equal initials in another bed prove
  nothing: that is an admission, with a note.
- A row for a bed that somebody else holds, and does not leave in the same list, is not applied.
- A stay that is not in the list stays where it is and is shown, unless ``absent="discharge"`` was asked for,
  the list is a whole one and every line of it could be read.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import pairwise
from typing import Any, Literal

from mobicard.derive.as_json import AsJson
from mobicard.exchange.census.cells import bed_key
from mobicard.exchange.census.match import Unit, decide_all, without_collisions, without_doubles
from mobicard.exchange.census.one_unit import of_this_unit
from mobicard.exchange.census.rows import (
    Census,
    CensusRow,
    CurrentStay,
    Decision,
    Kind,
    Merge,
    Unreadable,
)
from mobicard.facts.text import in_unit


@dataclass(frozen=True, slots=True)
class Preview(AsJson):
    """What would happen, each line once; ``not_in_file`` are stays left as they are."""

    admit: tuple[Decision, ...] = ()
    move: tuple[Decision, ...] = ()
    discharge: tuple[Decision, ...] = ()
    unchanged: tuple[Decision, ...] = ()
    not_in_file: tuple[Decision, ...] = ()
    cannot_read: tuple[Unreadable, ...] = ()
    notes: tuple[str, ...] = ()
    messages: bool = False
    """Whether it was told by messages, each of which stands for itself, and not by a list."""
    weigh: tuple[Decision, ...] = ()
    """Newer weights of patients who are here."""

    @property
    def may_be_applied(self) -> bool:
        """A list with a line that cannot be read is not what it seems; of messages the others still hold."""
        return self.messages or not self.cannot_read

    @property
    def leaving_unsaid(self) -> int:
        """How many would be discharged only because no line speaks of them."""
        return sum(one.line == 0 for one in self.discharge)

    def summary(self) -> str:
        """One line for people: ``3 admitted, 1 moved, 2 discharged, 18 unchanged, 0 cannot be read``."""
        parts = [
            f"{len(self.admit)} admitted",
            f"{len(self.move)} moved",
            f"{len(self.discharge)} discharged",
            f"{len(self.unchanged)} unchanged",
            f"{len(self.cannot_read)} cannot be read",
        ]
        if self.weigh:
            parts.insert(3, f"{len(self.weigh)} weighed")
        if self.not_in_file:
            parts.append(f"{len(self.not_in_file)} not in the file")
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing for the ward to write. ``stay`` is None where the ward is to make a new key.

    ``facts`` are those of a newly admitted record beside bed and label, or a newer weight; never an
    assessment. ``swap`` is the stay that changes beds with this one, in the step beside it.
    """

    kind: Literal["admit", "readmit", "move", "discharge", "weigh"]
    stay: str | None
    bed: str
    label: str | None = None
    from_bed: str | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    at: datetime | None = None
    says: str = ""
    swap: str | None = None
    event_at: datetime | None = None


def steps(preview: Preview) -> tuple[Step, ...]:
    """The steps of a preview, to be applied together or not at all, in an order in which each bed is free.

    Discharges first, then moves, the one into a free bed first; patients who change beds in a ring do so by
    swaps of two. Then admissions, then weights.
    """
    come = map(_step, (*preview.admit, *preview.weigh))
    order = [*map(_step, preview.discharge), *_moves(preview.move), *come]
    return tuple(order)


def _moves(moves: Iterable[Decision]) -> Iterator[Step]:
    """Moves so ordered that the bed is free when its turn comes."""
    waiting = {bed_key(str(move.from_bed)): move for move in moves}
    while waiting:
        chain = [next(iter(waiting.values()))]
        ahead = waiting.get(bed_key(chain[0].bed))
        while ahead is not None and ahead is not chain[0]:
            chain.append(ahead)
            ahead = waiting.get(bed_key(ahead.bed))
        for move in chain:
            del waiting[bed_key(str(move.from_bed))]
        yield from map(_step, reversed(chain)) if ahead is None else _ring(chain)


def _ring(chain: Sequence[Decision]) -> Iterator[Step]:
    """Each patient takes the bed of the next, the last that of the first: one swap after the other."""
    first = str(chain[0].from_bed)
    for one, other in pairwise(chain):
        yield replace(_step(one), from_bed=first, swap=other.stay)
        yield replace(_step(other), bed=first, swap=one.stay)


def _step(decision: Decision) -> Step:
    kind = decision.kind
    # the lists steps are made of hold no others
    assert kind in ("admit", "readmit", "move", "discharge", "weigh")
    return Step(
        kind=kind,
        stay=decision.stay,
        bed=decision.bed,
        label=decision.label,
        from_bed=decision.from_bed,
        facts={} if decision.weight_kg is None else {"weight_kg": decision.weight_kg},
        at=decision.at,
        says=decision.says,
        event_at=decision.event_at,
    )


def preview(
    census: Census,
    current: Iterable[CurrentStay],
    *,
    absent: Literal["keep", "discharge"] = "keep",
    now: datetime | None = None,
    former: Collection[str] = (),
    last: Mapping[str, datetime] | None = None,
    only: str | None = None,
) -> Preview:
    """What applying ``census`` to the ``current`` stays would do.

    ``absent``: what to do with stays that a whole list does not name. ``now``: a discharge time after it has
    not happened yet. ``former``: keys of stays already discharged, which come back as ``readmit``. ``last``:
    when each stay last came, moved or went; a message that tells of something older does nothing. ``only``:
    the unit whose beds are meant, where the list is of the whole house.
    """
    unit = Unit(tuple(current), frozenset(former), last or {})
    ours, over = of_this_unit(census.rows, unit.named)
    rows, doubled, doubles = without_doubles(ours)
    decided, undecided = decide_all(rows, unit, now)
    unread = [*census.cannot_read, *doubled, *undecided, *_doubles(census.merges, unit)]
    all_leave = absent == "discharge" and census.whole and not unread
    sure, collided = without_collisions(decided, unit, all_leave)
    missing = _missing(unit, decided, unread, leave=all_leave, only=only) if census.whole else []
    every = (*sure, *missing)
    return Preview(
        admit=tuple(each for each in every if each.kind in ("admit", "readmit")),
        move=tuple(each for each in every if each.kind == "move"),
        discharge=tuple(each for each in every if each.kind == "discharge"),
        unchanged=tuple(each for each in every if each.kind == "unchanged"),
        not_in_file=tuple(each for each in every if each.kind == "not_in_file"),
        cannot_read=tuple(sorted([*unread, *collided], key=lambda each: each.line)),
        notes=(*_told(census, rows, over, only), *doubles, *_maybe_moved(sure, missing)),
        messages=not census.whole,
        weigh=tuple(each for each in every if each.kind == "weigh"),
    )


def _told(census: Census, rows: Iterable[CensusRow], over: int, only: str | None) -> Iterator[str]:
    """What was noted while reading, of the list and of each line."""
    yield from census.notes
    if over:
        yield f"passed over, not of {only}: {over}"
    yield from (f"line {row.line}: {note}" for row in rows for note in row.notes)


def _missing(
    unit: Unit,
    decided: Iterable[Decision],
    unread: Iterable[Unreadable],
    *,
    leave: bool,
    only: str | None,
) -> list[Decision]:
    """Stays no line speaks of: left alone, or all discharged where that was asked for."""
    named = {each.stay for each in decided if each.stay}
    in_doubt = {bed_key(each.bed) for each in unread if each.bed}
    found: list[Decision] = []
    for stay in unit.current:
        if stay.stay in named or bed_key(stay.bed) in in_doubt or (only and not in_unit(stay.bed, only)):
            continue
        kind: Kind = "discharge" if leave else "not_in_file"
        what = "taken as discharged" if leave else "nothing is done"
        says = f"{stay.bed}: not in the file, {what}"
        found.append(Decision(kind, 0, stay.bed, says, stay=stay.stay, label=stay.label))
    return found


def _doubles(merges: Iterable[Merge], unit: Unit) -> Iterator[Unreadable]:
    """Doubles that lie on this unit: in which bed the one patient is, only a person can see."""
    for merge in merges:
        double, kept = unit.by_stay.get(merge.double), unit.by_stay.get(merge.kept)
        if double is None:
            continue
        here = f"the patients of {kept.bed} and {double.bed}" if kept else f"{double.bed} and another number"
        says = f"{here} are said to be one: look who lies where, then `mobicard stay merge`, or admit anew"
        yield Unreadable(merge.line, f"message at line {merge.line}: {says}", double.bed)


def _maybe_moved(sure: Iterable[Decision], missing: Iterable[Decision]) -> list[str]:
    """Equal initials here and gone there: said, never acted upon."""
    gone: dict[str, Decision] = {}
    for each in missing:
        if each.label:
            gone.setdefault(each.label.casefold(), each)
    return [
        f"line {each.line}: {each.label} was also in {was.bed}, which is not in the file; if it is the same "
        "patient, move that stay instead"
        for each in sure
        if each.kind == "admit" and each.label and (was := gone.get(each.label.casefold()))
    ]
