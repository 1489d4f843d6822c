"""Every bed as it stands at this minute: read from the ledger, planned anew, compared with before."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Event
from time import monotonic

from mobicard.derive.model import Plan
from mobicard.derive.over_time.changes import changes
from mobicard.derive.over_time.validity import handoff_since, shift_start
from mobicard.derive.plan import plan_for, plan_then
from mobicard.facts import Record
from mobicard.facts.text import in_unit
from mobicard.hands.ticks import progress, ticks_of
from mobicard.ledger import Ledger, LedgerError, LedgerUnreachable, StayState
from mobicard.ledger.ledger import Standing
from mobicard.paper.door.face import BedCard, DoorFace
from mobicard.paper.door.says import door_face
from mobicard.ward.carried_forward import record_of
from mobicard.ward.due import door_of, due_of, unseen_since
from mobicard.ward.limits import limit_that_matters
from mobicard.ward.station.at_station import AtStation
from mobicard.ward.station.bed_order import bed_order, station_folder
from mobicard.ward.station.clock import Clock
from mobicard.ward.station.drafts import Drafts
from mobicard.ward.station.offline import Offline
from mobicard.ward.station.settings import Settings
from mobicard.ward.views import BedView, WardRefused

FEW = 50
"""Beds held at a time where one after the other is told."""

REST = 2.0
"""A station rests so many times as long as its last reading took: under load it takes a third of a core."""

LONGEST_REST_S = 3.0
"""Seconds after which what was saved meanwhile is read all the same."""


@dataclass(frozen=True, slots=True)
class _Shown:
    """A bed as it was shown, and all that it was made from."""

    told: tuple[object, ...]
    view: BedView


class Beds(AtStation):
    """The beds of the unit, as the ledger has them or, while it is away, as last known.

    ``unit`` names the one that is meant where the ledger is the whole house's; None: every bed in it.
    """

    def __init__(
        self,
        ledger: Ledger,
        settings: Settings,
        clock: Clock | None = None,
        *,
        by: str | None = None,
        demo: bool = False,
        drafts: Path | None = None,
        unit: str | None = None,
    ) -> None:
        super().__init__(ledger, settings, clock, by=by, demo=demo)
        self.unit = unit
        self.drafts = Drafts(drafts or station_folder(ledger.where))
        self.offline = Offline(self, self.drafts.folder / "outbox.jsonl")
        self._before: dict[datetime, dict[str, StayState | None]] = {}
        self._standing: Standing | None = None
        self._shown: dict[str, _Shown] = {}
        self._then: dict[str, tuple[StayState, datetime, Settings, Plan]] = {}
        self._took = 0.0

    def board(self, since: datetime | None = None) -> list[BedView]:
        """Every occupied bed, in the order the unit writes them; as last known while the ledger is away.

        ``since`` (ward time) is what *changed* compares with: the start of the shift that is ending, if None.
        Raises LedgerError when the ledger is away and nothing is known yet.
        """
        now, begun = self.now, monotonic()
        try:
            self.offline.send()
            start = since or handoff_since(now, self.policy.shift)
            among = self.lies_here if self.unit else None
            self._standing = standing = self.ledger.standing(self._standing, among)
            before = self._as_of(start, list(standing.states))
            self._shown = shown = {
                state.stay: self._shown_at(state, now, before.get(state.stay), start)
                for state in standing.beds
            }
            self._then = {stay: then for stay, then in self._then.items() if stay in shown}
            views = [one.view for one in shown.values()]
        except LedgerUnreachable as gone:
            views = self.offline.known(gone)
        else:
            self.offline.remember(views)
        self._took = monotonic() - begun
        return sorted(views, key=lambda view: bed_order(view.bed))

    def one_by_one(self, names: Collection[str] = ()) -> Iterator[BedView]:
        """Every occupied bed, or those of these names, in the unit's order; no more than a few are held.

        Who is taken in or moved meanwhile may be missed or told at the new place. Raises LedgerError.
        """
        wanted = {name.casefold() for name in names}
        places = {
            stay: bed
            for stay, bed in self.ledger.places().items()
            if self.lies_here(bed) and (not wanted or bed.casefold() in wanted)
        }
        order = sorted(places, key=lambda stay: bed_order(places[stay]))
        for first in range(0, len(order), FEW):
            yield from self._few(order[first : first + FEW])

    def _few(self, stays: Sequence[str]) -> Iterator[BedView]:
        now = self.now
        start = handoff_since(now, self.policy.shift)
        before = {state.stay: state for state in self.ledger.beds(self.clock.utc_of(start), stays)}
        here = {state.stay: state for state in self.ledger.beds(stays=stays)}
        for stay in stays:
            if stay in here:
                yield self._view(here[stay], now, before.get(stay), start)
                self._then.pop(stay, None)

    def bed(self, stay: str) -> BedView:
        """One stay as it stands. Raises WardRefused when there is no such stay."""
        try:
            state = self.ledger.latest(stay)
        except LedgerUnreachable as gone:
            known = {view.stay: view for view in self.offline.known(gone)}
            if stay not in known:
                raise
            return known[stay]
        if state is None:
            raise WardRefused(f"no stay {stay} is in the ledger")
        now = self.now
        start = handoff_since(now, self.policy.shift)
        return self._view(state, now, self._as_of(start, [stay]).get(stay), start)

    def fact_version(self, stay: str) -> int:
        """The fact version a save for this stay must name. Raises WardRefused when there is no such stay."""
        state = self.ledger.latest(stay)
        if state is None:
            raise WardRefused(f"no stay {stay} is in the ledger")
        return state.fact_version

    def find(self, bed: str) -> BedView | None:
        """The stay now in a bed, matched without regard to case, or None."""
        wanted = bed.strip().casefold()
        return next((view for view in self.board() if view.bed.casefold() == wanted), None)

    def preview(self, record: Record) -> Plan:
        """The plan a record would give now; nothing is saved."""
        return plan_for(record, self.policy, self.now, self.settings.inventory)

    def seen(self, *stays: str) -> None:
        """Note in the audit that this person looked at these beds; a failure never stops the reading."""
        if not stays or self.demo or not self.knows_who:
            return
        looks = [self.entry(one, "seen", {}) for one in stays]
        with suppress(LedgerError):
            self.offline.outbox.save(self.ledger, *looks, person=self.person)

    def watch(self, on_change: Callable[[], None], stop: Event) -> None:
        """Call back whenever another station saves, until stopped; runs in the caller's thread.

        Also when the ledger stops answering, so that the board says so, and when it is back: held saves go.
        The first save is told at once; while more come, the longer the last reading took, the later.
        """

        def and_rest() -> None:
            on_change()
            stop.wait(min(REST * self._took, LONGEST_REST_S))

        self.ledger.watch(
            and_rest,
            stop,
            on_lost=lambda _says: on_change(),
            on_back=on_change,
            on_heard=self.offline.heard_now,
            unit=self.unit,
        )

    def lies_here(self, bed: object) -> bool:
        """Whether a bed is one of those that are meant here."""
        return not self.unit or (isinstance(bed, str) and in_unit(bed, self.unit))

    def _as_of(self, start: datetime, stays: Sequence[str]) -> dict[str, StayState | None]:
        """These stays as they stood when the reader was last there; kept for the shift: the past stays."""
        kept = self._before.get(start, {})
        if unknown := [stay for stay in stays if stay not in kept]:
            then = self.clock.utc_of(start)
            found = {state.stay: state for state in self.ledger.beds(then, unknown)}
            kept = kept | {stay: found.get(stay) for stay in unknown}
            last = [(at, old) for at, old in self._before.items() if at != start][-1:]
            self._before = {**dict(last), start: kept}
        return kept

    def _shown_at(self, state: StayState, now: datetime, before: StayState | None, since: datetime) -> _Shown:
        """The bed as shown this minute already, where nothing was told of it since; else planned anew."""
        minute = now.replace(second=0, microsecond=0)
        kept = self._shown.get(state.stay)
        told = (state, before, minute, since, self.settings)
        if kept is None or any(a is not b and a != b for a, b in zip(kept.told, told, strict=True)):
            return _Shown(told, self._view(state, now, before, since))
        return kept

    def _view(self, state: StayState, now: datetime, before: StayState | None, since: datetime) -> BedView:
        record = record_of(state)
        plan = plan_for(record, self.policy, now, self.settings.inventory)
        old = None
        if before is not None and before.record is not None:
            old = self._plan_then(before, since)
            if old.last_known and old.valid_until and not plan.expired:
                # compared with what was last known: else all that is known now would seem to ask for less
                old = plan_then(record_of(before), self.policy, old.valid_until, self.settings.inventory)
        due, says = due_of(state, plan, now, self.policy, self.clock.ward_time)
        card = self.door_card(plan, record, now)
        return BedView(
            stay=state.stay,
            bed=state.bed,
            label=state.label,
            record=record,
            plan=plan,
            version=state.fact_version,
            recorded_at=self.clock.ward_time(state.recorded_at) if state.recorded_at else None,
            recorded_by=state.recorded_by,
            assignment=state.assignment,
            due=due,
            due_says=says,
            door=door_of(state, self._door_codes(card.code, plan, record), now),
            hung_code=state.hung_code,
            door_code=card.code,
            door_lasts=card.lasts,
            printed_at=self._ward(state.prepared_at),
            before=old,
            changed=tuple(changes(old, plan)) if old else (),
            limit_says=limit_that_matters(record, plan),
            moved_at=self._ward(state.moved_at),
            procedure_at=self._ward(state.procedure_at),
            fall_at=self._ward(state.fall_at),
            unseen_since=unseen_since(state, self.clock.ward_time),
            read_by={who: self.clock.ward_time(at) for who, at in state.read_by.items()},
            ticks=tuple(state.ticks),
            goals=self._goals(state, record, now),
        )

    def _plan_then(self, before: StayState, since: datetime) -> Plan:
        """The plan of the past, which stays: made once for each stay and each time that is asked of."""
        state, at, settings, plan = self._then.get(before.stay, (None, None, None, None))
        if plan is None or state is not before or at != since or settings is not self.settings:
            plan = plan_then(record_of(before), self.policy, since, self.settings.inventory)
            self._then[before.stay] = (before, since, self.settings, plan)
        return plan

    def _goals(self, state: StayState, record: Record, now: datetime) -> tuple[str, ...]:
        """How far each goal of the shift is."""
        start = shift_start(now, self.policy.shift)
        told = progress(record, ticks_of(state.ticks), start) if record.goals else ()
        return tuple(goal.says for goal in told)

    def door_card(self, plan: Plan, record: Record, now: datetime) -> DoorFace:
        """What the bed's door card says now."""
        return door_face(BedCard(plan, record), self.settings.scheme, self.policy, now)

    def _door_codes(self, code: str, plan: Plan, record: Record) -> tuple[str, ...]:
        """The codes a door may carry: today's, and once nobody has looked in time, that of the last look.

        The card that hangs says itself that its end has passed; the next look may find nothing changed.
        """
        end = plan.valid_until
        if not plan.expired or end is None or plan.last_known is None or not self.policy.door.strip:
            return (code,)
        last = plan_for(record, self.policy, end, self.settings.inventory)
        return code, self.door_card(last, record, end).code

    def _ward(self, moment: datetime | None) -> datetime | None:
        return self.clock.ward_time(moment) if moment else None
