"""A bed list as a workbook (XLSX, XLS, ODS): the sheet that says which bed, as the text a CSV file has.

``as_csv(data, mapping) -> text`` where ``is_workbook(data)``. A line of the text is a row of the sheet.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any, TypeVar

from mobicard.exchange.census.rows import CensusRefused

T = TypeVar("T")

_STARTS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_INSIDE = ("xl/workbook.xml", "xl/workbook.bin", "content.xml")
"""What a zip file holds that is a workbook. Source: ECMA-376, part 2; OASIS OpenDocument 1.3, part 2."""

MOST_UNPACKED = 256 * 2**20
MOST_CELLS = 2_000_000
"""A unit's list has some thousands; one stray cell in the last row and column makes far more of a sheet."""

WHOLE_DIGITS = 15
"""The digits a spreadsheet keeps of a number. Source: IEEE 754 binary64."""


def is_workbook(data: bytes) -> bool:
    """Whether these bytes may be a workbook: a zip file, or the older container."""
    return data.startswith(_STARTS)


def as_csv(data: bytes, says_a_bed: Callable[[str], bool]) -> tuple[str, str]:
    """The text of the one sheet for which ``says_a_bed`` is true, and that sheet's name.

    Raises CensusRefused where the library is missing, the file is no workbook, or not one sheet is meant.
    """
    _refuse_other_files(data)
    book = _opened(data)
    found = [(text, name) for name in _visible(book) if says_a_bed(text := _text(book, name))]
    if len(found) == 1:
        return found[0]
    names = ", ".join(f"“{name}”" for _, name in found)
    raise CensusRefused(
        f"more than one sheet is a bed list: {names}; save the one that is meant as a file of its own"
        if found
        else "no sheet of the workbook says which bed; name that column “Bed”, or write a mapping file"
    )


def _refuse_other_files(data: bytes) -> None:
    if not data.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            names = set(packed.namelist())
            size = sum(each.file_size for each in packed.infolist())
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as broken:
        raise CensusRefused(f"the workbook is damaged ({broken}); save it again") from None
    if not names & set(_INSIDE):
        raise CensusRefused("the file is packed and no workbook; unpack it, and give the list in it")
    if size > MOST_UNPACKED:
        raise CensusRefused(f"the workbook unpacks to more than {MOST_UNPACKED // 2**20} MB; is it the list?")


def _opened(data: bytes) -> Any:
    try:
        from python_calamine import CalamineWorkbook
    except ImportError:
        raise CensusRefused(
            "this is a workbook: install what reads it, `pip install 'mobicard[spreadsheet]'`, or save the "
            "list as “CSV UTF-8”"
        ) from None
    return _guarded(lambda: CalamineWorkbook.from_object(io.BytesIO(data)))


def _guarded(read: Callable[[], T]) -> T:
    """Whatever the library makes of a damaged file, its own panics too, a refusal in words."""
    try:
        return read()
    except (KeyboardInterrupt, SystemExit, CensusRefused):
        raise
    except BaseException as broken:
        raise CensusRefused(
            f"the workbook cannot be read ({type(broken).__name__}); save it again, without a password"
        ) from None


def _visible(book: Any) -> list[str]:
    """The sheets a person sees; a hidden one is not meant."""
    from python_calamine import SheetVisibleEnum

    return [each.name for each in book.sheets_metadata if each.visible == SheetVisibleEnum.Visible]


def _text(book: Any, name: str) -> str:
    sheet = _guarded(lambda: book.get_sheet_by_name(name))
    if sheet.total_height * sheet.total_width > MOST_CELLS:
        raise CensusRefused(f"the sheet “{name}” reaches far beyond a bed list; delete the cells far out")
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL)
    for row in _guarded(lambda: sheet.to_python(skip_empty_area=False)):
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
