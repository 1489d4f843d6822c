"""A door card in the terminal: its words exactly as they will be printed, drawn as far as letters can."""

from __future__ import annotations

from collections.abc import Iterator

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from mobicard.paper.door.card import door_face
from mobicard.paper.door.face import BedCard, DoorFace
from mobicard.paper.door.layout import NEEDED
from mobicard.terminal.looks import Part, as_printed, hang, level_style, safe
from mobicard.terminal.overlay import Overlay
from mobicard.terminal.station import station_of
from mobicard.ward import DoorJob


class Preview(Overlay[None]):
    """One card; any of Esc, Enter or V closes it."""

    ABOUT = "The door's card as it will hang, in the door's own colours."
    BINDINGS = [Binding("escape,enter,v,q", "dismiss", "Close")]  # noqa: RUF012

    def __init__(self, job: DoorJob) -> None:
        super().__init__()
        self._job = job

    def compose(self) -> ComposeResult:
        with VerticalScroll(classes="asking", id="preview"):
            yield Static("", id="preview-card")
            yield Static(f"\n{safe(self._job.says)}.   Esc goes back", markup=False)

    def on_mount(self) -> None:
        width = min(int(self.app.size.width * 0.9), 100) - 10
        self.query_one("#preview-card", Static).update(self._card(width))
        self.query_one(VerticalScroll).focus()

    def _card(self, width: int) -> Content:
        job = self._job
        if job.plan is None or job.record is None:
            return Content(f"No card hangs in {job.bed} any more: the stay has ended.")
        station = station_of(self)
        ward = station.ward
        face = door_face(BedCard(job.plan, job.record), ward.settings.scheme, ward.policy, ward.now)
        return _drawn(face, level_style(face.look, as_printed(station.depth)), width)


def _drawn(face: DoorFace, style: str, width: int) -> Content:
    look = face.look
    bare = f"   {look.glyph}  {' '.join(face.word)}"
    blank = Content.styled(" " * width, style)
    word = Content.styled(bare.ljust(width)[:width], style)
    lines = [hang(parts, width, 2) for parts in _below(face)]
    return Content("\n").join([blank, word, blank, Content(""), *lines])


def _below(face: DoorFace) -> Iterator[list[Part]]:
    if face.sub_line:
        yield [(face.sub_line, "bold")]
    if face.band:
        yield [(f" {face.band} ", "bold reverse")]
    if face.numbers:
        yield [(NEEDED, "")]
    for number in face.numbers:
        yield [(f"{number.people}  ", "bold"), (f"{number.says} ({number.moves})", "")]
    yield from ([(text, "bold")] for text in face.says)
    yield from ([("- ", "bold"), (item, "")] for item in face.items)
    if face.more:
        yield [(f"{face.more} more on the bedside card", "")]
    until = f"   not valid after {' '.join(face.until)}" if face.until else ""
    yield [(face.bed, "bold"), (f"{until}   card {face.code}", "")]
