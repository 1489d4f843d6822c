"""The clerk's use cases: which doors no longer match, which card goes where, and what a code stands for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from uuid import uuid4

from mobicard.derive import plan_for
from mobicard.derive.card_code import is_code
from mobicard.ledger import Entry, LedgerUnreachable, NewEntry
from mobicard.ledger.state import fold
from mobicard.ward.beds import Beds
from mobicard.ward.carried_forward import record_of
from mobicard.ward.views import BedView, CodeAnswer, Door, DoorJob, WardRefused

FACT_KINDS = frozenset({"admit", "record", "same", "correct", "move", "readmit"})


class Doors:
    """Cards prepared, hung and taken down; each an entry, so a stale door is a query and not a flag."""

    def __init__(self, beds: Beds) -> None:
        self._beds = beds

    def jobs(self, *, changed_only: bool = True, beds: Iterable[str] | None = None) -> list[DoorJob]:
        """What the clerk has to do, door by door; cards of ended stays come first, to be taken down."""
        wanted = {bed.casefold() for bed in beds} if beds is not None else None
        views, hanging = self._beds.board(), self._hanging()
        jobs = [
            job for job in _left_hanging(hanging, views) if wanted is None or job.bed.casefold() in wanted
        ]
        for view in views:
            if wanted is not None and view.bed.casefold() not in wanted:
                continue
            if changed_only and view.door is Door.CURRENT:
                continue
            jobs.append(_job(view, hanging))
        return jobs

    def _hanging(self) -> dict[str, tuple[str, str]]:
        """The cards that hang at doors of this unit."""
        hanging = self._beds.ledger.hanging().items()
        return {stay: (code, bed) for stay, (code, bed) in hanging if self._beds.lies_here(bed)}

    def prepare(self, jobs: Sequence[DoorJob], *, waits: bool = False) -> str:
        """Note that these cards were printed and are to be hung; gives the batch's name.

        ``waits``: the queue has taken them and not printed them yet.
        """
        batch = uuid4().hex[:8]
        told = {"batch": batch, **({"waits": True} if waits else {})}
        entries = [
            self._beds.entry(
                job.stay,
                "prepared",
                {"code": job.hang, "bed": job.bed, **_lasts(job), **told},
            )
            for job in jobs
            if job.hang
        ]
        self._beds.append(*entries)
        return batch

    def meanwhile(self, jobs: Sequence[DoorJob]) -> list[str]:
        """The beds whose card somebody else has printed since these jobs were read."""
        printed = {view.stay: view.printed_at for view in self._beds.board() if view.door is Door.PREPARED}
        return [
            job.bed for job in jobs if job.hang and printed.get(job.stay, job.printed_at) != job.printed_at
        ]

    def waiting(self, jobs: Sequence[DoorJob]) -> list[str]:
        """The beds whose card the queue had not printed when it was sent: somebody must have seen it."""
        hung = {job.stay: job.hang for job in jobs if job.hang}
        sent = {
            entry.stay: bool(entry.body.get("waits"))
            for entry in self._beds.ledger.of_kinds(hung, ["prepared"])
            if entry.body.get("code") == hung[entry.stay]
        }
        return [job.bed for job in jobs if job.hang and sent.get(job.stay)]

    def confirm_hung(self, jobs: Sequence[DoorJob]) -> int:
        """The clerk says these cards hang and the old ones are down; gives how many doors.

        A card whose plan has changed since it was printed must not hang, and one that somebody else has noted
        is not noted twice: the others are noted, then these are named. Raises WardRefused.
        """
        views = {view.stay: view for view in self._beds.board()}
        stale = [job for job in jobs if job.hang and not _still(views.get(job.stay), job.hang)]
        noted = [job for job in jobs if job.hang and job not in stale and _hangs(views[job.stay], job.hang)]
        rest = [job for job in jobs if job not in stale and job not in noted]
        if entries := [entry for job in rest for entry in self._entries(job)]:
            self._beds.append(*entries)
        if stale or noted:
            raise WardRefused(_not_hung(stale, noted, len(rest)))
        return len(jobs)

    def _entries(self, job: DoorJob) -> Iterable[NewEntry]:
        if job.take_down and job.take_down != job.hang:
            yield self._entry(job, "taken_down", job.take_down)
        if job.hang:
            yield self._entry(job, "hung", job.hang)

    def batch(self, batch: str | None = None, *, came_out: bool = False) -> list[DoorJob]:
        """The doors of one printed batch (the last one by default) that are not yet confirmed.

        Raises WardRefused for one that the queue had not printed yet, unless somebody says it came out.
        """
        ledger = self._beds.ledger
        here = (one for one in ledger.newest_first("prepared") if self._beds.lies_here(one.body.get("bed")))
        last = next(here, None)
        if last is None:
            raise WardRefused("no card has been printed yet, so none can be confirmed")
        name = batch or str(last.body["batch"])
        printed = ledger.of_kinds(ledger.stays_of("batch", name), ["prepared"])
        found = [entry for entry in printed if entry.body.get("batch") == name]
        if any(entry.body.get("waits") for entry in found) and not came_out:
            raise WardRefused(
                f"the queue had not printed batch {name} when it was sent: look at the printer; "
                f"if the cards came out, say so: mobicard cards --hung {name} --came-out"
            )
        codes = {entry.stay: str(entry.body["code"]) for entry in found}
        if not codes:
            raise WardRefused(f"no batch {name} was printed; `mobicard cards` names its batch when it prints")
        views, hanging = self._beds.board(), self._hanging()
        jobs = [
            replace(_job(view, hanging), hang=codes[view.stay])
            for view in views
            if view.stay in codes and view.door is not Door.CURRENT
        ]
        return jobs + _left_hanging(hanging, views)

    def check(self, code: str) -> CodeAnswer:
        """What a code on a page stands for now: current, replaced (when, by what), or none of this unit."""
        wanted = _as_code(code)
        with suppress(LedgerUnreachable):
            if stays := self._beds.ledger.stays_of("code", wanted):
                return self._of_a_print(wanted, stays)
        views = self._beds.board()
        for view in views:
            if wanted in (view.door_code, view.plan.code):
                return _current(view, wanted)
        if not is_code(wanted):
            return CodeAnswer("unknown", wanted, says=_slip(wanted, views))
        if stays := self._ever_had(wanted, views):
            return self._replaced(wanted, stays[0])
        says = "no card of this unit has carried this code: take it down and ask"
        return CodeAnswer("unknown", wanted, says=says)

    def _of_a_print(self, code: str, stays: Sequence[str]) -> CodeAnswer:
        """What a printed code stands for: current for its stay, or for who lies now where it was to hang."""
        ledger = self._beds.ledger
        prints = ledger.of_kinds(stays, ("prepared", "hung"))
        beds = {one.body.get("bed") for one in prints if one.body.get("code") == code}
        for stay, bed in ledger.places().items():
            if stay in stays or bed in beds:
                view = self._beds.bed(stay)
                if code in (view.door_code, view.plan.code):
                    return _current(view, code)
        return self._replaced(code, stays[0])

    def _replaced(self, code: str, stay: str) -> CodeAnswer:
        beds = self._beds
        state = beds.ledger.latest(stay)
        if state is None or state.discharged_at is not None:
            ended = beds.clock.ward_time(state.discharged_at) if state and state.discharged_at else None
            when = f" on {ended:%d %b %H:%M}" if ended else ""
            return CodeAnswer(
                "replaced",
                code,
                state.bed if state else None,
                ended,
                None,
                f"the stay ended{when}: take it down",
            )
        view = beds.bed(stay)
        if code == view.hung_code and view.door is Door.CURRENT:
            return _current(view, code)
        at = self._when_replaced(stay, code)
        when = f" on {at:%d %b %H:%M}" if at else ""
        return CodeAnswer(
            "replaced",
            code,
            view.bed,
            at,
            view.door_code,
            f"replaced{when} by {view.door_code} for {view.bed}: take it down",
        )

    def _when_replaced(self, stay: str, code: str) -> datetime | None:
        """Ward time at which the stay's plan stopped having this code: an entry's, or when it expired.

        None where a card that lasts longer than its plan was never hung: it is replaced before its end.
        """
        had = False
        until: datetime | None = None
        for entry, codes, valid_until in self._codes_over_time(stay):
            at = self._beds.clock.ward_time(entry.at)
            if had and until and until < at:
                return until
            if had and code not in codes:
                return at
            had, until = code in codes, valid_until
        return until if had and until and until <= self._beds.now else None

    def _codes_over_time(self, stay: str) -> Iterable[tuple[Entry, tuple[str, str], datetime | None]]:
        """Each entry with the codes of the door and of the bedside card that followed from it."""
        beds = self._beds
        history = beds.ledger.history(stay)
        for entry in history:
            if entry.kind not in FACT_KINDS:
                continue
            state = fold(one for one in history if one.version <= entry.version)
            if state is not None:
                at, record = beds.clock.ward_time(entry.at), record_of(state)
                plan = plan_for(record, beds.policy, at, beds.settings.inventory)
                door = beds.door_card(plan, record, at)
                yield entry, (door.code, plan.code), door.lasts or plan.valid_until

    def _ever_had(self, code: str, views: Sequence[BedView]) -> list[str]:
        """Stays whose plan once had this code though no print of it was noted (as a card made by hand)."""
        return [
            view.stay
            for view in views
            if any(code in found for _, found, _ in self._codes_over_time(view.stay))
        ]

    def _entry(self, job: DoorJob, kind: str, code: str) -> NewEntry:
        bed = job.take_down_at if kind == "taken_down" and job.take_down_at else job.bed
        until = _lasts(job) if kind == "hung" else {}
        return self._beds.entry(job.stay, kind, {"code": code, "bed": bed, **until})


def _still(view: BedView | None, code: str) -> bool:
    return view is not None and view.door_code == code


def _hangs(view: BedView, code: str) -> bool:
    return view.hung_code == code and view.door is Door.CURRENT


def _not_hung(stale: Sequence[DoorJob], noted: Sequence[DoorJob], rest: int) -> str:
    told = []
    if stale:
        told.append(f"{_beds(stale)}: the plan changed after this card was printed; print it again")
    if noted:
        told.append(f"{_beds(noted)}: noted as hung already, by somebody else")
    return "; ".join(told) + (f"; the other {rest} noted as hung" if rest else "")


def _beds(jobs: Sequence[DoorJob]) -> str:
    return ", ".join(job.bed for job in jobs)


def _lasts(job: DoorJob) -> dict[str, str]:
    """Until when the card's boxes reach, for its entry; nothing where it has no end."""
    return {"lasts": job.lasts.isoformat()} if job.lasts else {}


def _as_code(typed: str) -> str:
    """A code as typed or scanned: without blanks, dashes, the word “card” or an address before it."""
    last = typed.strip().rstrip("/").rpartition("/")[2].upper().removeprefix("CARD")
    return last.replace(" ", "").replace("-", "")


def _current(view: BedView, code: str) -> CodeAnswer:
    until, page = view.plan.valid_until, "" if code != view.plan.code else " (bedside card)"
    ended = view.plan.expired and until is not None
    seen = view.record.assessed_at
    says = f"current for {view.bed}{page}"
    says += f", looked at {seen:%d %b %H:%M} by {view.record.assessed_by}" if seen else ""
    says += f", {'ended' if ended else 'holds until'} {until:%d %b %H:%M}" if until else ""
    says += ": at least these people, and look first" if ended and code != view.door_code else ""
    return CodeAnswer("current", code, view.bed, says=says)


def _slip(typed: str, views: Sequence[BedView]) -> str:
    """A slip of the key: no code at all, and the ones that it is nearest to."""
    known = {code: view.bed for view in views for code in (view.door_code, view.hung_code or "")}
    near = [code for code in known if len(code) == len(typed) and _apart(code, typed) == 1]
    meant = " or ".join(f"{code} ({known[code]})" for code in near[:3])
    return "not a code: six letters and figures, the last a check" + (
        f"; did you mean {meant}?" if meant else ""
    )


def _apart(one: str, other: str) -> int:
    return sum(a != b for a, b in zip(one, other, strict=True))


def _left_hanging(hanging: Mapping[str, tuple[str, str]], views: Sequence[BedView]) -> list[DoorJob]:
    """Cards of stays that are over."""
    current = {view.stay for view in views}
    return [
        DoorJob(stay, bed, code, None, None, None, None, prepared=False)
        for stay, (code, bed) in hanging.items()
        if stay not in current
    ]


def _job(view: BedView, hanging: Mapping[str, tuple[str, str]]) -> DoorJob:
    where = hanging.get(view.stay, ("", ""))[1]
    fresh = view.hung_code == view.door_code and view.door is Door.CURRENT
    down = view.hung_code if view.hung_code and not fresh else None
    return DoorJob(
        stay=view.stay,
        bed=view.bed,
        take_down=down,
        hang=view.door_code,
        level=view.plan.shown_level,
        plan=view.plan,
        record=view.record,
        prepared=view.door is Door.PREPARED,
        lasts=view.door_lasts,
        printed_at=view.printed_at if view.door is Door.PREPARED else None,
        take_down_at=where if down and where and where != view.bed else None,
    )
