"""Which bed somebody means: as the unit writes it, or its number alone; asked where two units have one."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from mobicard.terminal.asking import Choose, Write
from mobicard.terminal.looks import named
from mobicard.terminal.place import PlaceScreen
from mobicard.ward import BedView

LIKE = "as the unit writes it, like 4W-12A; the number alone where there is one unit"


def ask_bed(
    place: PlaceScreen,
    asks: str,
    beds: Sequence[BedView],
    then: Callable[[str], object],
    *,
    value: str = "",
    check: Callable[[str], str] = lambda bed: "",
) -> None:
    """Ask for a bed; ``then`` gets its name as the unit writes it. ``check`` refuses one, or says nothing."""

    def chosen(like: Sequence[str], key: str | None) -> None:
        if key:
            then(like[int(key) - 1])

    def typed(text: str | None) -> None:
        like = beds_like(beds, text or "")[:9]
        if len(like) > 1:
            keyed = [(str(number), one) for number, one in enumerate(like, 1)]
            place.app.push_screen(Choose("Which bed?", keyed), lambda key: chosen(like, key))
        elif text:
            then(like[0] if like else text)

    def refused(text: str) -> str:
        like = beds_like(beds, text)
        return check(like[0] if len(like) == 1 else text)

    place.app.push_screen(Write(asks, value, limit=16, check=refused), typed)


def beds_like(beds: Sequence[BedView], typed: str) -> list[str]:
    """How the unit would write what was typed: 25 or 5n-25 beside 5N-04 is 5N-25; one for each unit.

    Nothing where no bed of the unit is like it.
    """
    found: dict[str, None] = {}
    for view in beds:
        part = re.fullmatch(r"(.*?)(\d+)[A-Za-z]?", view.bed)
        if part is None:
            continue
        prefix, figures = part.groups()
        rest = typed[len(prefix) :] if typed.casefold().startswith(prefix.casefold()) else typed
        if prefix and re.fullmatch(r"\d+[A-Za-z]?", rest):
            letters = len(rest.lstrip("0123456789"))
            found[prefix + rest.upper().zfill(len(figures) + letters)] = None
    return list(found)


def taken(beds: Sequence[BedView], bed: str) -> str:
    """Why nobody can be taken into a bed, or nothing: said before more is asked."""
    there = next((view for view in beds if view.bed.casefold() == bed.casefold()), None)
    return f"{named(there.bed, there.label)} is there: {there.bed} is taken" if there else ""
