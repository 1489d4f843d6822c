"""Damage as files and lines do it: what every test and bench of damaged inputs does to bytes."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

SIGNS = b'|^~\\&\r\n",;=@\x00\xff{}[]:<>'


def damaged(dice: Random, seed: bytes, *, words: Sequence[bytes] = (), cut_off: float = 0.2) -> bytes:
    """Bytes changed, put in, cut out, said twice, cut off; one to six times.

    What is put in are signs that mean something to a reader, or, where there are any, ``words`` over what was
    there. ``cut_off`` is how often the last kind is done when its turn comes.
    """
    data = bytearray(seed)
    for _ in range(dice.randint(1, 6)):
        place = dice.randrange(len(data) + 1)
        match dice.randrange(5):
            case 0:
                data[place : place + 1] = bytes([dice.randrange(256)])
            case 1 if words:
                data[place : place + dice.choice((0, 0, 1, 4, 12))] = dice.choice(words)
            case 1:
                data[place:place] = bytes(dice.choice(SIGNS) for _ in range(dice.randint(1, 4)))
            case 2:
                del data[place : place + dice.randint(1, 30)]
            case 3:
                again = dice.randrange(len(data) + 1)
                data[place:place] = data[again : again + dice.randint(1, 90)]
            case _ if dice.random() < cut_off:
                del data[max(place, 1) :]
    return bytes(data)
