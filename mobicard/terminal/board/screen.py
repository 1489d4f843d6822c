"""The Board: every bed at one look, found by its number, opened by Enter."""

from __future__ import annotations

from collections.abc import Sequence
from threading import Event

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal
from textual.content import Content
from textual.reactive import reactive
from textual.widgets import DataTable, Input, Static

from mobicard.derive.card_code import LENGTH
from mobicard.ledger import LedgerError
from mobicard.terminal.board.acts import BoardActs
from mobicard.terminal.board.rows import (
    BY_HEADING,
    ORDERS,
    Column,
    candidates,
    cells,
    counts,
    fitted,
    jump,
    peek,
    shown,
)
from mobicard.terminal.brief.asking import ask_brief
from mobicard.terminal.commands import Place, bindings, key_for
from mobicard.terminal.fall.head import ask_head
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import BedSaved, BoardRead, LedgerChanged, ReadFailed
from mobicard.terminal.order_ends import ask_orders
from mobicard.terminal.widgets.held_line import HeldLine
from mobicard.ward import BedView

FIRST = (
    "No patient yet. Three ways in:\n"
    "  n   add a bed          l   take in a bed list (CSV, workbook, HL7)\n"
    "  Ctrl+Q, then mobicard demo   look at an invented unit first"
)


class BedTable(DataTable[object], inherit_bindings=True):
    """The beds; Home and End go to the first and the last."""

    BINDINGS = [  # noqa: RUF012
        Binding("home", "scroll_top", "First", show=False),
        Binding("end", "scroll_bottom", "Last", show=False),
    ]


class Board(BoardActs):
    """Holds the beds as last read; the table shows those that filter, person and order let through."""

    PLACE = Place.BOARD
    BINDINGS = bindings(Place.BOARD)

    order: reactive[str] = reactive("bed", init=False)
    needle: reactive[str] = reactive("", init=False)
    assigned: reactive[str | None] = reactive(None, init=False)
    typed: reactive[str] = reactive("", init=False)

    def __init__(self) -> None:
        super().__init__()
        self.beds: Sequence[BedView] = ()
        self.rows: list[BedView] = []
        self._laid_out: list[tuple[Column, int]] = []
        self._stop = Event()
        self._noted = ""

    def body(self) -> ComposeResult:
        yield Static("Reading the beds ...", id="counts")
        yield BedTable(id="beds", cursor_type="row", cell_padding=0, cursor_foreground_priority="renderable")
        with Horizontal(id="seek"):
            yield Static("Show beds with: ", id="seek-says")
            yield Input(id="needle", compact=True)
        yield Static("", id="peek", markup=False)

    def on_mount(self) -> None:
        self.query_one("#seek-says").styles.width = "auto"
        self._columns()
        self.query_one("#beds").focus()
        self.read_ledger()
        self._watch_ledger()

    def on_unmount(self) -> None:
        self._stop.set()

    # -- what is shown -----------------------------------------------------------------------------

    @property
    def marked(self) -> BedView | None:
        """The bed under the mark."""
        row = self._table.cursor_row
        return self.rows[row] if 0 <= row < len(self.rows) else None

    @property
    def _table(self) -> DataTable[object]:
        return self.query_one("#beds", DataTable)

    def _columns(self) -> None:
        """Lay the columns out anew where the width or the longest bed name asks for it."""
        size = self.app.size
        columns = fitted(self.beds, size.width)
        if columns == self._laid_out:
            return
        self._laid_out = columns
        self.rows = []
        self._table.clear(columns=True)
        for column, width in columns:
            self._table.add_column(column.title, width=width, key=column.title)

    def _fill(self) -> None:
        """Show the beds again; when only cells changed, only those are drawn."""
        marked = self.marked
        rows = shown(self.beds, self.needle, self.order, self.assigned)
        self._columns()
        columns, table = self._laid_out, self._table
        looks = (self.station.scheme, self.station.depth)
        if [view.stay for view in rows] == [view.stay for view in self.rows] and table.row_count == len(rows):
            for old, new in zip(self.rows, rows, strict=True):
                if old != new:
                    for (column, _), cell in zip(columns, cells(new, *looks, columns), strict=True):
                        table.update_cell(new.stay, column.title, cell)
            self.rows = rows
            table._clear_caches()  # it keeps ten thousand cells as they were, which are never shown again
        else:
            self.rows = rows
            table.clear()
            for view in rows:
                table.add_row(*cells(view, *looks, columns), key=view.stay)
            self.mark(marked.stay if marked else "")
        self._tell()

    def mark(self, stay: str) -> None:
        """Put the mark on a stay, if it is shown."""
        place = next((number for number, view in enumerate(self.rows) if view.stay == stay), None)
        if place is not None:
            self._table.move_cursor(row=place, animate=False)

    def _tell(self) -> None:
        wide = self.app.size.width >= 120
        parts = counts(self.beds, self.station.scheme, self.station.depth, words=wide)
        self.query_one("#counts", Static).update(Content.assemble(*parts))
        which = "" if self.assigned is None else f" of {self.assigned}"
        few = (
            f"{len(self.rows)} of {len(self.beds)} beds{which}, " if len(self.rows) != len(self.beds) else ""
        )
        self.banner.state = self._to_bed(f"{few}by {self.order}")
        self._peek()

    def _to_bed(self, shown: str) -> str:
        """What is shown, and where the number typed so far leads, or the other beds it may mean."""
        if not self.typed:
            return shown
        found = candidates(self.rows, self.typed)
        if self.typed.isupper() and (len(self.typed) == 1 or not found):
            return f"card {self.typed}, then Enter; or is Caps Lock on? Esc starts again"
        if not found:
            return f"no bed is like {self.typed}; Esc starts again"
        also = ", ".join(self.rows[one].bed for one in found[1:4]) + (" ..." if len(found) > 4 else "")
        return f"to bed: {self.typed}  also {also}" if also else f"{shown}  to bed: {self.typed}"

    def _peek(self) -> None:
        view = self.marked
        empty = "No bed is shown." if self.beds else FIRST
        says = peek(view, self._held(view), self.app.size.width - 2) if view else empty
        self.query_one("#peek", Static).update(says)

    def _held(self, view: BedView) -> str:
        """What waits on this station for a bed, in words."""
        offline = self.ward.offline
        if any(entry.stay == view.stay for held in offline.refused for entry in held.entries):
            return f"a save of this bed is held: {key_for(Place.EVERYWHERE, 'held')} settles it"
        others = [held for held in offline.of_others if any(e.stay == view.stay for e in held.entries)]
        return f"a save of this bed by {safe(others[0].entries[0].by)} is held" if others else ""

    # -- reading -----------------------------------------------------------------------------------

    def looked_up(self) -> BoardRead:
        return BoardRead(self.ward.board())

    @work(thread=True, group="watch")
    def _watch_ledger(self) -> None:
        try:
            self.ward.watch(self._tell_changed, self._stop)
        except LedgerError as failed:
            self.post_message(ReadFailed(failed.says))

    def _tell_changed(self) -> None:
        self.post_message(LedgerChanged())

    def minute_passed(self) -> None:
        self.read_ledger()

    def looks_changed(self) -> None:
        stay = self.marked.stay if self.marked else ""
        self.rows = []
        if self.beds:
            self._fill()
            self.mark(stay)

    def on_board_read(self, message: BoardRead) -> None:
        self.query_one(HeldLine).look()
        first, self.beds = not self.beds, message.beds
        self._fill()
        if self.ward.knows_who and self.ward.by != self._noted:
            self._noted = self.ward.by
            self._note_looked()
        if first:
            self.offer_drafts()

    @work(thread=True, group="seen")
    def _note_looked(self) -> None:
        self.ward.looked("board")

    def on_ledger_changed(self) -> None:
        self.read_ledger()

    def on_bed_saved(self, message: BedSaved) -> None:
        self.beds = [message.bed if view.stay == message.bed.stay else view for view in self.beds]
        self._fill()
        self.read_ledger()

    def on_screen_resume(self) -> None:
        if self.beds:
            self.read_ledger()

    def on_resize(self, event: events.Resize) -> None:
        super().on_resize(event)
        if self.is_mounted and self.beds:
            self._fill()

    # -- keys --------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """A figure starts a bed number, a capital a card's code; other letters go on or are commands."""
        if isinstance(self.focused, Input) or event.character is None or not event.is_printable:
            if self.typed and event.key == "backspace":
                self.typed = self.typed[:-1]
                event.stop()
            return
        goes_on = bool(self.typed) and (event.character.isalpha() or event.character == "-")
        if event.character.isupper():  # a scanner types a card's code; no command is a capital
            event.stop()
            self.typed += event.character
        elif goes_on and jump(self.rows, self.typed + event.character) is None:
            self.typed = ""
        elif goes_on or event.character.isdigit():
            event.stop()
            self.typed += event.character

    def watch_typed(self, typed: str) -> None:
        found = candidates(self.rows, typed)
        place = found[0] if found else None
        if place is not None:
            self._table.move_cursor(row=place, animate=False)
        self._tell()

    watch_needle = watch_order = watch_assigned = _fill

    def on_data_table_row_highlighted(self) -> None:
        self._peek()
        self.call_after_refresh(self._keep_marked_in_view)

    def _keep_marked_in_view(self) -> None:
        """The line below may have grown over the marked row."""
        self._table.move_cursor(row=self._table.cursor_row, animate=False)

    def on_data_table_header_selected(self, event: DataTable.HeaderSelected) -> None:
        """A click on a heading sorts by it; once more, by bed again."""
        order = BY_HEADING.get(str(event.column_key.value), "bed")
        self.order = "bed" if order == self.order else order

    def on_data_table_row_selected(self) -> None:
        self.action_open()

    def on_input_changed(self, event: Input.Changed) -> None:
        self.needle = event.value

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self._table.focus()

    # -- commands ----------------------------------------------------------------------------------

    def action_open(self) -> None:
        view, typed, self.typed = self.marked, self.typed, ""
        if len(typed) == LENGTH and not candidates(self.rows, typed):
            self.tell_card(typed)
            return
        if view is not None:
            self.station.go(Place.RECORD, view)

    def action_filter(self) -> None:
        self.query_one("#seek").add_class("open")
        self.query_one("#needle").focus()

    def action_clear(self) -> None:
        self.typed = ""
        self.query_one("#seek").remove_class("open")
        self.query_one("#needle", Input).value = ""
        self._table.focus()

    def action_sort(self) -> None:
        names = list(ORDERS)
        self.order = names[(names.index(self.order) + 1) % len(names)]

    def action_mine(self) -> None:
        if self.assigned is not None:
            self.assigned = None
            return
        self.with_initials(lambda: setattr(self, "assigned", self.ward.by))

    def action_why(self) -> None:
        if self.marked is not None:
            self.show_why(self.marked)

    def action_orders(self) -> None:
        if self.marked is not None:
            ask_orders(self, self.marked)

    def action_round(self) -> None:
        self.station.go(Place.ROUND)

    def action_fall(self) -> None:
        if self.marked is not None:
            self.note_seen(self.marked.stay)
            self.station.go(Place.FALL, self.marked)

    def action_head(self) -> None:
        ask_head(self, self.marked)

    def action_override(self) -> None:
        if self.marked is not None:
            self.station.go(Place.OVERRIDE, self.marked)

    def action_print(self) -> None:
        self.station.go(Place.PRINT)

    def action_hands(self) -> None:
        self.station.go(Place.HANDS)

    def action_handoff(self) -> None:
        self.station.go(Place.HANDOFF)

    def action_brief(self) -> None:
        ask_brief(self, self.marked)
