"""Every move of twelve invented patients, to look at: ``python tests/bench/briefs.py FOLDER``.

Writes a sheet of A5 pages a patient (grey), and each brief as a terminal of 80 columns shows it; prints the
words of each, the lines of the screen and the pages, and what is too long.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from PIL import Image
from pypdf import PdfReader

from mobicard import scheme
from mobicard.derive import Policy
from mobicard.derive.brief import Brief, Helper, brief_for
from mobicard.facts import Record
from mobicard.facts.words import Task
from mobicard.paper.brief.page import brief_html
from mobicard.paper.brief.text import brief_text
from mobicard.paper.pdf import write_pdf
from mobicard.paper.phrases import in_their_language
from tests.derive.brief.patients_known import NOW
from tests.derive.brief.twelve import twelve

PEOPLE = tuple(
    Helper(name, cm) for name, cm in (("JN", 165), ("AB", 178), ("KL", 172), ("RS", 170), ("TV", 160))
)
COLUMNS, DPI = 3, 75
HOUSE = scheme.load()


def walk(folder: Path) -> None:
    """One sheet and one text file a patient."""
    for name, record in twelve().items():
        says = [_one(record, task, folder) for task in Task]
        print(f"{record.bed} {name}: " + ", ".join(says))
        (folder / f"{record.bed}.txt").write_text(_screens(record), encoding="utf-8")
        _sheet(sorted(folder.glob(f"{record.bed}-*-1.png")), folder / f"{record.bed}.png")


def _one(record: Record, task: Task, folder: Path) -> str:
    found = _spoken(record, brief_for(record, task, Policy(), NOW, PEOPLE[: _needed(record, task)]))
    pdf = folder / f"{record.bed}-{list(Task).index(task)}-{task.value}.pdf"
    write_pdf(brief_html(found, HOUSE, NOW, ink="grey"), pdf)
    subprocess.run(
        ["pdftoppm", "-r", str(DPI), "-gray", "-png", str(pdf), str(pdf.with_suffix(""))], check=True
    )
    pages, lines = len(PdfReader(pdf).pages), len(brief_text(found, HOUSE))
    long = "!" if pages > 1 or lines > 23 or found.words > 160 else ""
    return f"{task.value} {found.way.value}/{found.helpers} {found.words}w {lines}l {pages}p{long}"


def _spoken(record: Record, found: Brief) -> Brief:
    return in_their_language(found, record.communication.language if record.communication else None)


def _needed(record: Record, task: Task) -> int:
    return brief_for(record, task, Policy(), NOW).helpers or 0


def _screens(record: Record) -> str:
    texts = (
        brief_text(brief_for(record, t, Policy(), NOW, PEOPLE[: _needed(record, t)]), HOUSE) for t in Task
    )
    return "\n\n".join("\n".join(lines) for lines in texts) + "\n"


def _sheet(files: list[Path], out: Path) -> None:
    pages = [Image.open(file) for file in files]
    width, height = pages[0].size
    sheet = Image.new("L", (COLUMNS * (width + 6), -(-len(pages) // COLUMNS) * (height + 6)), 60)
    for number, page in enumerate(pages):
        sheet.paste(page, (number % COLUMNS * (width + 6), number // COLUMNS * (height + 6)))
    sheet.save(out)


if __name__ == "__main__":
    target = Path(sys.argv[1])
    target.mkdir(parents=True, exist_ok=True)
    walk(target)
