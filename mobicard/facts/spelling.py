"""Which spelling of a record or a plan a JSON document is in, and what a newer one means.

A document says so in ``$id``, the address of its schema, whose last part is the version. A version is raised
when a reader of the one before could be wrong: a key with another meaning, or one that must not be missed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

SCHEMAS: Final = "https://w3id.org/mobicard/schema"
RECORD_VERSION: Final = 1
PLAN_VERSION: Final = 1
RECORD_ID: Final = f"{SCHEMAS}/record/{RECORD_VERSION}"
PLAN_ID: Final = f"{SCHEMAS}/plan/{PLAN_VERSION}"

_NAMES: Final = ("$id", "$schema")
"""Where a document may name its schema; editors look for the second."""


def named(id_: str, document: Mapping[str, Any]) -> dict[str, Any]:
    """The document with the spelling it is in."""
    return {"$id": id_, **document}


def without_spelling(document: Mapping[Any, Any]) -> dict[Any, Any]:
    """The facts of a record document, without where it says its spelling."""
    return {key: value for key, value in document.items() if key not in _NAMES}


def why_not_read(document: Mapping[Any, Any]) -> tuple[str, str] | None:
    """Where a document names a spelling that cannot be read here, and why, or None."""
    for name in _NAMES:
        if name in document and (why := _why_unknown(document[name])):
            return name, why
    return None


def _why_unknown(id_: object) -> str | None:
    found = re.fullmatch(re.escape(SCHEMAS) + r"/record/([1-9][0-9]{0,8})", str(id_), re.ASCII)
    if found is None:
        return f"is not the address of a record's schema; that is {RECORD_ID}"
    if int(found[1]) > RECORD_VERSION:
        return (
            f"is version {found[1]} of a record, of a newer mobicard; this one knows {RECORD_VERSION} and "
            "could misread it: update this one"
        )
    return None
