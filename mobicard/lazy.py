"""Names of a package that load their module when first asked for: a command pays for what it uses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module


def lazily(package: str, where: Mapping[str, str]) -> Callable[[str], object]:
    """A package's ``__getattr__`` (PEP 562); ``where`` gives, by module within it, the names it holds."""
    found = {name: f"{package}.{module}" for module, names in where.items() for name in names.split()}

    def look_up(name: str) -> object:
        if name not in found:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return getattr(import_module(found[name]), name)

    return look_up
