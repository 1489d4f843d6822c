"""What the README installs is locked with hashes, and the ranges of pyproject.toml allow it; offline."""

from __future__ import annotations

import ast
import importlib.util
import json
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from mobicard.cli import run

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
WANTED = [Requirement(one) for one in PROJECT["dependencies"]]


def _script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("sbom", ROOT / ".ci" / "sbom.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SCRIPT = _script()
LOCKED = SCRIPT.locked(SCRIPT.LOCKED.read_text(encoding="utf-8"))


@pytest.mark.parametrize("wanted", WANTED, ids=lambda one: one.name)
def test_every_range_allows_what_is_locked(wanted: Requirement) -> None:
    pin = LOCKED[canonicalize_name(wanted.name)]
    assert wanted.specifier.contains(pin["version"])


@pytest.mark.parametrize("name", LOCKED)
def test_every_package_has_the_hashes_of_its_archives(name: str) -> None:
    assert LOCKED[name]["hashes"]
    if LOCKED[name]["when"]:
        Marker(LOCKED[name]["when"])


def test_what_a_locked_package_needs_is_locked() -> None:
    """By what the installed ones say they need here: nothing comes in beside the lock."""
    from importlib.metadata import requires

    for name in LOCKED:
        if LOCKED[name]["when"] and not Marker(LOCKED[name]["when"]).evaluate():
            continue
        for text in requires(name) or ():
            need = Requirement(text)
            if need.marker is None or need.marker.evaluate({"extra": ""}):
                assert canonicalize_name(need.name) in LOCKED, f"{name} needs {need}"


def test_the_bill_of_materials_is_that_of_the_lock() -> None:
    text = SCRIPT.SBOM.read_text(encoding="utf-8")
    assert text == SCRIPT.sbom(SCRIPT.LOCKED.read_text(encoding="utf-8"), PROJECT["version"])
    assert {one["name"] for one in json.loads(text)["components"]} == set(LOCKED)


def test_a_line_that_is_no_pin_is_refused() -> None:
    with pytest.raises(ValueError, match="neither a pin nor a hash"):
        SCRIPT.locked("jinja2>=3\n")


def test_what_is_imported_without_asking_is_declared() -> None:
    """Everything imported at a module's top is a dependency, or one of an optional part kept to its files."""
    names = {"argon2": "argon2-cffi", "aiohttp": "textual-serve", "pydantic_core": "pydantic"}
    declared = {canonicalize_name(one.name) for one in WANTED}
    optional = {"psycopg", "textual-serve", "ortools"}
    for path in (ROOT / "mobicard").rglob("*.py"):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            found = [node.module] if isinstance(node, ast.ImportFrom) else []
            found += [one.name for one in node.names] if isinstance(node, ast.Import) else []
            for module in (one.partition(".")[0] for one in found if one):
                if module not in sys.stdlib_module_names and module != "mobicard":
                    name = canonicalize_name(names.get(module, module))
                    assert name in declared | optional, f"{path}: {module}"


def test_a_scheme_of_ones_own_says_what_checking_it_needs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The house's own is there without it."""
    monkeypatch.setitem(sys.modules, "coloraide", None)
    own = tmp_path / "scheme.toml"
    own.write_text('[levels.REMAIN]\nword = "WAIT"\n', encoding="utf-8")
    record = str(ROOT / "examples" / "03-hip-day-two.json")
    assert run(["plan", record]) == 0
    assert run(["--scheme", str(own), "plan", record]) == 1
    assert "pip install 'mobicard[scheme]'" in capsys.readouterr().err
