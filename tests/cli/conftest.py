"""Commands that print start a helping process; it ends with each module, as it does with a shell."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from mobicard.paper import pdf


@pytest.fixture(autouse=True, scope="module")
def no_crew_left() -> Iterator[None]:
    """The printing process of one module's commands is not the next module's."""
    yield
    while pdf._crew:
        pdf._crew.pop().shutdown(wait=True, cancel_futures=True)
