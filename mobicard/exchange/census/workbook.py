"""A bed list as a workbook (XLSX, XLS, ODS): the sheet that says which bed, as the text a CSV file has.

``as_csv(data, mapping) -> text`` where ``is_workbook(data)``. A line of the text is a row of the sheet.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from importlib.util import find_spec

from mobicard.exchange.census import sheets
from mobicard.exchange.census.rows import CensusRefused

_STARTS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_INSIDE = ("xl/workbook.xml", "xl/workbook.bin", "content.xml")
"""What a zip file holds that is a workbook. Source: ECMA-376, part 2; OASIS OpenDocument 1.3, part 2."""

MOST_UNPACKED = 256 * 2**20
MOST_WAIT_S = 60.0
"""Longer than the reading process gives itself, on a machine with much else to do."""


def is_workbook(data: bytes) -> bool:
    """Whether these bytes may be a workbook: a zip file, or the older container."""
    return data.startswith(_STARTS)


def as_csv(data: bytes, says_a_bed: Callable[[str], bool]) -> tuple[str, str]:
    """The text of the one sheet for which ``says_a_bed`` is true, and that sheet's name.

    Raises CensusRefused where the library is missing, the file is no workbook, or not one sheet is meant.
    """
    _refuse_other_files(data)
    found = [(text, name) for name, text in _sheets(data) if says_a_bed(text)]
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


def _sheets(data: bytes) -> list[tuple[str, str]]:
    """Name and text of each sheet, read by a process that may come to grief."""
    if find_spec("python_calamine") is None:
        raise CensusRefused(
            "this is a workbook: install what reads it, `pip install 'mobicard[spreadsheet]'`, or save the "
            "list as “CSV UTF-8”"
        )
    command = [sys.executable, "-m", sheets.__name__]
    try:
        read = subprocess.run(command, input=data, capture_output=True, timeout=MOST_WAIT_S, check=True)
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired):
        raise CensusRefused(
            "the workbook cannot be read: it is damaged, or has a password; save it again, or as “CSV UTF-8”"
        ) from None
    said = json.loads(read.stdout)
    if isinstance(said, str):
        raise CensusRefused(said)
    return [(name, text) for name, text in said]
