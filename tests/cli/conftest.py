"""Commands that print start a helping process; each test ends it, so that the next one begins as a shell does."""

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
