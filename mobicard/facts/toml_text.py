"""TOML from outside, within limits: one that is nested without end is refused as any other broken file is."""

from __future__ import annotations

import re
import tomllib
from typing import Any

MOST_SIGNS = 2**20
"""The longest text taken; the packaged policy, with every number's source beside it, has 20,000 signs."""

_ENDLESS_KEY = re.compile(r"""(?<![\w"'-])(?:[\w"'-]++\s*+\.\s*+){20}""")
"""A key of so many parts: each costs the parser all those before it, so a long one never ends."""


def read_toml(text: str) -> dict[str, Any]:
    """The table that a TOML text is. Raises tomllib.TOMLDecodeError."""
    if len(text) > MOST_SIGNS:
        raise tomllib.TOMLDecodeError(f"it is longer than {MOST_SIGNS} signs")
    if _ENDLESS_KEY.search(text):
        raise tomllib.TOMLDecodeError("a key has more than twenty parts")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise tomllib.TOMLDecodeError("it is nested too deeply") from None
