"""Orders and precautions of a bed, one by one: still so, until when, or over and who says so."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from mobicard.derive.vitals import bars_getting_up, start_limits
from mobicard.facts import Order
from mobicard.facts.text import typed_time
from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.looks import safe
from mobicard.terminal.messages import BedSaved
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView, Ward, WardRefused

Then = Callable[[], None]
"""What goes on once an order was answered."""

KEYS = "123456789abcdefghijklmnopqrstuvwxyz"
READINGS = "0"


def ask_orders(place: PlaceScreen, view: BedView) -> None:
    """Which order, or the readings that keep the patient in bed; then what of it."""
    orders = dict(zip(KEYS, view.record.orders, strict=False))
    choices = [(key, safe(order.says)) for key, order in orders.items()]
    if bars_getting_up(view.record, place.ward.policy):
        readings = " ".join(start_limits(view.record, place.ward.policy, place.ward.now))
        choices.append((READINGS, f"{safe(readings)} Cleared, and by whom"))
    if not choices:
        place.say(f"{view.bed}: no order or precaution stands.")
        return

    def chosen(key: str | None) -> None:
        if key == READINGS:
            _ask_who_cleared(place, view)
        elif key:
            _ask_what(place, view, orders[key], lambda: None)

    place.app.push_screen(Choose(f"{view.bed}: which order?", choices), chosen)


def _ask_who_cleared(place: PlaceScreen, view: BedView) -> None:
    def cleared(by: str | None) -> None:
        if by:
            _save(place, lambda: place.ward.readings_cleared(place.ward.bed(view.stay), by), lambda: None)

    place.app.push_screen(Write("May get up on these readings: who says so, by name", limit=40), cleared)


def ask_each(place: PlaceScreen, view: BedView, orders: Sequence[Order], then: Then) -> None:
    """Each of these orders with a key, one after the other, then what comes next. Esc stops it there."""
    if not orders:
        then()
        return
    left = [("n", "nobody to ask now: it stands, and is asked again")]
    _ask_what(place, view, orders[0], lambda: ask_each(place, view, orders[1:], then), left)


def _ask_what(
    place: PlaceScreen, view: BedView, order: Order, then: Then, left: Sequence[tuple[str, str]] = ()
) -> None:
    ward = place.ward

    def over(by: str | None) -> None:
        if by:
            _save(place, lambda: ward.order_over(ward.bed(view.stay), order.what, by), then)

    def until(at: str | None) -> None:
        if at:
            _save(place, lambda: _until(ward, view.stay, order.what, at), then)

    def chosen(key: str | None) -> None:
        if key == "n":
            then()
        elif key == "s":
            _save(place, lambda: ward.order_still(ward.bed(view.stay), order.what), then)
        elif key == "o":
            place.app.push_screen(Write("Over: who says so, by name", limit=40), over)
        elif key == "u":
            asks = "Until when, like 1400 or +30 (minutes from now); then it is due for a look"
            place.app.push_screen(Write(asks, limit=20), until)

    choices = [("s", "still so"), ("u", "it has an end"), ("o", "over, and who says so"), *left]
    place.app.push_screen(Choose(f"{view.bed}: {safe(order.says)}", choices), chosen)


def _until(ward: Ward, stay: str, what: str, at: str) -> BedView:
    return ward.order_until(ward.bed(stay), what, _coming(at, ward.now))


def _save(place: PlaceScreen, noted: Callable[[], BedView], then: Then) -> None:
    def save() -> None:
        view = noted()
        for screen in place.app.screen_stack:
            screen.post_message(BedSaved(view))
        then()

    def attempt() -> None:
        place.attempt(save)

    place.with_initials(attempt)


def _coming(text: str, now: datetime) -> datetime:
    """The next time the clock shows this, or a date and time written out. Raises WardRefused."""
    try:
        return typed_time(text, now, coming=True)
    except ValueError as refused:
        raise WardRefused(str(refused)) from None
