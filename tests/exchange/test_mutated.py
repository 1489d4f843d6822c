"""Bed lists and messages as damage makes them: each is read or refused in words, and shows no field."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import pytest

from mobicard.exchange.census.acknowledge import Answer, parsed, reply, why_rejected
from mobicard.exchange.census.csv_list import read_census
from mobicard.exchange.census.hl7_messages import EVENTS, one_message, read_hl7
from mobicard.exchange.census.preview import preview, steps
from mobicard.exchange.census.rows import Census, CensusRefused
from tests.damage import damaged
from tests.feed.sender import adt

INPUTS = 1500
MESSAGES = [adt(event, "V1", "5N^1^A").encode() for event in (*EVENTS, "A04", "A40")]
LISTS = [
    b'Unit,Room,Bed,Name,Visit,Weight (lb),Status\n5N,12,A,"Doe, Jane",V1,180,in\n,,B,VACANT,,,\nTotal,,,2\n',
    "Bett;Nachname;Gewicht (kg);Status\n5N-1;Doe;80,5;belegt\n5N-2;;;frei\n".encode("utf-16"),
]


def inputs(seeds: list[bytes]) -> Iterator[bytes]:
    """The same on every run."""
    dice = random.Random(20260302)
    return (damaged(dice, dice.choice(seeds), cut_off=1) for _ in range(INPUTS))


def came_to(read: Callable[[bytes], Census], data: bytes) -> str:
    """That it was read, or the words of its refusal."""
    try:
        steps(preview(read(data), ()))
    except CensusRefused as refused:
        return str(refused)
    return "read"


def test_any_damaged_message_is_read_refused_and_answered(caplog: pytest.LogCaptureFixture) -> None:
    """Nor does the parser's own log repeat a field, which may be a name."""
    for data in inputs(MESSAGES):
        assert came_to(read_hl7, data)
        message = parsed(one_message(data))
        answer = why_rejected(message) if message is not None else None
        assert b"\rMSA|" in reply(message, answer or Answer("AE", 207, "no"), "20260302")
    assert caplog.text == ""


def test_any_damaged_list_is_read_or_refused() -> None:
    for data in inputs(LISTS):
        assert came_to(read_census, data)
