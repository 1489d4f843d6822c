"""The ward's use cases: what a nurse, a clerk and a reader can do. Terminal and cli call only this."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any

from mobicard.derive import plan_for
from mobicard.derive.model import Plan
from mobicard.derive.over_time.changes import changes
from mobicard.derive.over_time.open_hazards import carried_on
from mobicard.derive.over_time.validity import handoff_since
from mobicard.facts import FallEvent, Record
from mobicard.facts.words import Level
from mobicard.ledger import Ledger, LedgerError, LedgerUnreachable, NewEntry, SaveConflict, StayState
from mobicard.ledger.state import fold
from mobicard.ward.bed_order import bed_order, station_folder
from mobicard.ward.carried_forward import carry_forward, record_of
from mobicard.ward.clock import Clock
from mobicard.ward.corrections import correct
from mobicard.ward.doors import Doors
from mobicard.ward.drafts import Drafts
from mobicard.ward.due import door_of, due_of, unseen_since
from mobicard.ward.limits import limit_that_matters
from mobicard.ward.merging import field_changes
from mobicard.ward.offline import Offline
from mobicard.ward.repeat import why_not_same
from mobicard.ward.settings import Settings
from mobicard.ward.shifts import shift_start
from mobicard.ward.stays import Stays
from mobicard.ward.views import BedView, SaveRefused, WardRefused

if TYPE_CHECKING:
    from mobicard.derive.over_time.handoff import Handoff
    from mobicard.ledger import Person
    from mobicard.ward.hands_desk import HandsDesk


class Ward:
    """One station's view of the unit: the ledger, the facility's files, the clock and who is signed in."""

    def __init__(
        self,
        ledger: Ledger,
        settings: Settings,
        clock: Clock | None = None,
        *,
        by: str | None = None,
        demo: bool = False,
        drafts: Path | None = None,
    ) -> None:
        self.ledger = ledger
        self.settings = settings
        self.policy = settings.policy
        self.clock = clock or Clock.for_zone(self.policy.shift.timezone)
        self.person: Person | None = None
        self.demo = demo
        self._by = by
        self.drafts = Drafts(drafts or station_folder(ledger.where))
        self._before: dict[datetime, dict[str, StayState]] = {}
        self.stays = Stays(self)
        self.doors = Doors(self)
        self.offline = Offline(self, self.drafts.folder / "outbox.jsonl")

    # -- who ---------------------------------------------------------------------------------------

    @property
    def by(self) -> str:
        """Initials that go with every entry. Raises WardRefused when nobody said who they are."""
        if self.person:
            return self.person.initials
        if self._by:
            return self._by
        raise WardRefused("say who you are first: your initials go with every entry")

    @property
    def knows_who(self) -> bool:
        return bool(self.person or self._by)

    def call_me(self, initials: str) -> None:
        """Take initials without a PIN; only where the ledger has no staff list. Raises WardRefused."""
        if self.needs_sign_in:
            raise WardRefused("this ledger has a staff list: sign in with your initials and PIN")
        initials = initials.strip().upper()
        if not 1 <= len(initials) <= 12 or not initials.isalnum():  # a bed's name typed ahead is nobody
            raise WardRefused("initials are 1 to 12 letters or figures, nothing else")
        self._by = initials

    @property
    def needs_sign_in(self) -> bool:
        """Whether the ledger has a staff list and nobody is signed in."""
        return not self.demo and self.person is None and self.ledger.has_people()

    def sign_in(self, initials: str, pin: str) -> Person:
        """Sign in; raises ledger.SignInRefused with the reason."""
        self.person = self.ledger.sign_in(initials, pin, self.clock.utc())
        return self.person

    def sign_out(self) -> None:
        """Nobody is at this station any more; a server is told as well, so that reading stops."""
        self.person = None
        self.ledger.sign_out()

    def may(self, kind: str) -> bool:
        """Whether the person at this station may make entries of this kind."""
        return self.person is None or self.person.may(kind)

    @property
    def hands(self) -> HandsDesk:
        """Who helps whom, when, with which lift."""
        from mobicard.ward.hands_desk import HandsDesk

        return HandsDesk(self)

    # -- reading -----------------------------------------------------------------------------------

    @property
    def now(self) -> datetime:
        """Ward time now."""
        return self.clock.now()

    def board(self) -> list[BedView]:
        """Every occupied bed, in the order the unit writes them; as last known while the ledger is away.

        Raises LedgerError when the ledger is away and nothing is known yet.
        """
        now = self.now
        try:
            self.offline.send()
            before = self._shift_before(now)
            views = [self._view(state, now, before.get(state.stay)) for state in self.ledger.beds()]
        except LedgerUnreachable as gone:
            views = self.offline.known(gone)
        else:
            self.offline.remember(views)
        return sorted(views, key=lambda view: bed_order(view.bed))

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
        return self._view(state, now, self._shift_before(now).get(stay))

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
        looks = [NewEntry(stay=one, kind="seen", at=self.clock.utc(), by=self.by) for one in stays]
        with suppress(LedgerError):
            self.offline.outbox.save(self.ledger, *looks, person=self.person)

    def watch(self, on_change: Callable[[], None], stop: Event) -> None:
        """Call back whenever another station saves, until stopped; runs in the caller's thread.

        Also when the ledger stops answering, so that the board says so, and when it is back: held saves go.
        """
        self.ledger.watch(on_change, stop, on_lost=lambda _says: on_change(), on_back=on_change)

    # -- recording ---------------------------------------------------------------------------------

    def save(self, stay: str, record: Record, base_version: int) -> BedView:
        """Record an assessment, acknowledged once it is on disk.

        Raises SaveRefused (somebody saved first, with the fields), WardRefused or LedgerError.
        """
        stamped = record
        if record.assessed_at is None or record.assessed_by is None:
            stamped = record.changed(
                assessed_at=record.assessed_at or self.now.replace(second=0),
                assessed_by=record.assessed_by or self.by,
            )
        return self._record(stay, "record", {"record": stamped.as_json()}, base_version, stamped)

    def assessed_now(self, record: Record) -> Record:
        """The record stamped as assessed by this person now; vital signs keep their own time."""
        return carry_forward(record, self.now.replace(second=0), self.by)

    def why_not_same(self, view: BedView) -> str | None:
        """Why *same as before* may not be used for this bed now, or None when it may."""
        return why_not_same(view, self.now, self.policy)

    def same_as_before(self, view: BedView) -> BedView:
        """Confirm the last record as seen again now. Raises WardRefused, SaveRefused, LedgerError."""
        refusal = self.why_not_same(view)
        if refusal:
            raise WardRefused(refusal)
        again = self.assessed_now(view.record)
        return self._record(view.stay, "same", {"record": again.as_json()}, view.version, again)

    def correct(
        self, stay: str, wrong_version: int, record: Record | None, why: str, base_version: int
    ) -> BedView:
        """A new entry that names the wrong one; see corrections.correct. Raises as ``save``."""
        return correct(self, stay, wrong_version, record, why, base_version)

    def fell(
        self, stay: str, event: FallEvent, base_version: int, beside: Mapping[str, Any] | None = None
    ) -> BedView:
        """Record a fall: the earlier assessment no longer counts until it is redone. Raises as ``save``.

        ``beside`` are other facts learnt with it (how awake, how up from the floor), in the same entry.
        """
        facts = {**(beside or {}), "fall_event": event.model_dump(exclude_none=True)}
        record = self.bed(stay).record.changed(**facts)
        told = NewEntry(
            stay=stay,
            kind="fall",
            at=self.clock.utc(),
            by=self.by,
            body={"event": event.model_dump(mode="json", exclude_none=True)},
            expect=base_version,
        )
        return self._record(stay, "record", {"record": record.as_json()}, base_version, record, first=(told,))

    def override(self, view: BedView, level: Level | None, reason: str) -> BedView:
        """Set (or with None take back) a named override of the level. Raises as ``save``."""
        over = None
        if level is not None:
            if len(reason.strip()) < 3:
                raise WardRefused("an override needs its reason, in a few words; it shows on every page")
            over = {"level": level, "reason": reason, "by": self.by, "at": self.now.replace(second=0)}
        record = view.record.changed(override=over)
        return self._record(view.stay, "record", {"record": record.as_json()}, view.version, record)

    def procedure(self, stay: str, what: str) -> BedView:
        """Note an operation or procedure: the earlier assessment no longer counts. Raises as ``save``."""
        view = self.bed(stay)
        looked = view.record.assessed_at or self.now
        done = {"at": max(self.now.replace(second=0), looked), "what": what.strip() or None, "by": self.by}
        record = view.record.changed(operation=done)
        told = NewEntry(
            stay=stay,
            kind="procedure",
            at=self.clock.utc(),
            by=self.by,
            body={"what": what.strip()},
            expect=view.version,
        )
        facts = {"record": record.as_json()}
        return self._record(stay, "record", facts, view.version, record, first=(told,))

    def assign(self, stays: Iterable[str], to: str | None) -> None:
        """Give beds to a nurse's round, all or none."""
        entries = [
            NewEntry(stay=stay, kind="assign", at=self.clock.utc(), by=self.by, body={"to": to})
            for stay in stays
        ]
        self._append(*entries)

    def mark_read(self, stay: str) -> None:
        """The reader has taken over this bed's summary."""
        self._append(NewEntry(stay=stay, kind="read", at=self.clock.utc(), by=self.by, body={}))

    def tick(self, stay: str, body: dict[str, Any]) -> None:
        """A move done (reached, partly, not and why), as progress to the day's goals."""
        self._append(NewEntry(stay=stay, kind="tick", at=self.clock.utc(), by=self.by, body=body))

    # -- the reader --------------------------------------------------------------------------------

    def handoff(self, assignment: str | None = None) -> Handoff:
        """What the oncoming staff read, changes first; for the unit or one assignment."""
        from mobicard.ward.reading import handoff_of

        return handoff_of(self, assignment)

    # -- inside ------------------------------------------------------------------------------------

    def _record(
        self,
        stay: str,
        kind: str,
        body: dict[str, Any],
        base: int,
        mine: Record,
        *,
        first: tuple[NewEntry, ...] = (),
    ) -> BedView:
        if kind != "correct":
            mine = carried_on(self.bed(stay).record, mine, self.policy)
            body = {**body, "record": mine.as_json()}
        last = self.stays.entry(stay, kind, body, expect=None if first else base)
        entries = (*first, last)
        try:
            self._append(*entries)
        except LedgerUnreachable:
            if not self.offline.knows(stay):
                raise
            return self.offline.hold(entries, stay, mine)
        except SaveConflict as conflict:
            if not all(one.kind == "assign" for one in conflict.entries_since):
                raise self._explained(stay, base, mine) from None
            self._append(replace(entries[0], expect=self.fact_version(stay)), *entries[1:])
        return self.bed(stay)

    def _explained(self, stay: str, base: int, mine: Record) -> SaveRefused:
        history = self.ledger.history(stay)
        state = fold(history)
        assert state is not None
        seen = fold(entry for entry in history if entry.version <= base)
        theirs = record_of(state)
        was = record_of(seen) if seen else Record(bed=state.bed)
        by = state.recorded_by or "another station"
        says = (
            f"{by} saved {state.bed} while you were writing; nothing of yours is lost: "
            "take theirs, keep yours, or merge"
        )
        return SaveRefused(says, field_changes(was, mine, theirs), theirs, state.fact_version, by)

    def _append(self, *entries: NewEntry) -> None:
        self.ledger.append(*entries, person=self.person)

    def _shift_before(self, now: datetime) -> dict[str, StayState]:
        """Every stay as it stood when the reader was last there; kept for the shift: the past stays."""
        start = handoff_since(now, self.policy.shift)
        if start not in self._before:
            then = self.clock.utc_of(start)
            self._before = {start: {state.stay: state for state in self.ledger.beds(at=then)}}
        return self._before[start]

    def _view(self, state: StayState, now: datetime, before: StayState | None) -> BedView:
        record = record_of(state)
        plan = plan_for(record, self.policy, now, self.settings.inventory)
        start = shift_start(now, self.policy.shift)
        old = None
        if before is not None and before.record is not None:
            since = handoff_since(now, self.policy.shift)
            old = plan_for(record_of(before), self.policy, since, self.settings.inventory)
        due, says = due_of(state, plan, now, self.policy, self.clock.ward_time)
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
            door=door_of(state, plan),
            hung_code=state.hung_code,
            before=old,
            changed=tuple(changes(old, plan)) if old else (),
            limit_says=limit_that_matters(record, plan),
            moved_at=self._ward(state.moved_at),
            procedure_at=self._ward(state.procedure_at),
            fall_at=self._ward(state.fall_at),
            unseen_since=unseen_since(state, self.clock.ward_time),
            read_by={who: self.clock.ward_time(at) for who, at in state.read_by.items()},
            ticks=tuple(state.ticks),
            goals=self._goals(record, state, start),
        )

    @staticmethod
    def _goals(record: Record, state: StayState, start: datetime) -> tuple[str, ...]:
        if not record.goals:
            return ()
        from mobicard.ward.reading import goals_done

        return tuple(goal.says for goal in goals_done(record, state.ticks, start))

    def _ward(self, moment: datetime | None) -> datetime | None:
        return self.clock.ward_time(moment) if moment else None
