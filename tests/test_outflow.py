"""What goes out: private, whole or not at all, also where a file system takes no rights."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from mobicard import outflow
from mobicard.cli import run

EXAMPLE = Path(__file__).parents[1] / "examples" / "03-hip-day-two.json"


def test_a_file_is_its_writers_alone_also_where_one_was_open_to_all(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("old")
    path.chmod(0o644)
    outflow.write_private(path, b"new")
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"new", 0o600)
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_and_what_it_names_is_written(tmp_path: Path) -> None:
    (tmp_path / "real").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    outflow.write_private(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"


@pytest.mark.parametrize("planted", ["door-cards.html", "cards"])
def test_a_link_that_somebody_planted_is_not_written_through(
    open_folder: Path, tmp_path: Path, planted: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a folder that all may write to: the pages of a ward replaced a file elsewhere."""
    mine = tmp_path / ("mine" if planted == "cards" else "mine.html")
    mine.mkdir() if planted == "cards" else mine.write_text("mine")
    link = open_folder / planted
    link.symlink_to(mine)
    os.chown(link, 65534, 65534, follow_symlinks=False)
    out = link if planted == "cards" else open_folder
    assert run(["cards", str(EXAMPLE), "--out", str(out), "--kind", "door", "--format", "html"]) == 1
    assert "is a link that somebody else put there" in capsys.readouterr().err
    assert list(mine.iterdir()) == [] if planted == "cards" else mine.read_text() == "mine"


@pytest.mark.parametrize("words", [["export", "--out"], ["export", "--force", "--out"]])
def test_a_link_to_nothing_that_somebody_planted_makes_no_file(open_folder: Path, words: list[str]) -> None:
    link, there = open_folder / "schema.json", open_folder / "elsewhere.json"
    link.symlink_to(there)
    os.chown(link, 65534, 65534, follow_symlinks=False)
    assert run([*words, str(link), "--schema"]) == 1
    assert not there.exists()


def test_a_stick_that_takes_no_chmod_takes_the_pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pages are carried to another machine's printer on one."""

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "chmod", refused)
    words = ["cards", str(EXAMPLE), "--out", str(tmp_path), "--kind", "door", "--format", "html"]
    assert run(words) == 0
    assert (tmp_path / "door-cards.html").stat().st_size > 0


def test_a_device_is_never_replaced(capsys: pytest.CaptureFixture[str]) -> None:
    """Not even by root, and its rights are left alone."""
    before = Path("/dev/null").stat()
    assert run(["export", "--schema", "--out", "/dev/null", "--force"]) == 1
    assert "a pipe or a device, not a file" in capsys.readouterr().err
    assert Path("/dev/null").stat()[:3] == before[:3]


def test_what_cannot_be_written_leaves_the_old_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "page.html"
    path.write_text("old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space left on device") as refused:
        outflow.write_private(path, b"new")
    assert refused.value.filename == str(path)
    assert [one.name for one in tmp_path.iterdir()] == ["page.html"]
    assert path.read_text() == "old"
