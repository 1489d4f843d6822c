"""Where page templates are found, and that what they are filled with is escaped."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from mobicard.paper import templates


@pytest.fixture
def tree(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """An empty place with the module at ``mobicard/paper/templates.py``."""
    (tmp_path / "mobicard" / "paper").mkdir(parents=True)
    monkeypatch.setattr(templates, "__file__", str(tmp_path / "mobicard" / "paper" / "templates.py"))
    templates.folder.cache_clear()
    yield tmp_path
    templates.folder.cache_clear()


def test_an_installed_package_uses_its_own_templates(tree: Path) -> None:
    (tree / "mobicard" / "templates").mkdir()
    (tree / "templates").mkdir()
    (tree / "pyproject.toml").touch()
    assert templates.folder() == tree / "mobicard" / "templates"


def test_a_checkout_uses_the_templates_beside_the_package(tree: Path) -> None:
    (tree / "templates").mkdir()
    (tree / "pyproject.toml").touch()
    assert templates.folder() == tree / "templates"


def test_a_stray_templates_folder_beside_an_installed_package_is_not_used(tree: Path) -> None:
    """In site-packages another package's ``templates`` may lie beside; there is no pyproject.toml."""
    (tree / "templates").mkdir()
    with pytest.raises(FileNotFoundError, match="install mobicard again") as missing:
        templates.folder()
    assert "Nothing that was recorded is touched" in str(missing.value)


def test_values_are_escaped_and_a_missing_one_is_an_error() -> None:
    page = templates.environment().from_string("<p>{{ text }}</p>")
    assert page.render(text="<b>&") == "<p>&lt;b&gt;&amp;</p>"
    with pytest.raises(UndefinedError):
        page.render()


def test_a_page_carries_its_fonts_and_asks_for_nothing() -> None:
    css = str(templates.fonts_css())
    assert css.count("@font-face") == css.count("url(data:font/woff2;base64,") == 3
    assert "http" not in css
