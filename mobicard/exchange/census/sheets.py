"""The sheets of a workbook as CSV text, read in a process of its own: damage makes a reader go on for ever.

``python -m mobicard.exchange.census.sheets`` reads a workbook from standard input and writes one JSON list of
``[name, text]``, or one JSON text, the reason why not. It ends by itself within bounds of time and memory.
"""

from __future__ import annotations

import csv
import io
import json
import re
import sys
from collections.abc import Iterable
from datetime import date, datetime, time

MOST_SECONDS = 20
MOST_MEMORY = 2 * 2**30
MOST_CELLS = 2_000_000
"""A unit's list has some thousands; one stray cell in the last row and column makes far more of a sheet."""

WHOLE_DIGITS = 15
"""The digits a spreadsheet keeps of a number. Source: IEEE 754 binary64."""


def sheets(data: bytes) -> list[tuple[str, str]] | str:
    """Name and text of each sheet a person sees, a line a row; or why there is none."""
    from python_calamine import CalamineWorkbook, SheetVisibleEnum

    book = CalamineWorkbook.from_object(io.BytesIO(data))
    found: list[tuple[str, str]] = []
    for each in book.sheets_metadata:
        if each.visible != SheetVisibleEnum.Visible:
            continue
        sheet = book.get_sheet_by_name(each.name)
        rows, columns = sheet.end or (0, 0)
        if (rows + 1) * (columns + 1) > MOST_CELLS:
            return f"the sheet “{each.name}” reaches far beyond a bed list; delete the cells far out"
        found.append((each.name, _text(sheet.to_python(skip_empty_area=False))))
    return found


def _text(rows: Iterable[Iterable[object]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    for row in rows:
        writer.writerow([re.sub(r"[\r\n]+", " ", _cell(value)) for value in row])
    return out.getvalue()


def _cell(value: object) -> str:
    """A cell as a CSV file would have it: figures without a needless point, dates as ISO has them."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 10**WHOLE_DIGITS:
        return str(int(value))
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value)


def _within_bounds() -> None:
    """Let the system end this process where it goes on for ever or takes all there is."""
    try:
        import resource
    except ImportError:  # Windows; the caller's clock ends it there
        return
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    _within_bounds()
    json.dump(sheets(sys.stdin.buffer.read()), sys.stdout)
