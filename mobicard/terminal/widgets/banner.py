"""The top line: which place, which bed, who is at the station, what time the ward's clock shows."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from mobicard.terminal.looks import safe
from mobicard.terminal.station import station_of


class Banner(Widget):
    """One line; ``about`` is the bed or subject, ``state`` what to know at the right."""

    about: reactive[str] = reactive("")
    state: reactive[str] = reactive("")

    def __init__(self, place: str) -> None:
        super().__init__()
        self._place = place

    def render(self) -> Content:
        ward = station_of(self).ward
        left = f" {self._place}" + (f"  {safe(self.about)}" if self.about else "")
        who = ward.by if ward.knows_who else "nobody signed in"
        demo = "demo  " if ward.demo or ward.clock.machine else ""
        right = "  ".join(part for part in (self.state, f"{demo}{who}", f"{ward.now:%H:%M}") if part) + " "
        room = max(self.size.width - len(right), 8)
        return Content.assemble((left, "bold")).truncate(room, ellipsis=True).pad_right(
            max(room - Content(left).cell_length, 0)
        ) + Content(right)
