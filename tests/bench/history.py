"""A unit with months or years behind it, by the library's own clock: what the benches of scale read.

    python -m tests.bench.history FILE --beds 24 --days 1095

Patients come and go every five days; each shift leaves a look, a reading of the handoff, looks at the
screen and ticks; every second day a card is printed, hung, and the one before taken down.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random

from mobicard.derive.card_code import short_code
from mobicard.ledger import Ledger, NewEntry
from tests.bench.ledger import NOW, seen
from tests.records import record_entry

STAY_DAYS = 5
CARD_SHIFTS = 4


def unit_of(number: int) -> str:
    """Beds of one unit are 25."""
    return f"{number // 25 + 1}W-{number % 25 + 1:02}"


def of_a_shift(stay: str, bed: str, at: datetime, shift: int, *, taken_down: bool) -> Iterator[NewEntry]:
    """What one bed's shift leaves: 19 entries, and three more when its card changes."""
    random = Random(f"{stay} {shift}")
    yield record_entry(stay, seen(bed, random.randrange(60)), at, "JN")
    yield NewEntry(stay, "read", at + timedelta(minutes=6), "RD")
    for n in range(13):
        yield NewEntry(stay, "seen", at + timedelta(minutes=7 + n), "JN")
    for n in range(2, 6):
        yield NewEntry(stay, "tick", at + timedelta(hours=n), "JN", {"task": "chair", "outcome": "done"})
    if shift % CARD_SHIFTS == 0:
        code = {"code": short_code(f"{stay} {shift}".encode()), "bed": bed}
        old = {"code": short_code(f"{stay} {shift - CARD_SHIFTS}".encode()), "bed": bed}
        yield NewEntry(stay, "prepared", at + timedelta(hours=6), "CL", {**code, "batch": f"b{shift:07}"})
        if taken_down and shift >= CARD_SHIFTS:
            yield NewEntry(stay, "taken_down", at + timedelta(hours=6), "CL", old)
        yield NewEntry(stay, "hung", at + timedelta(hours=6), "CL", code)


def fill(ledger: Ledger, beds: int, days: int, *, taken_down: bool = True) -> None:
    """So many beds with so many days of two shifts behind them, up to NOW."""
    start = NOW - timedelta(days=days)
    here: dict[str, tuple[str, int]] = {}
    for shift in range(days * 2):
        at = start + timedelta(hours=12 * shift, minutes=30)
        entries: list[NewEntry] = []
        for number in range(beds):
            bed = unit_of(number)
            if bed not in here or (shift + number) % (STAY_DAYS * 2) == 0:
                if bed in here:
                    old, came = here[bed]
                    if taken_down:
                        last = (shift - came - 1) // CARD_SHIFTS * CARD_SHIFTS
                        code = {"code": short_code(f"{old} {last}".encode()), "bed": bed}
                        entries.append(NewEntry(old, "taken_down", at, "CL", code))
                    entries.append(NewEntry(old, "discharge", at, "CL", {"bed": bed}))
                here[bed] = (f"s{shift}x{number}", shift)
                entries.append(NewEntry(here[bed][0], "admit", at, "CL", {"bed": bed}))
            stay, came = here[bed]
            entries += of_a_shift(stay, bed, at, shift - came, taken_down=taken_down)
            if len(entries) > 500:  # what a save checks of its own entries grows with their square
                ledger.append(*entries)
                entries = []
        if entries:
            ledger.append(*entries)


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("url")
    said.add_argument("--beds", type=int, default=24)
    said.add_argument("--days", type=int, default=30)
    said.add_argument("--left-up", action="store_true", help="old cards are never noted as taken down")
    told = said.parse_args()
    with Ledger.open(told.url) as ledger:
        fill(ledger, told.beds, told.days, taken_down=not told.left_up)
        print(ledger.change_token(), "entries")


if __name__ == "__main__":
    main()
