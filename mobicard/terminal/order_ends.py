"""Orders and precautions of a bed, one by one: still so, until when, or over and who says so."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, time, timedelta

from mobicard.facts import Order
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView, WardRefused


def ask_orders(place: PlaceScreen, view: BedView) -> None:
    """Which order, then what of it."""
    orders = view.record.orders[:9]
    if not orders:
        place.say(f"{view.bed}: no order or precaution stands.")
        return
    choices = [(str(number), safe(order.says)) for number, order in enumerate(orders, 1)]

    def chosen(key: str | None) -> None:
        if key:
            _ask_what(place, view, orders[int(key) - 1])

    place.app.push_screen(Choose(f"{view.bed}: which order?", choices), chosen)


def _ask_what(place: PlaceScreen, view: BedView, order: Order) -> None:
    def over(by: str | None) -> None:
        if by:
            _save(place, lambda: place.ward.order_over(place.ward.bed(view.stay), order.what, by))

    def until(at: str | None) -> None:
        if at:
            ward = place.ward
            _save(place, lambda: ward.order_until(ward.bed(view.stay), order.what, _coming(at, ward.now)))

    def chosen(key: str | None) -> None:
        if key == "s":
            _save(place, lambda: place.ward.order_still(place.ward.bed(view.stay), order.what))
        elif key == "o":
            place.app.push_screen(Write("Over: who says so, by name", limit=40), over)
        elif key == "u":
            asks = "Until when, like 14:00; then it is due for a look"
            place.app.push_screen(Write(asks, limit=20), until)

    choices = [("s", "still so"), ("u", "it has an end"), ("o", "over, and who says so")]
    place.app.push_screen(Choose(f"{view.bed}: {safe(order.says)}", choices), chosen)


def _save(place: PlaceScreen, noted: Callable[[], BedView]) -> None:
    def save() -> None:
        view = noted()
        for screen in place.app.screen_stack:
            screen.post_message(BedSaved(view))

    def attempt() -> None:
        place.attempt(save)

    place.with_initials(attempt)


def _coming(text: str, now: datetime) -> datetime:
    """The next time the clock shows this, or a date and time written out. Raises WardRefused."""
    clock = re.fullmatch(r"(\d{1,2})[:.]?(\d{2})", text.strip())
    try:
        if clock is None:
            return datetime.fromisoformat(text.strip()).replace(tzinfo=None)
        at = datetime.combine(now.date(), time(int(clock[1]), int(clock[2])))
    except ValueError:
        raise WardRefused(f"“{text}” is no time; write it like 14:00 or 2026-03-02T14:00") from None
    return at if at > now else at + timedelta(days=1)
