"""Hands: the shift's moves as a timeline by person or by bed; a move is ticked off where it stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from textual import work
from textual.app import ComposeResult
from textual.message import Message
from textual.reactive import reactive
from textual.widgets import DataTable, Static

from mobicard.derive.brief import Helper
from mobicard.hands.page import counts
from mobicard.hands.schedule import DayPlan, Move, Placed
from mobicard.hands.supply import Supply
from mobicard.hands.ticks import HowFar, Tick, last_ticks
from mobicard.hands.timeline import LEGEND, Lane, by_bed, by_person, line_says, ruler, width_for
from mobicard.terminal.asking import Write
from mobicard.terminal.commands import Place, bindings
from mobicard.terminal.messages import ReadFailed
from mobicard.terminal.place import PlaceScreen

NAME = 7
"""Columns for a person's initials or a bed in front of the line."""


class HandsSource(Protocol):
    """Where the plan, the people and the ticks come from; calls may be slow and are made in a worker."""

    def plan(self) -> DayPlan: ...
    def supply(self) -> Supply: ...
    def ticks(self) -> Sequence[Tick]: ...
    def tick(self, move: Move, outcome: HowFar, why: str) -> None: ...
    def replan(self) -> DayPlan: ...


class PlanRead(Message):
    """The plan, the people and the ticks as just read."""

    def __init__(self, plan: DayPlan, supply: Supply, ticks: Sequence[Tick]) -> None:
        super().__init__()
        self.plan, self.supply, self.ticks = plan, supply, ticks


class HandsScreen(PlaceScreen):
    """Holds the plan as last read; the upper table shows the lines, the lower the marked line's moves."""

    PLACE = Place.HANDS
    BINDINGS = bindings(Place.HANDS)

    beds: reactive[bool] = reactive(False, init=False)

    def __init__(self, source: HandsSource | None = None) -> None:
        super().__init__()
        self._source = source
        self.plan: DayPlan | None = None
        self.people: Supply = Supply((), ())
        self.ticked: dict[str, Tick] = {}
        self.lanes: tuple[Lane, ...] = ()
        self.moves: tuple[Placed, ...] = ()

    @property
    def source(self) -> HandsSource:
        """The given source, else the ward's own."""
        found: HandsSource = self._source or self.ward.hands
        return found

    def body(self) -> ComposeResult:
        yield Static("Making the plan ...", id="hands-says", markup=False)
        yield Static("", id="ruler", markup=False)
        yield DataTable(id="lanes", cursor_type="row", cell_padding=0, show_header=False)
        yield Static("\n".join(LEGEND), id="legend", markup=False)
        yield DataTable(id="moves", cursor_type="row", cell_padding=0, show_header=False)

    def on_mount(self) -> None:
        self._table("moves").add_columns("at", "bed", "move", "who", "state")
        self._table("lanes").add_columns("name", "line")
        self._table("lanes").focus()
        self.read_plan(anew=False)

    def _table(self, name: str) -> DataTable[str]:
        return self.query_one(f"#{name}", DataTable)

    @work(thread=True, exclusive=True, group="plan")
    def read_plan(self, *, anew: bool) -> None:
        """Read the plan, or make it anew from now; off the screen's own thread."""
        try:
            plan = self.source.replan() if anew else self.source.plan()
            self.post_message(PlanRead(plan, self.source.supply(), self.source.ticks()))
        except Exception as wrong:  # said in words below; a fault here must not end the terminal
            self.post_message(ReadFailed(getattr(wrong, "says", str(wrong))))

    def minute_passed(self) -> None:
        """The time on the ruler; what others planned and ticked; the next shift's plan once it began."""
        if self.plan is not None and self.ward.knows_who:
            self.read_plan(anew=False)
        elif self.plan is not None:
            self._rule(self.plan)

    def on_plan_read(self, message: PlanRead) -> None:
        shown = (self.plan, self.people, self.ticked)
        self.plan, self.people = message.plan, message.supply
        self.ticked = last_ticks(message.ticks)
        if shown == (self.plan, self.people, self.ticked):
            self._rule(self.plan)  # the marks stay where they are
        else:
            self._fill()

    def on_read_failed(self, message: ReadFailed) -> None:
        message.prevent_default()  # said in the place itself, where it stays
        says = message.says
        if says.startswith("who is on duty is not known"):
            folder = self.ward.settings.config_dir
            says = "who is on duty is not known. Everything else works without it. Whoever looks after "
            says += f"mobicard on this unit keeps that list: staff.toml in {folder}."
        self.query_one("#hands-says", Static).update(f"No plan: {says}")

    def watch_beds(self) -> None:
        self._fill()

    def on_screen_resume(self) -> None:
        if self.plan:
            self._fill()
            self.read_plan(anew=False)

    def _width(self, plan: DayPlan) -> int:
        return width_for(self.app.size.width - NAME - 1, plan)

    def _rule(self, plan: DayPlan) -> None:
        ruled = " " * NAME + ruler(plan, self._width(plan), self.ward.now)
        self.query_one("#ruler", Static).update(ruled)

    def _fill(self) -> None:
        plan = self.plan
        if plan is None:
            return
        width = self._width(plan)
        lanes = (
            by_bed(plan, self.ticked, width)
            if self.beds
            else by_person(plan, self.people, self.ticked, width)
        )
        self.lanes = lanes
        table, row = self._table("lanes"), self._table("lanes").cursor_row
        table.clear()
        for lane in lanes:
            table.add_row(lane.name[: NAME - 1].ljust(NAME), lane.letters, key=lane.name)
        table.move_cursor(row=min(row, max(len(lanes) - 1, 0)))
        self._rule(plan)
        self.query_one("#hands-says", Static).update(self._says(plan))
        self.banner.state = f"until {plan.holds_until:%H:%M}"
        self._fill_moves()

    def _says(self, plan: DayPlan) -> str:
        first = [item.says for item in plan.short] + list(plan.problems) + list(plan.not_asked)
        more = f"First of {len(first)} notes (all on the page): " if len(first) > 1 else ""
        return f"{counts(plan)}. " + (f"{more}{first[0]}" if first else "Hands and lifts suffice.")

    def on_data_table_row_highlighted(self, event: DataTable.RowHighlighted) -> None:
        if event.data_table.id == "lanes":
            self._fill_moves()

    def _fill_moves(self) -> None:
        """The moves of the marked line, the mark on the first that nobody ticked."""
        row = self._table("lanes").cursor_row
        self.moves = self.lanes[row].moves if 0 <= row < len(self.lanes) else ()
        table = self._table("moves")
        table.clear()
        for item in self.moves:
            table.add_row(*(f"{part}  " for part in line_says(item, self.ticked.get(item.move.id))))
        left = [n for n, item in enumerate(self.moves) if item.move.id not in self.ticked]
        table.move_cursor(row=left[0] if left else 0)

    @property
    def marked(self) -> Placed | None:
        """The move under the mark of the lower table."""
        row = self._table("moves").cursor_row
        return self.moves[row] if 0 <= row < len(self.moves) else None

    def action_turn_view(self) -> None:
        self.beds = not self.beds

    def action_reached(self) -> None:
        self._tick(HowFar.REACHED, "")

    def action_partly(self) -> None:
        self._ask_why(HowFar.PARTLY, "How far did it get, and why no further")

    def action_not_done(self) -> None:
        self._ask_why(HowFar.NOT, "Why was it not done")

    def action_replan(self) -> None:
        self.query_one("#hands-says", Static).update("Planning again from now ...")
        self.read_plan(anew=True)

    def action_brief(self) -> None:
        """The marked move's brief, with the people planned for it; how it went ticks the move."""
        item = self.marked
        view = self.ward.find(item.move.bed) if item else None
        if item is None or view is None:
            self.refuse("Mark a move first: Tab goes to the moves of the line.")
            return
        people = tuple(Helper(name) for name in item.people)
        self.station.go(Place.BRIEF, view, item.move.task, people=people, move=item.move.id)

    def action_leave_hands(self) -> None:
        self.dismiss()

    def _ask_why(self, outcome: HowFar, asks: str) -> None:
        item = self.marked
        if item is None:
            return

        def told(why: str | None) -> None:
            if why is not None:
                self._tick(outcome, why)

        check = (
            (lambda text: "" if text.strip() else "A few words, please") if outcome is HowFar.NOT else None
        )
        self.app.push_screen(Write(f"{item.move.bed} {item.move.says}: {asks}", limit=100, check=check), told)

    def _tick(self, outcome: HowFar, why: str) -> None:
        item = self.marked
        if item is None:
            self.refuse("Mark a move first: Tab goes to the moves of the line.")
            return

        def write() -> None:
            if self.attempt(lambda: self.source.tick(item.move, outcome, why)):
                self.ticked[item.move.id] = Tick.of(item.move, outcome, self.ward.now, why)
                self.say(f"{item.move.bed} {item.move.says}: {outcome.value}")
                self._fill()

        self.with_initials(write)
