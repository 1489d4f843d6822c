"""The door card: what to know before going in, readable from the corridor, saying until when it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from mobicard.paper import in_words, shapes, templates, text_fit
from mobicard.paper.door.drawn import can_draw, drawn
from mobicard.paper.door.face import BedCard, DoorCard, DoorFace, State
from mobicard.paper.door.layout import (
    ENDS,
    LEAD,
    NEEDED,
    SAYS_LEAD,
    STRIP,
    UNDER_BAND,
    Box,
    Layout,
    bed_box,
    beside_end,
    items_box,
    layout_for,
)
from mobicard.paper.door.panel import panel_svg, word_colour
from mobicard.paper.door.says import door_face
from mobicard.paper.pdf import batches
from mobicard.paper.pdf.merge import Part
from mobicard.paper.sheet_sizes import Sheet
from mobicard.rules.policy import Policy
from mobicard.scheme.scheme import Scheme


def door_html(
    cards: Sequence[BedCard],
    sheet: Sheet,
    scheme: Scheme,
    policy: Policy,
    now: datetime,
    *,
    title: str | None = None,
) -> str:
    """Door cards as one self-contained page, in the order given. ``now`` is the time of printing.

    Raises nothing a card's content could cause: text that does not fit is counted on the card, never cut.
    """
    return DoorBatch(cards, sheet, scheme, policy, now, title or door_title(len(cards), now)).html()


def door_batches(
    cards: Sequence[BedCard], sheet: Sheet, scheme: Scheme, policy: Policy, now: datetime
) -> Iterator[DoorBatch]:
    """The same cards in batches, for ``pdf.write_pdf``: memory stays flat however many there are."""
    title = door_title(len(cards), now)
    for batch in batches(cards, sheet.up):
        yield DoorBatch(batch, sheet, scheme, policy, now, title)


@dataclass(frozen=True, slots=True)
class DoorBatch:
    """Some cards on their sheets, as a page or drawn straight into a PDF; both show the same."""

    cards: Sequence[BedCard]
    sheet: Sheet
    scheme: Scheme
    policy: Policy
    now: datetime
    title: str

    def html(self) -> str:
        """The cards as one self-contained page."""
        layout, ink = layout_for(self.sheet), self.sheet.ink
        return templates.render(
            "door.html",
            title=self.title,
            sheet=self.sheet,
            layout=layout,
            groups=self._groups(layout),
            panel=lambda face: panel_svg(face, ink, layout),
            qr=shapes.qr_img,
            line=text_fit.LINE,
            lead=LEAD,
            says_lead=SAYS_LEAD,
            needed=NEEDED,
            strip=STRIP,
            beside_end=beside_end,
            ends=ENDS,
            items_box=items_box,
            bed_box=bed_box,
            word_colour=lambda face: word_colour(face, ink),
            foot=self._foot(),
        )

    def drawn(self) -> Part | None:
        """The cards as part of a PDF; None where the carried fonts lack a letter (the page then serves)."""
        layout = layout_for(self.sheet)
        groups = self._groups(layout)
        if not all(can_draw(card) for group in groups for card in group):
            return None
        return drawn(groups, self.sheet, layout, self.title, self._foot())

    def _groups(self, layout: Layout) -> list[list[DoorCard]]:
        shown = [_fitted(door_face(card, self.scheme, self.policy, self.now), layout) for card in self.cards]
        return [shown[at : at + self.sheet.up] for at in range(0, len(shown), self.sheet.up)]

    def _foot(self) -> str:
        return f"{in_words.SUPPORT} Printed {in_words.when(self.now)}."


def door_title(count: int, now: datetime) -> str:
    """The page's title."""
    return f"Door cards, {count} {'bed' if count == 1 else 'beds'}, printed {in_words.when(now)}"


def _fitted(face: DoorFace, layout: Layout) -> DoorCard:
    items, kept = _fit_items(face, layout)
    says_size, says = text_fit.fit_lines(
        face.says, layout.places["says"][2:], (layout.size(9.5), layout.size(5.0)), SAYS_LEAD
    )
    named = zip(ENDS, face.until, strict=False)
    ends = [_line(text, layout.places[name], layout.end_size) for name, text in named]
    return DoorCard(
        face=face,
        sub_size=_line(face.sub_line, layout.places["sub"], layout.size(8.2)),
        band_size=_line(face.band, layout.places["band"], layout.band_size, layout.size(4.0)),
        bed_size=_line(face.bed, layout.places["bed"], layout.end_size),
        until_size=min(ends, default=layout.end_size),
        items=kept,
        items_size=items,
        says=says,
        says_size=says_size,
    )


def _fit_items(face: DoorFace, layout: Layout) -> tuple[float, tuple[text_fit.Line, ...]]:
    """The lines at the size at which they fit; one more says how many are on the bedside card only."""
    room, (largest, least) = layout.places[items_box(face)][2:], layout.line_sizes
    sizes = (largest * UNDER_BAND if face.band else largest, least)
    size, kept = text_fit.fit_lines(face.items, room, sizes, LEAD)
    left = face.more + len(face.items) - len(kept)
    if not left:
        return size, kept
    size, kept = text_fit.fit_lines(face.items, (room[0], room[1] - size * LEAD), sizes, LEAD)
    left = face.more + len(face.items) - len(kept)
    return size, (*kept, (f"{left} more points: bedside card",))


def _line(text: str, box: Box, largest: float, inset: float = 0.0) -> float:
    """The letter size at which the text stays on one line of this box; it may fill the box's height."""
    return text_fit.one_line(text, box[2] - 2 * inset, min(largest, box[3]), 0.1, text_fit.WORD) or 0.1


__all__ = ["BedCard", "DoorBatch", "State", "door_batches", "door_face", "door_html", "door_title"]
