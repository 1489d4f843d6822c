"""A few screens as pictures, at a fixed size and time; looked at by eye when they change.

pytest tests/terminal/test_pictures.py --snapshot-update
"""

from __future__ import annotations

import re

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from mobicard.terminal.theme import PLAIN


class Picture(SingleFileSnapshotExtension):
    """One .svg file a picture."""

    file_extension = "svg"
    _write_mode = WriteMode.TEXT


@pytest.fixture
def picture(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    return snapshot.use_extension(Picture)


def taken(app) -> str:
    """The screen as SVG, without the class names that are new on every run."""
    return re.sub(r"terminal-\d+", "terminal", app.export_screenshot(title="mobicard"))


async def test_board_at_80_by_24(opened, picture):
    async with opened(size=(80, 24), theme="mobicard-dark") as nurse:
        await nurse.type("06")
        assert taken(nurse.app) == picture


async def test_record_wide_with_reasons_open(opened, picture):
    async with opened(size=(140, 45), theme="mobicard-light") as nurse:
        await nurse.press("0", "3", "enter", "u", "right", "enter")
        assert taken(nurse.app) == picture


async def test_record_at_80_by_24_without_colour(opened, picture, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(size=(80, 24)) as nurse:
        assert nurse.app.theme == PLAIN
        await nurse.press("0", "4", "enter", "B")
        assert taken(nurse.app) == picture


async def test_fall_at_80_by_24(opened, picture):
    async with opened(size=(80, 24), theme="mobicard-dark") as nurse:
        await nurse.press("f", "a", "y")
        assert taken(nurse.app) == picture


async def test_judgement_at_80_by_24(opened, picture):
    async with opened(size=(80, 24), theme="mobicard-contrast") as nurse:
        await nurse.press("o")
        assert taken(nurse.app) == picture


async def test_the_fact_that_changed_at_80_by_24_without_colour(opened, picture, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    async with opened(size=(80, 24)) as nurse:
        await nurse.press("r")
        await nurse.press("c")
        assert taken(nurse.app) == picture
