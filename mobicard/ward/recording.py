"""The nurse's use cases: record, same as before, correct, a fall, a judgement, a tick."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from itertools import chain
from typing import Any

from mobicard.derive import why_not_judged
from mobicard.derive.over_time.head_timetable import head_watch
from mobicard.derive.over_time.open_hazards import carried_on
from mobicard.derive.over_time.standing_orders import still_so, with_end, without
from mobicard.facts import FallEvent, HeadWatch, Record
from mobicard.facts.text import without_controls
from mobicard.facts.words import HeadSeen, Level
from mobicard.ledger import LedgerUnreachable, NewEntry, SaveConflict
from mobicard.ledger.state import fold
from mobicard.ward.beds import Beds
from mobicard.ward.bedside.authors import authors, records_told
from mobicard.ward.carried_forward import carry_forward, record_of, why_not_same
from mobicard.ward.merging import field_changes
from mobicard.ward.views import BedView, SaveRefused, WardRefused


class Recording(Beds):
    """What a nurse says of a patient, each an entry acknowledged once it is on disk."""

    def save(self, stay: str, record: Record, base_version: int, *, settled: bool = False) -> BedView:
        """Record an assessment, acknowledged once it is on disk.

        One older than what is known already is history: what it saw is kept, and a hazard it tells of is
        carried on, but the newer look stands; ``settled`` says that somebody chose it over the newer one.
        Raises SaveRefused (somebody saved first, with the fields), WardRefused or LedgerError.
        """
        stamped = record
        if record.assessed_at is None or record.assessed_by is None:
            stamped = record.changed(
                assessed_at=record.assessed_at or self.now.replace(second=0),
                assessed_by=record.assessed_by or self.by,
            )
        known = self.bed(stay).record
        if not settled and _older(stamped, known, self.now.replace(second=0)):
            stands = carried_on(stamped, known, self.policy)
            self._must_be_mine(stay, stamped)
            body = {"record": stands.as_json(), "late": stamped.as_json()}
            return replace(self._record(stay, "record", body, base_version, stands), late=stamped.assessed_at)
        return self._record(stay, "record", {"record": stamped.as_json()}, base_version, stamped)

    def assessed_now(self, record: Record) -> Record:
        """The record stamped as assessed by this person now; vital signs keep their own time."""
        return carry_forward(record, self.now.replace(second=0), self.by)

    def why_not_same(self, view: BedView) -> str | None:
        """Why *same as before* may not be used for this bed now, or None when it may."""
        return why_not_same(view, self.now, self.policy)

    def same_as_before(self, view: BedView) -> BedView:
        """Confirm the last record as seen again now. Raises WardRefused, SaveRefused, LedgerError.

        A raised level is confirmed with it; a lowered one ends, and one that had ended before is left out.
        """
        refusal = self.why_not_same(view)
        if refusal:
            raise WardRefused(refusal)
        gone = view.plan.override is None and not view.plan.expired
        again = self.assessed_now(view.record.changed(override=None) if gone else view.record)
        return self._record(view.stay, "same", {"record": again.as_json()}, view.version, again)

    def correct(
        self,
        stay: str,
        wrong: int,
        record: Record | None,
        why: str,
        base: int,
        *,
        restores: bool = False,
    ) -> BedView:
        """Save that entry ``wrong`` of a stay was wrong and what stands now; None: nothing is known.

        ``restores`` says that the record is only what stood without the wrong entry, not a new statement. A
        record that says when it was assessed keeps that time; else it is stamped now, by this person.

        Raises WardRefused without a reason, and as ``save``.
        """
        if len(why.strip()) < 3:
            raise WardRefused("say in a few words what was wrong; the correction keeps it")
        body: dict[str, Any] = {"corrects": wrong, "why": why.strip(), "record": None, "restores": restores}
        if record is None:
            view = self.bed(stay)
            return self._record(stay, "correct", body, base, Record(bed=view.bed, label=view.label))
        stamped = record.changed(
            assessed_at=record.assessed_at or self.now.replace(second=0),
            assessed_by=record.assessed_by or self.by,
        )
        body["record"] = stamped.as_json()
        return self._record(stay, "correct", body, base, stamped)

    def fell(
        self, stay: str, event: FallEvent, base_version: int, beside: Mapping[str, Any] | None = None
    ) -> BedView:
        """Record a fall: the earlier assessment no longer counts until it is redone. Raises as ``save``.

        ``beside`` are other facts learnt with it (how awake, how up from the floor), in the same entry.
        """
        facts = {**(beside or {}), "fall_event": event.model_dump(exclude_none=True)}
        record = self.bed(stay).record.changed(**facts)
        said = {"event": event.model_dump(mode="json", exclude_none=True)}
        told = self.entry(stay, "fall", said, base_version)
        return self._record(stay, "record", {"record": record.as_json()}, base_version, record, first=(told,))

    def judged_again(self, record: Record) -> Record:
        """The record with its own judgement made anew by this person now, for the same reason."""
        over = record.override
        if over is None:
            return record
        facts = {"level": over.level, "reason": over.reason, "by": self.by, "at": self.now.replace(second=0)}
        return record.changed(override=facts)

    def why_not_judged(self, view: BedView, level: Level) -> str:
        """Why nobody may judge this bed at this level now, or nothing where one may."""
        return why_not_judged(view.record, level, self.policy, self.now, self.settings.inventory)

    def note_head(self, stay: str, seen: HeadSeen) -> BedView:
        """Note a head observation made now. Raises WardRefused where none run, else as ``save``."""
        return self._watch(stay, lambda watch, at: watch.noted(seen, at, self.by))

    def stop_head(self, stay: str, who: str) -> BedView:
        """End the head observations in the name of who decided it. Raises as ``note_head``."""
        if not who.strip():
            raise WardRefused("head observations are stopped by name: write who decided it")

        def stopped(watch: HeadWatch, at: datetime) -> HeadWatch:
            return watch.model_copy(update={"stopped_by": who.strip(), "stopped_at": at})

        return self._watch(stay, stopped)

    def override(self, view: BedView, level: Level | None, reason: str) -> BedView:
        """Set (or with None take back) a named override of the level. Raises as ``save``.

        Raises WardRefused with the reason where the record contradicts a lowering.
        """
        over = None
        if level is not None:
            if why := self.why_not_judged(view, level):
                raise WardRefused(f"no judgement lowers {view.bed} to {level}: {why}")
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
        told = self.entry(stay, "procedure", {"what": what.strip()}, view.version)
        facts = {"record": record.as_json()}
        return self._record(stay, "record", facts, view.version, record, first=(told,))

    def order_over(self, view: BedView, what: str, by: str) -> BedView:
        """Note that an order or precaution is over, and who says so. Raises as ``save``."""
        record = without(view.record, what, self.now.replace(second=0), by)
        return self._record(view.stay, "record", {"record": record.as_json()}, view.version, record)

    def readings_cleared(self, view: BedView, by: str) -> BedView:
        """Note who lets the patient get up on the readings there are. Raises as ``save``."""
        cleared = {"at": self.now.replace(second=0), "by": by}
        record = view.record.changed(readings_cleared=cleared)
        return self._record(view.stay, "record", {"record": record.as_json()}, view.version, record)

    def order_still(self, view: BedView, what: str) -> BedView:
        """Note that somebody was asked and the order stands. Raises as ``save``."""
        record = still_so(view.record, what, self.now.replace(second=0))
        return self._record(view.stay, "record", {"record": record.as_json()}, view.version, record)

    def order_until(self, view: BedView, what: str, until: datetime) -> BedView:
        """Note until when an order holds. Raises WardRefused for a time that is over, and as ``save``."""
        if until <= self.now:
            raise WardRefused(f"{until:%d %b %H:%M} is over already")
        record = with_end(view.record, what, until)
        return self._record(view.stay, "record", {"record": record.as_json()}, view.version, record)

    def assign(self, stays: Iterable[str], to: str | None) -> None:
        """Give beds to a nurse's round, all or none. Raises WardRefused for what are no initials."""
        if to is not None and not (to.isprintable() and 1 <= len(to.strip()) <= 12):
            raise WardRefused("beds are given to somebody by initials of 1 to 12 signs")
        self.append(*[self.entry(stay, "assign", {"to": to}) for stay in stays])

    def mark_read(self, stay: str) -> None:
        """The reader has read this bed's summary back and taken it over."""
        self.append(self.entry(stay, "read", {}))

    def ask(self, stay: str, says: str) -> None:
        """A question left open: every handoff carries it on until it is settled. Raises WardRefused."""
        text = without_controls(says).strip()
        if not 3 <= len(text) <= 120:
            raise WardRefused("a question takes 3 to 120 signs")
        self.tick(stay, {"asks": text})

    def settle(self, stay: str, number: int) -> None:
        """A question of a bed is answered; ``number`` is that of the entry that asked it."""
        self.tick(stay, {"settles": number})

    def tick(self, stay: str, body: dict[str, Any]) -> None:
        """A move done (reached, partly, not and why), as progress to the day's goals."""
        self.append(self.entry(stay, "tick", body))

    def _watch(self, stay: str, change: Callable[[HeadWatch, datetime], HeadWatch]) -> BedView:
        """The head observations of a stay with something said of them, over whatever else was saved."""
        view = self.bed(stay)
        watch = head_watch(view.record)
        if watch is None or not watch.running:
            raise WardRefused(f"no head observations run at {view.bed}; a fall begins them")
        told = change(watch, max(self.now.replace(second=0), watch.newest))
        record = view.record.changed(head_watch=told.model_dump(exclude_none=True))
        return self._record(stay, "record", {"record": record.as_json()}, view.version, record)

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
        self._must_be_mine(stay, mine)
        if kind != "correct":
            mine = carried_on(self.bed(stay).record, mine, self.policy)
            body = {**body, "record": mine.as_json()}
        last = self.entry(stay, kind, body, expect=None if first else base)
        entries = (*first, last)
        try:
            self.append(*entries)
        except LedgerUnreachable:
            if not self.offline.knows(stay):
                raise
            return self.offline.hold(entries, stay, mine)
        except SaveConflict as conflict:
            if not all(one.kind == "assign" for one in conflict.entries_since):
                raise self._explained(stay, base, mine) from None
            self.append(replace(entries[0], expect=self.fact_version(stay)), *entries[1:])
        return self.bed(stay)

    def _must_be_mine(self, stay: str, said: Record) -> None:
        """Refuse a look or a judgement in the name of another than who is signed in, unless it is on record.

        Raises WardRefused, LedgerError.
        """
        me = self.person.initials if self.person else None
        others = {one for one in authors(said) if one.by not in (None, me)}
        others -= set(authors(self.bed(stay).record)) if me and others else others
        if not others:
            return
        told = chain.from_iterable(map(records_told, self.ledger.history(stay)))
        others -= set(chain.from_iterable(map(authors, told)))
        if others:
            raise WardRefused(
                f"you are signed in as {me}, and this says it was seen or judged by "
                f"{', '.join(sorted(str(one.by) for one in others))}: what is recorded is by who records it"
            )

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


def _older(record: Record, known: Record, now: datetime) -> bool:
    """Whether a look was made before the one that is known already.

    One made just now never is, though the wall clock went back since: in autumn, or when it was put right.
    """
    at, last = record.assessed_at, known.assessed_at
    return at is not None and last is not None and at < min(last, now)
