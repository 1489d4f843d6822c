"""Nobody carries the shift's heavy moves alone: moves done by hand, shared out among who is there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from mobicard.facts.words import Level
from mobicard.hands.greedy import Seat, Seating, take_out
from mobicard.hands.grid import Grid

BY_HAND = (Level.LINK, Level.TEAM)
"""Ways of moving in which the helpers bear weight themselves."""


def shared(grid: Grid, seats: Mapping[int, Seat]) -> dict[int, Seat]:
    """The same moves at the same times, by other people where somebody has many more by hand than another.

    Ends once no two people differ by more than the policy's ``manual_spread``, or no swap narrows it. A swap
    keeps breaks, walks, a leader and what is fixed; the patient's own nurse is swapped last.
    """
    board, stuck = Seating(grid, seats), set[int]()
    while len(stuck) < len(grid.staff):
        count = by_hand(board)
        most = max((p for p in range(len(count)) if p not in stuck), key=lambda p: (count[p], -p))
        if count[most] - min(count) <= grid.policy.manual_spread:
            break
        if not _one_less(board, most, count):
            stuck.add(most)
    return board.seats


def by_hand(board: Seating) -> list[int]:
    """Moves by hand of each person."""
    jobs = board.grid.jobs
    return [sum(jobs[n].move.level in BY_HAND for n in own) for own in board.of_person]


def _one_less(board: Seating, most: int, count: list[int]) -> bool:
    """One move by hand given from this person to the one with the fewest who can take it."""
    grid = board.grid
    own = [n for n in board.of_person[most] if grid.jobs[n].move.level in BY_HAND and not grid.jobs[n].fixed]
    kept = {grid.number.get(name) for name in grid.keep}
    for n in sorted(set(own) - kept, key=lambda n: (grid.owns(most, grid.jobs[n]), n)):
        seat = board.seats[n]
        take_out(board, n)
        fewest = _instead(board, n, seat, most, count)
        if fewest is not None:
            people = tuple(fewest if person == most else person for person in seat.people)
            board.put(n, replace(seat, people=people))
            return True
        board.put(n, seat)
    return False


def _instead(board: Seating, n: int, seat: Seat, most: int, count: list[int]) -> int | None:
    rest = [person for person in seat.people if person != most]
    led = any(map(board.grid.may_lead, rest))
    able = [
        person
        for person in board.free_people(n, seat.slot)
        if person not in seat.people
        and count[person] + 1 < count[most]
        and (led or board.grid.may_lead(person))
    ]
    return min(able, key=lambda person: (count[person], person), default=None)
