"""Two people, one bed: what each changed, fact by fact; take theirs, keep yours, or put the two together."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from mobicard.facts.text import plain_says
from mobicard.terminal.looks import safe
from mobicard.terminal.overlay import Overlay
from mobicard.ward import FieldChange, SaveRefused

Answer = tuple[str, frozenset[str]]


class Clash(Overlay[Answer | None]):
    """Dismissed with ``take``, ``keep`` or ``merge`` and the facts where theirs is taken."""

    BINDINGS = [  # noqa: RUF012
        Binding("escape", "dismiss", "Back"),
        Binding("t", "settle('take')", "Theirs"),
        Binding("y", "settle('keep')", "Yours"),
        Binding("m", "settle('merge')", "Both"),
        Binding("space", "turn", "This fact"),
    ]
    ABOUT = (
        "Somebody else saved this bed while you did. Nothing is lost: say whose answer stands, fact by fact."
    )

    def __init__(self, bed: str, clash: SaveRefused) -> None:
        super().__init__()
        self._bed, self._clash = bed, clash
        self._theirs: set[str] = set()

    def compose(self) -> ComposeResult:
        with Vertical(id="help"):
            yield Static(safe(self._clash.says), markup=False)
            yield OptionList(*self._options(), id="fields", compact=True, markup=False)
            yield Static(
                f"\n t  take the record of {safe(self._clash.by)}; yours is set aside\n"
                f" y  keep yours alone; what {safe(self._clash.by)} changed is set aside\n"
                " m  put both together: Space or Enter turns a fact that both changed\n"
                " Esc goes back; nothing is lost",
                markup=False,
            )

    def _options(self) -> list[Option]:
        return [Option(self._line(field), id=field.field) for field in self._clash.fields]

    def _line(self, field: FieldChange) -> Content:
        name = field.field.replace("_", " ").replace(".", ", ")
        mine, theirs = plain_says(field.mine), plain_says(field.theirs)
        if not field.both:
            who = "you" if field.mine != field.before else self._clash.by
            new = mine if who == "you" else theirs
            return Content.assemble(
                (f"{name}: ", "bold"), f"{plain_says(field.before)}, changed by {who} to {new}"
            )
        taken = self._clash.by if field.field in self._theirs else "you"
        return Content.assemble(
            (f"{name}: ", "bold"),
            f"was {plain_says(field.before)}; you {mine}; {self._clash.by} {theirs}",
            (f"   together: {taken}", "bold"),
        )

    def on_option_list_option_selected(self) -> None:
        self.action_turn()

    def action_turn(self) -> None:
        """Of a fact that both changed, let the other's answer stand when merging."""
        fields = self.query_one(OptionList)
        place = fields.highlighted
        if place is None or not self._clash.fields[place].both:
            return
        self._theirs ^= {self._clash.fields[place].field}
        fields.replace_option_prompt_at_index(place, self._line(self._clash.fields[place]))

    def action_settle(self, how: str) -> None:
        self.dismiss((how, frozenset(self._theirs)))
