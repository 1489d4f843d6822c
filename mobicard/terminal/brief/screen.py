"""The brief's place: what is read before the move, and one key for how it went."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from mobicard.derive.brief import Brief, Helper, HelpersRefused
from mobicard.derive.brief.helpers import read_helpers
from mobicard.facts.moves import MOVES
from mobicard.facts.words import Help, Task
from mobicard.hands.ticks import Went
from mobicard.ledger import LedgerError
from mobicard.paper.brief.text import brief_text
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.brief.asking import ask_brief
from mobicard.terminal.brief.why_lines import WhyLines
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.looks import named
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.terminal.record.form.choices import HELP
from mobicard.ward import BedView, WardRefused

MOST_PEOPLE = 9
"""How many people one key can say it took."""

_HARD = (Help.CONTACT_GUARD, Help.MINIMAL, Help.MODERATE, Help.MAXIMAL, Help.TOTAL)
"""Help with hands, from the lightest touch."""


class BriefScreen(PlaceScreen):
    """Holds the bed, the move and who helps; the text is made anew each minute."""

    PLACE = Place.BRIEF
    BINDINGS = bindings(Place.BRIEF)

    def __init__(
        self, view: BedView, task: Task, *, people: Sequence[Helper] = (), move: str | None = None
    ) -> None:
        super().__init__()
        self.view, self.task_of, self.people, self.move = view, task, tuple(people), move

    def body(self) -> ComposeResult:
        with VerticalScroll(id="brief"):
            yield Static("", id="brief-text")

    def on_mount(self) -> None:
        self.paint()
        self.note_seen(self.view.stay)

    def minute_passed(self) -> None:
        try:
            self.view = self.ward.bed(self.view.stay)
        except (LedgerError, WardRefused) as gone:
            self.refuse(gone.says)
        self.paint()

    def on_resize(self, event: object) -> None:
        self.call_after_refresh(self.paint)

    @property
    def brief(self) -> Brief:
        """The brief as it holds now."""
        return self.ward.briefs.brief(self.view, self.task_of, self.people)

    def paint(self) -> None:
        """The text as laid out: what people typed in it was cleaned when it was taken."""
        self.banner.about = named(self.view.bed, self.view.label)
        lines = brief_text(self.brief, self.station.scheme, max(min(self.app.size.width - 1, 100), 70))
        first = Content.styled(lines[0], "bold")
        rest = Content("\n".join(lines[1:]))
        self.query_one("#brief-text", Static).update(Content("\n").join([first, rest]))

    # -- who, why, which ---------------------------------------------------------------------------

    def action_people(self) -> None:
        def named_so(text: str | None) -> None:
            if text is not None:
                self.people = read_helpers(text)
                self.paint()

        asks = "Who helps, like JN=165, AB=5ft7in; you first"
        self.app.push_screen(Write(asks, self._typed, limit=120, check=_refused), named_so)

    @property
    def _typed(self) -> str:
        """The people as they would be typed."""
        people = self.people or ((Helper(self.ward.by),) if self.ward.knows_who else ())
        return ", ".join(f"{one.name}={one.stature_cm:g}" if one.stature_cm else one.name for one in people)

    def action_why(self) -> None:
        self.app.push_screen(WhyLines(self.brief))

    def action_brief(self) -> None:
        self.dismiss()
        ask_brief(self, self.view)

    def action_leave_brief(self) -> None:
        self.dismiss()

    # -- how it went -------------------------------------------------------------------------------

    def action_done(self) -> None:
        self._note(Went.DONE)

    def action_more_help(self) -> None:
        planned = self.brief.helpers or 0
        choices = [(str(count), f"{count} people") for count in range(planned + 1, MOST_PEOPLE + 1)]
        choices += [("h", "no more people, but more of their strength")]

        def took(key: str | None) -> None:
            if key == "h":
                self._ask_how_much()
            elif key:
                self._note(Went.MORE_HELP, helpers=int(key))

        self.app.push_screen(Choose("How many people did it take, you included?", choices), took)

    def _ask_how_much(self) -> None:
        def seen(key: str | None) -> None:
            if key:
                chosen = next(one.value for one in HELP if one.key == key)
                self._note(Went.MORE_HELP, help_seen=Help(chosen))

        choices = [(one.key, one.says) for one in HELP if Help(one.value) in _HARD]
        self.app.push_screen(Choose("How much help did it take?", choices), seen)

    def action_stopped(self) -> None:
        self._ask_why(Went.STOPPED, "Why was it stopped, and where is the patient now")

    def action_refused(self) -> None:
        self._ask_why(Went.REFUSED, "What did the patient say")

    def _ask_why(self, went: Went, asks: str) -> None:
        def told(why: str | None) -> None:
            if why is not None:
                self._note(went, why=why)

        check = lambda text: "" if text.strip() else "A few words, please"  # noqa: E731
        self.app.push_screen(Write(asks, limit=100, check=check), told)

    def _note(
        self, went: Went, *, why: str = "", helpers: int | None = None, help_seen: Help | None = None
    ) -> None:
        if self.brief.helpers is None:
            self.refuse("This move waits: there is nothing to note.")
            return
        self.with_initials(partial(self._write, went, why, helpers, help_seen))

    def _write(self, went: Went, why: str, helpers: int | None, help_seen: Help | None) -> None:
        took: dict[str, Any] = {"helpers": helpers, "help_seen": help_seen}

        def write() -> None:
            self.ward.briefs.went(self.view, self.task_of, went, why=why, move=self.move, **took)

        if self.attempt(write):
            says = f"{self.view.bed} {MOVES[self.task_of].says_short}: {went.value.replace('_', ' ')}"
            due = "; the bed is due for a look" if went is Went.MORE_HELP else ""
            self.say(f"{says}{due}")
            self._tell_the_board()
            self.dismiss()

    def _tell_the_board(self) -> None:
        """The bed may be due now; to a round this is no look."""
        view = self.ward.bed(self.view.stay)
        for screen in self.app.screen_stack:
            if isinstance(screen, PlaceScreen) and screen.PLACE is Place.BOARD:
                screen.post_message(BedSaved(view))


def _refused(text: str) -> str:
    try:
        read_helpers(text)
    except HelpersRefused as refused:
        return refused.says
    return ""
