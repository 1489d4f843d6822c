"""One way of reading a time, wherever one is asked: at the bedside, of an order's end, of a handoff."""

from datetime import datetime

import pytest

from mobicard.facts.text import typed_time

NOW = datetime(2026, 3, 2, 6, 40, 30)


@pytest.mark.parametrize(
    ("typed", "past", "coming"),
    [
        ("0530", "02 05:30", "03 05:30"),
        ("5:30", "02 05:30", "03 05:30"),
        ("530", "02 05:30", "03 05:30"),
        (" 5.30 ", "02 05:30", "03 05:30"),
        ("2310", "01 23:10", "02 23:10"),
        ("-20", "02 06:20", "02 06:20"),
        ("- 90", "02 05:10", "02 05:10"),
        ("+30", "02 07:10", "02 07:10"),
        ("Yesterday 19:30", "01 19:30", "01 19:30"),
        ("2026-03-05T22:15", "05 22:15", "05 22:15"),
    ],
)
def test_times_as_people_write_them(typed: str, past: str, coming: str) -> None:
    """The last time the clock showed it, or the next; what names its day or minutes is meant so."""
    assert f"{typed_time(typed, NOW):%d %H:%M}" == past
    assert f"{typed_time(typed, NOW, coming=True):%d %H:%M}" == coming


@pytest.mark.parametrize(
    "typed", ["--5", "2460", "2560", "soon", "", "7", "2026-03-05T22:15+09:00", "0001-01-01"]
)
def test_what_is_no_time_is_refused_in_words(typed: str) -> None:
    with pytest.raises(ValueError, match="is no time here; write it by the ward's own clock, like 05:30"):
        typed_time(typed, NOW)
