"""Briefs at this station: how one move is done for a bed, and how it went, kept in the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from mobicard.derive.brief import Brief, Helper
from mobicard.derive.brief.compose import brief_of
from mobicard.facts import Record
from mobicard.facts.text import without_controls
from mobicard.facts.words import Help, Task
from mobicard.hands.ticks import Tick, Went
from mobicard.ward.hands_desk import HandsDesk
from mobicard.ward.recording import Recording
from mobicard.ward.views import BedView, WardRefused


class BriefDesk:
    """What is said before a move, and what is noted after it."""

    def __init__(self, ward: Recording) -> None:
        self._ward = ward

    def brief(self, view: BedView, task: Task, helpers: Sequence[Helper] = ()) -> Brief:
        """The brief of one move; whoever is at the station is the first helper where nobody is named."""
        me = (Helper(self._ward.by),) if self._ward.knows_who else ()
        needed = view.plan.tasks[task].helpers or 0
        people = self.measured(helpers or me[:needed])
        found = self.spoken(view.record, brief_of(view.record, view.plan, task, people))
        return found if helpers else replace(found, notes=())

    def spoken(self, record: Record, found: Brief) -> Brief:
        """The brief with what is said also in the patient's language, where its words are known."""
        from mobicard.paper.phrases import in_their_language

        spoken = record.communication
        return in_their_language(found, spoken.language if spoken else None, self._ward.settings.phrases)

    def measured(self, helpers: Sequence[Helper]) -> tuple[Helper, ...]:
        """The same people, those without a stature with the one the duty list has of them."""
        if all(one.stature_cm is not None for one in helpers):
            return tuple(helpers)
        try:
            listed = {one.initials: one.stature_cm for one in HandsDesk(self._ward).supply().staff}
        except WardRefused:  # no duty list: nobody is measured, and the brief says the height in words
            listed = {}
        return tuple(
            one if one.stature_cm is not None else Helper(one.name, listed.get(one.name)) for one in helpers
        )

    def went(
        self,
        view: BedView,
        task: Task,
        went: Went,
        *,
        why: str = "",
        helpers: int | None = None,
        help_seen: Help | None = None,
        move: str | None = None,
    ) -> None:
        """Note how the move went: a tick of the day's goals, and what the next look should know.

        ``helpers`` and ``help_seen`` are what it took where it took more; ``move`` is the day plan's own.
        Raises WardRefused, LedgerError.
        """
        if went in (Went.STOPPED, Went.REFUSED) and not why.strip():
            raise WardRefused("say why in a few words")
        if went is Went.MORE_HELP and helpers is None and help_seen is None:
            raise WardRefused("say what it took: how many people, or how much help")
        now = self._ward.now
        name = move or f"brief {view.bed} {task.value} {now:%Y-%m-%dT%H:%M:%S}"
        tick = Tick(name, task, went.how_far, now, without_controls(why)[:120])
        body: dict[str, Any] = {**tick.as_json(), "went": went.value}
        body |= {"helpers": helpers} if helpers is not None else {}
        body |= {"help": help_seen.value} if help_seen else {}
        self._ward.tick(view.stay, body)
