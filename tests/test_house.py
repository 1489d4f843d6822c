"""The house: small rooms, no circles of imports, files and functions short enough to read."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PRODUCT = Path(__file__).parents[1] / "mobicard"
FOR_START_UP = {
    "mobicard.cli.station": "SQLAlchemy, which a plan from a file does not need",
    "mobicard.ward.station.settings": "Jinja2 and the page library behind the phrases",
    "mobicard.paper.templates": "Jinja2, loaded with the first page",
    "mobicard.facts": "the models, which a list of commands does not need",
    "mobicard.ledger": "SQLAlchemy, which a plan from a file does not need",
    "mobicard.paper.pdf": "the page library, which the words on a card do not need",
    "mobicard.ward": "the ledger, which a policy or a clock does not need",
    "mobicard.ward.ward": "pages, briefs and the day plan, which a look at the beds does not need",
}
"""The modules that name a type only, so that a heavy library is not loaded with them."""

MOST_FILES, MOST_LINES, MOST_FUNCTION_LINES = 14, 400, 40
ROOMS = sorted({file.parent for file in PRODUCT.rglob("*.py")})


def name_of(file: Path) -> str:
    return ".".join(file.relative_to(PRODUCT.parent).with_suffix("").parts).removesuffix(".__init__")


@cache
def modules() -> dict[str, ast.Module]:
    """Every module of the product by its name, parsed."""
    return {name_of(file): ast.parse(file.read_text(encoding="utf-8")) for file in PRODUCT.rglob("*.py")}


def imported(tree: ast.Module) -> Iterator[str]:
    """The product's modules that this one names, wherever in it, for types alone as well."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module in modules():
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in modules() else str(node.module)


def test_no_circle_of_imports() -> None:
    """Each module can be read after those it stands on; imports inside functions and for types count too."""
    graph = {name: set(imported(tree)) - {name} for name, tree in modules().items()}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as found:
        pytest.fail(f"a circle of imports: {' -> '.join(found.args[1])}")


def test_a_circle_would_be_found() -> None:
    """The search itself: two modules that name each other."""
    with pytest.raises(CycleError):
        TopologicalSorter({"a": {"b"}, "b": {"a"}}).prepare()


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: str(room.relative_to(PRODUCT.parent)))
def test_a_room_can_be_looked_over(room: Path) -> None:
    """About a dozen files beside its face, and the face says in one line what the room is for."""
    files = [file for file in room.glob("*.py") if not file.name.startswith("__")]
    assert len(files) <= MOST_FILES, f"{room.name} has {len(files)} files"
    said = ast.get_docstring(ast.parse((room / "__init__.py").read_text(encoding="utf-8")))
    assert said is not None
    assert len(said.splitlines()[0]) > len(room.name) + 10, f"{room.name} does not say what it is for"


@pytest.mark.parametrize("name", sorted(modules()))
def test_a_file_can_be_read(name: str) -> None:
    tree = modules()[name]
    functions = [one for one in ast.walk(tree) if isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef)]
    long = {one.name: one.end_lineno - one.lineno + 1 for one in functions if one.end_lineno}
    assert {each: lines for each, lines in long.items() if lines > MOST_FUNCTION_LINES} == {}
    assert max((one.end_lineno or 0 for one in tree.body), default=0) <= MOST_LINES


@pytest.mark.parametrize("name", sorted(modules()))
def test_a_file_says_what_it_is_for(name: str) -> None:
    assert ast.get_docstring(modules()[name])


def test_nothing_is_imported_for_types_alone() -> None:
    """What is needed only to name a type shows that two files hold one subject or an arrow points up."""
    found = {
        name
        for name, tree in modules().items()
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"
    }
    assert found == set(FOR_START_UP)
