"""A bed list taken in from the Board: what it would do is shown first; all of it or nothing."""

from __future__ import annotations

from pathlib import Path

from mobicard.terminal.board.bed_list import CensusPreview
from mobicard.terminal.board.screen import Board


def bed_list(ward, folder: Path, *more: str) -> Path:
    """A CSV of the unit as it is, without 5N-02, and with more lines."""
    rows = [f"{view.bed},{view.label or ''}" for view in ward.board() if view.bed != "5N-02"]
    path = folder / "beds.csv"
    path.write_text("\n".join(["bed,initials", *rows, *more]) + "\n")
    return path


async def take_in(nurse, path: Path) -> None:
    """L, the file's path, Enter."""
    await nurse.press("l")
    nurse.app.screen.query_one("Input").value = str(path)
    await nurse.press("enter")


async def test_the_list_is_shown_and_applied(opened, ward, tmp_path):
    """One admitted: shown, applied with A and Y, then a stay in that bed; the absent one stays."""
    async with opened(size=(120, 50)) as nurse:
        await take_in(nurse, bed_list(ward, tmp_path, "5N-31,ZZ"))
        assert isinstance(nurse.app.screen, CensusPreview)
        assert "1 admitted" in nurse.screen
        assert "5N-31" in nurse.screen
        assert ward.find("5N-31") is None
        await nurse.press("a", "y")
        assert isinstance(nurse.app.screen, Board)
        assert ward.find("5N-31").label == "ZZ"
        assert ward.find("5N-02") is not None


async def test_who_is_absent_leaves_only_when_asked(opened, ward, tmp_path):
    """D: patients not in the list count as discharged; the preview says so before anything is done."""
    async with opened(size=(120, 50)) as nurse:
        await take_in(nurse, bed_list(ward, tmp_path))
        assert "0 discharged" in nurse.screen
        await nurse.press("d")
        assert "1 discharged" in nurse.screen
        assert ward.find("5N-02") is not None
        await nurse.press("a", "y")
        assert ward.find("5N-02") is None


async def test_lines_that_cannot_be_read_stop_all_of_it(opened, ward, tmp_path):
    """A line without a bed: named with its number, and A applies nothing."""
    async with opened(size=(120, 50)) as nurse:
        await take_in(nurse, bed_list(ward, tmp_path, ",QQ", "5N-31,ZZ"))
        assert "CANNOT READ" in nurse.screen
        await nurse.press("a")
        assert "so nothing of it is applied" in nurse.screen
        assert ward.find("5N-31") is None


async def test_esc_applies_nothing(opened, ward, tmp_path):
    """Looked at and left."""
    async with opened(size=(120, 50)) as nurse:
        await take_in(nurse, bed_list(ward, tmp_path, "5N-31,ZZ"))
        await nurse.press("escape")
        assert isinstance(nurse.app.screen, Board)
        assert ward.find("5N-31") is None


async def test_a_file_that_is_not_there_is_said(opened, tmp_path):
    """The question stays open with the reason."""
    async with opened() as nurse:
        await take_in(nurse, tmp_path / "nothing.csv")
        assert "there is no file" in nurse.screen
