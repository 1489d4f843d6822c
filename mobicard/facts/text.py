"""Free text a nurse may type: trimmed, bounded, without control characters."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, StringConstraints

_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


def without_controls(text: str) -> str:
    """The text with control and direction-override characters turned into spaces."""
    return re.sub(r"\s+", " ", _CONTROL.sub(" ", text)).strip()


Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60), AfterValidator(without_controls)
]
Note = Annotated[str, StringConstraints(strip_whitespace=True, max_length=160), AfterValidator(without_controls)]
