"""Own judgement: another level for a bed, by name and with a reason; raising is free, lowering is bounded."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from mobicard.derive.model import Plan
from mobicard.facts.words import Level
from mobicard.ledger import LedgerError
from mobicard.terminal.asking import Write
from mobicard.terminal.card.why import Why
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.looks import CAPS_LOCK, Part, badge, hang, named, people_say, press, rail_of, safe
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView, SaveRefused, WardRefused
from mobicard.ward.bedside.judging import NO_REASON, why_not_set


class Override(PlaceScreen):
    """Shows the derived level and the seven to choose from; holds only the choice."""

    PLACE = Place.OVERRIDE
    BINDINGS = bindings(Place.OVERRIDE)

    def __init__(self, view: BedView) -> None:
        super().__init__()
        self.view = view
        self.refusal = ""

    def body(self) -> ComposeResult:
        yield Static("", id="judge")

    def on_mount(self) -> None:
        if not self.ward.may("record"):
            self.refuse("A level is judged by a nurse; your role reads and prints.")
            self.dismiss()
            return
        self.minute_passed()
        self.note_seen(self.view.stay)

    def minute_passed(self) -> None:
        try:
            self.view = self.ward.bed(self.view.stay)
        except (LedgerError, WardRefused) as gone:
            self.refuse(gone.says)
        self.paint()

    # -- what is shown -----------------------------------------------------------------------------

    @property
    def derived(self) -> Level:
        """The level that follows from the record alone; an expired one is REMAIN."""
        return self.view.plan.derived_level

    @property
    def keys(self) -> dict[str, Level]:
        """The first letter of each level's word, lower case; the scheme holds them distinct."""
        return {look.word[0].lower(): level for level, look in self.station.scheme.looks.items()}

    def paint(self) -> None:
        self.banner.about = named(self.view.bed, self.view.label)
        width = self.app.size.width - 6
        text = Content("\n").join(
            [*self._now(width), Content(""), *self._levels(width), *self._refused(width)]
        )
        self.query_one("#judge", Static).update(text)

    def _now(self, width: int) -> list[Content]:
        plan, looks = self.view.plan, self.station.scheme.looks
        lines = [
            hang(
                [
                    ("From the record: ", "bold"),
                    badge(looks[self.derived], self.station.depth),
                    (f" {looks[self.derived].sub_line}", ""),
                ],
                width,
            )
        ]
        why = next((r.says for r in plan.headline.reasons if not r.rule.startswith("override.")), "")
        lines.append(hang([("Because: ", "bold"), (safe(why), "")], width))
        over = plan.override
        if over is None:
            return [*lines, Content("No own judgement is in force.")]
        turn = "lowered" if over.lowers else "raised"
        says = f"{looks[over.level].word}, {turn} by {safe(over.by)} {over.at:%d %b %H:%M}, until "
        says += f"{over.lapses_at:%d %b %H:%M}: {safe(over.reason)}"
        return [*lines, hang([("In force: ", "bold"), (says, "bold")], width)]

    def _levels(self, width: int) -> list[Content]:
        lines = [Content.styled("Which level do you judge right? Its first letter.", "bold"), Content("")]
        for key, level in self.keys.items():
            look = self.station.scheme.looks[level]
            turn = self._turn(level)
            parts: list[Part] = [
                (f" {key} ", press(key, "bold reverse")),
                ("  ", ""),
                badge(look, self.station.depth, width=6),
                (f" {rail_of(level)} ", ""),
                (turn, "bold" if turn else ""),
                (f"  {look.sub_line}", press(key)),
            ]
            lines.append(Content.assemble(*parts).truncate(width, ellipsis=True))
        return lines

    def _turn(self, level: Level) -> str:
        if level.rank == self.derived.rank:
            return "as derived "
        return "more help  " if level.rank > self.derived.rank else "less help  "

    def _refused(self, width: int) -> list[Content]:
        return [Content(""), hang([("! ", "bold"), (self.refusal, "bold")], width)] if self.refusal else []

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted:
            self.paint()

    # -- choosing ----------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        level = self.keys.get((event.character or "").lower())
        if level is None:
            return
        event.stop()
        if event.character and event.character.isupper():
            super().refuse(CAPS_LOCK)
        self.refusal = self._why_not(level)
        self.paint()
        if not self.refusal:
            self.with_initials(lambda: self._ask_reason(level))

    def _why_not(self, level: Level) -> str:
        """Why this level may not be set, in words; empty when it may."""
        why = safe(why_not_set(self.ward, self.view, level))
        back = " Backspace takes the judgement in force back."
        return f"{why}{back}" if why and level is self.derived and self.view.plan.override else why

    def _ask_reason(self, level: Level) -> None:
        lowers = level.rank < self.derived.rank
        looks = self.station.scheme.looks
        asks = f"{looks[level].word} instead of {looks[self.derived].word}, by {self.ward.by}. "
        asks += "Why? It shows on every page" + (
            ", until the end of this shift." if lowers else "; Enter alone says: to be on the safe side."
        )

        def check(text: str) -> str:
            enough = len(text.strip()) >= 3 or not (lowers or text.strip())
            return (
                ""
                if enough
                else "Lowering needs its reason, in a few words."
                if lowers
                else "A few words, or none."
            )

        def given(text: str | None) -> None:
            if text is not None:
                self._set(level, text.strip() or NO_REASON)

        self.app.push_screen(Write(asks, limit=160, check=check), given)

    def _set(self, level: Level | None, reason: str) -> None:
        try:
            saved = self.ward.override(self.view, level, reason)
        except SaveRefused as faster:
            self.refuse(f"{faster.by} saved {self.view.bed} meanwhile. Look at it again, then judge.")
            self.view = self.ward.bed(self.view.stay)
            self.paint()
            return
        except (WardRefused, LedgerError) as refused:
            self.refusal = refused.says
            self.paint()
            return
        self.view = saved
        self.tell_saved(saved)
        self._tell(saved.plan, level is None)
        self.dismiss()

    def _tell(self, plan: Plan, taken_back: bool) -> None:
        word = self.station.scheme.looks[plan.shown_level].word
        how = "The judgement is taken back" if taken_back else "Judged"
        self.say(f"{how}: {self.view.bed} is {word}, {people_say(plan)}. The door card is old now.")

    # -- commands ----------------------------------------------------------------------------------

    def action_withdraw(self) -> None:
        if self.view.record.override is None:
            self.say("There is no judgement to take back.")
            return
        self.with_initials(lambda: self._set(None, ""))

    def action_why(self) -> None:
        self.app.push_screen(Why(self.view))

    def action_leave_override(self) -> None:
        self.dismiss()
