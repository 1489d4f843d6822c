"""The handoff for the reader: the gravest first, all of it or a bed a screen; why opens; reading is noted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from textual.app import ComposeResult
from textual.message import Message
from textual.widgets import Static

from mobicard.derive.over_time.handoff_values import Handoff
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Choose, Write, ask_whose
from mobicard.terminal.card.line import CardLine
from mobicard.terminal.card.lines import card_lines
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.handoff.lines import all_lines, bed_lines, heading, in_rank
from mobicard.terminal.looks import named, safe
from mobicard.terminal.messages import ReadFailed
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.widgets.reason_list import ReasonList
from mobicard.ward import BedView, WardRefused
from mobicard.ward.reader.since import LAST, since_of


@dataclass
class HandoffRead(Message):
    """The handoff and the beds it is about, by bed."""

    handoff: Handoff
    beds: Mapping[str, BedView]


class HandoffReader(PlaceScreen):
    """Holds the handoff as read, whose beds it is for, and which bed is open (none: all of it)."""

    PLACE = Place.HANDOFF
    BINDINGS = bindings(Place.HANDOFF)

    def __init__(self) -> None:
        super().__init__()
        self.handoff: Handoff | None = None
        self.beds: Mapping[str, BedView] = {}
        self.whose: str | None = None
        self.since: datetime | None = None
        self.open_bed: str | None = None

    def body(self) -> ComposeResult:
        yield Static("Reading the handoff ...", id="handoff-says")
        yield ReasonList(id="handoff")

    def on_mount(self) -> None:
        self.query_one(ReasonList).focus()
        self.read_ledger()

    def looked_up(self) -> HandoffRead:
        handoff = self.ward.handoff(self.whose, self.since)
        return HandoffRead(handoff, {view.bed: view for view in self.ward.board()})

    def minute_passed(self) -> None:
        self.read_ledger()

    def on_handoff_read(self, message: HandoffRead) -> None:
        first = self.handoff is None
        self.handoff, self.beds = message.handoff, message.beds
        if self.open_bed not in {line.bed for line in self.handoff.beds}:
            self.open_bed = None
        self.paint(top=first)

    def on_read_failed(self, message: ReadFailed) -> None:
        self.query_one("#handoff-says", Static).update(message.says)

    # -- what is shown -----------------------------------------------------------------------------

    def paint(self, *, top: bool = False) -> None:
        handoff = self.handoff
        if handoff is None:
            return
        until = f"{handoff.holds_until:%H:%M}" if handoff.holds_until else "now: nothing on it holds any more"
        whose = f"beds of {handoff.scope}" if handoff.scope else "the unit"
        read = sum(1 for line in handoff.beds if self._read_by_me(line.bed))
        says = f"Handoff of {whose} at {handoff.at:%d %b %H:%M}, holds until {until}. "
        ended = f", {handoff.ended} no longer valid" if handoff.ended else ""
        says += f"You have read {read} of {len(handoff.beds)}. "
        says += f"{len(handoff.changed)} changed, {handoff.unchanged} not{ended}."
        self.query_one("#handoff-says", Static).update(says)
        self.banner.about = self.open_bed or ""
        self.query_one(ReasonList).show_lines(self._lines(handoff), top=top)

    def _lines(self, handoff: Handoff) -> list[CardLine]:
        scheme, depth = self.station.scheme, self.station.depth
        if self.open_bed is None:
            return all_lines(handoff, scheme, depth)
        ranked = in_rank(handoff)
        place = [line.bed for line in ranked].index(self.open_bed)
        line = ranked[place]
        who = f", in the hands of {line.assignment}" if line.assignment else ", in nobody's hands"
        head = heading(f"{named(line.bed, line.label)}  bed {place + 1} of {len(handoff.beds)}{who}")
        return [
            head,
            CardLine("read", ((self._read_says(line.bed), ""),)),
            *bed_lines(handoff, line.bed, scheme, depth),
            heading("The card"),
            *card_lines(line.plan, scheme, depth, self.query_one(ReasonList).room),
        ]

    def _read_says(self, bed: str) -> str:
        view = self.beds.get(bed)
        said = sorted(view.read_by.items(), key=lambda one: one[1]) if view else []
        readers = ", ".join(f"{safe(who)} {at:%d %b %H:%M}" for who, at in said[-4:])
        return f"Read by {readers}." if readers else "Nobody has marked it read yet: R."

    def _read_by_me(self, bed: str) -> bool:
        """Whether this person has marked the bed read since it was last recorded."""
        view = self.beds.get(bed)
        if view is None or not self.ward.knows_who:
            return False
        at = view.read_by.get(self.ward.by)
        return at is not None and (view.recorded_at is None or at >= view.recorded_at)

    # -- commands ----------------------------------------------------------------------------------

    def _note_open(self) -> None:
        """That somebody looked at the bed that is open alone."""
        if self.open_bed is not None and self.open_bed in self.beds:
            self.note_seen(self.beds[self.open_bed].stay)

    def action_turn_view(self) -> None:
        """All of it, or the bed under the mark alone."""
        if self.handoff is None or not self.handoff.beds:
            return
        self.open_bed = None if self.open_bed else (self._bed_under_mark() or in_rank(self.handoff)[0].bed)
        self._note_open()
        self.paint(top=True)

    def _bed_under_mark(self) -> str | None:
        marked = self.query_one(ReasonList).marked
        names = sorted(self.beds, key=len, reverse=True)
        kind, _, rest = marked.partition(".")
        if kind not in ("bed", "changed", "demand", "first"):
            return None
        return next((bed for bed in names if rest == bed or rest.startswith(f"{bed}.")), None)

    def _step(self, by: int) -> None:
        if self.handoff is None or not self.handoff.beds:
            return
        beds = [line.bed for line in in_rank(self.handoff)]
        at = beds.index(self.open_bed) + by if self.open_bed else (0 if by > 0 else -1)
        self.open_bed = beds[at % len(beds)]
        self._note_open()
        self.paint(top=True)

    def action_next_bed(self) -> None:
        self._step(1)

    def action_previous_bed(self) -> None:
        self._step(-1)

    def action_read(self) -> None:
        """The open bed, or the one under the mark, was read; in the view of one bed the next one follows."""
        bed = self.open_bed or self._bed_under_mark()
        if bed is None:
            self.say("Put the mark on a bed's line first; or V shows a bed a screen.")
        elif self._may_read():
            self.with_initials(lambda: self._note_read([bed]))

    def action_read_all(self) -> None:
        handoff = self.handoff
        if handoff is None or not self._may_read():
            return
        beds = [line.bed for line in handoff.beds if not self._read_by_me(line.bed)]
        if not beds:
            self.say("All of it is marked read by you.")
            return

        def sure(key: str | None) -> None:
            if key == "y":
                self.with_initials(lambda: self._note_read(beds))

        asks = f"You have read {len(beds)} beds and take them over?"
        self.app.push_screen(Choose(asks, [("y", "yes, all of them"), ("n", "no")]), sure)

    def action_question(self) -> None:
        """Ask what the next shift must find out about this bed, or settle the questions that were open."""
        bed = self.open_bed or self._bed_under_mark()
        if bed is None:
            self.say("Put the mark on a bed's line first; or V shows a bed a screen.")
        elif not self.ward.may("tick"):
            self.refuse("Your role leaves no question at a bed.")
        else:
            self.with_initials(lambda: self._ask_or_settle(bed))

    def _ask_or_settle(self, bed: str) -> None:
        lines = self.handoff.beds if self.handoff else ()
        asked = next((line.questions for line in lines if line.bed == bed), ())
        choices = [
            ("n", "a new question"),
            *((str(n), f"settled: {one.says}") for n, one in enumerate(asked, 1)),
        ]

        def chosen(key: str | None) -> None:
            if key == "n":
                self.app.push_screen(Write("What is still open at this bed?", limit=120), told)
            elif key:
                self._note_question(lambda: self.ward.settle(self.beds[bed].stay, asked[int(key) - 1].number))

        def told(says: str | None) -> None:
            if says:
                self._note_question(lambda: self.ward.ask(self.beds[bed].stay, says))

        self.app.push_screen(Choose(f"Questions of {bed}", choices[:10]), chosen)

    def _note_question(self, note: Callable[[], None]) -> None:
        try:
            note()
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
        else:
            self.say("Noted; every handoff carries an open question on until it is settled.")
            self.read_ledger()

    def _may_read(self) -> bool:
        if self.ward.may("read"):
            return True
        self.refuse("Your role does not take beds over.")
        return False

    def _note_read(self, beds: list[str]) -> None:
        try:
            for bed in beds:
                self.ward.mark_read(self.beds[bed].stay)
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
            return
        self.say(f"Read by {self.ward.by}: {', '.join(beds) if len(beds) < 6 else f'{len(beds)} beds'}.")
        if self.open_bed is not None and len(beds) == 1:
            self._step(1)
        self.read_ledger()

    def action_whose(self) -> None:
        def chosen(who: str) -> None:
            self.whose, self.open_bed, self.handoff = who or None, None, None
            self.read_ledger()

        ask_whose(self, list(self.beds.values()), f"the whole unit, {len(self.beds)} beds", chosen)

    def action_since(self) -> None:
        choices = [
            ("s", "the start of the shift that is ending"),
            ("m", "when you were last here or took over"),
            ("t", "another time"),
        ]

        def chosen(key: str | None) -> None:
            if key == "t":
                self.app.push_screen(
                    Write("Since when? 0530, -90 (minutes ago), or yesterday 19:30", limit=30), self._compare
                )
            elif key == "m":
                self.with_initials(lambda: self._compare(LAST))
            elif key:
                self._compare("")

        self.app.push_screen(Choose("What changed since when?", choices), chosen)

    def _compare(self, said: str | None) -> None:
        """Compare with this time; nothing written is the shift's own."""
        if said is None:
            return
        try:
            self.since = since_of(self.ward, said) if said else None
        except (WardRefused, LedgerError) as refused:
            self.refuse(refused.says)
        else:
            self.read_ledger()

    def action_leave_handoff(self) -> None:
        if self.open_bed is not None:
            self.action_turn_view()
        else:
            self.dismiss()
