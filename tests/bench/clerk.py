"""What a clerk types, from the ledger to the PDF, against headless Chromium printing the same HTML.

    python -m tests.bench.clerk [--beds 24 120 600] [--times 5] [--only handoff]

Whole commands (``mobicard cards --changed``, ``cards --kind bedside``, ``handoff``) in pairs with Chromium,
one after the other, so that what else the machine does falls on both; the ratio is the median of the pairs'
wall clock. Beside it the processor time of ours, which other work hardly moves (Chromium's is not fully
counted), and at the largest size the peak memory of the process tree. Wall clock needs a quiet machine: the
load is printed. Doors print two files, cards and slip, so Chromium is started twice.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

from mobicard.demo.unit import record_of, unit
from mobicard.ledger import Ledger, NewEntry
from tests.bench.ledger import NOW
from tests.bench.paper import CHROMIUM, Tree, verdict
from tests.records import record_entry

HERE = Path(__file__).parents[2]
COMMANDS = {
    "doors+slip": ("cards", "--changed", "--kind", "door"),
    "bedside": ("cards", "--kind", "bedside"),
    "handoff": ("handoff",),
}
TARGETS = {("doors+slip", 24): 0.6, ("doors+slip", 120): 0.6, ("doors+slip", 600): 1.5}
MOST = {24: 1.0, 120: 1.0, 600: 1.5}
MOST_MB = 250


@dataclass(frozen=True)
class Run:
    """One command: wall clock and processor seconds, peak memory of its tree where it was watched."""

    wall: float
    processor: float
    mb: float = 0.0


def ledger_of(path: Path, beds: int) -> None:
    """The invented unit so often that it has so many beds: looked at in the night, again this shift."""
    told = unit()["beds"]
    with Ledger.open(str(path)) as ledger:
        for number in range(beds):
            bed, stay = f"{number // 24 + 1}N-{number % 24 + 1:02}", f"s{number}"
            entries = [NewEntry(stay, "admit", NOW - timedelta(hours=20), "CL", {"bed": bed})]
            for shift, at in (("night", NOW - timedelta(hours=16)), ("day", NOW - timedelta(hours=1))):
                facts = told[number % len(told)]
                record = record_of({**facts, "bed": bed}, shift, at.replace(tzinfo=None), "JN")
                entries.append(record_entry(stay, record, at, "JN"))
            ledger.append(*entries)


def mobicard(ledger: Path, out: Path, words: tuple[str, ...], form: str, watch: bool = False) -> Run:
    """One command as a clerk types it; what it remembers goes into the bench's own folder."""
    shutil.rmtree(out, ignore_errors=True)
    at = ("--ledger", str(ledger), "--by", "CL")
    command = [sys.executable, "-m", "mobicard", *at, *words, "--format", form, "--out", str(out)]
    now = {"MOBICARD_NOW": f"{NOW:%Y-%m-%dT%H:%M}", "TZ": "UTC", "HOME": str(out.parent)}
    environment = {**os.environ, **now, "PYTHONPATH": str(HERE)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program is compiled once
    return _run(command, environment, watch)


def chromium(page: Path, folder: Path, watch: bool = False) -> Run:
    """The same page printed by Chromium, with a profile of its own."""
    profile = tempfile.mkdtemp(dir=folder)
    told = [f"--user-data-dir={profile}", f"--print-to-pdf={folder / 'theirs.pdf'}", page.as_uri()]
    try:
        return _run([*CHROMIUM, *told], dict(os.environ), watch)
    finally:
        shutil.rmtree(profile, ignore_errors=True)


def _run(command: list[str], environment: dict[str, str], watch: bool) -> Run:
    start = time.perf_counter()
    quiet = subprocess.DEVNULL
    program = subprocess.Popen(command, env=environment, stdout=quiet, stderr=quiet)
    tree = Tree(program.pid) if watch else None
    _, status, used = os.wait4(program.pid, 0)
    wall = time.perf_counter() - start
    if status:
        raise SystemExit(f"{' '.join(command)} ended with {status}")
    return Run(wall, used.ru_utime + used.ru_stime, tree.stop() if tree else 0.0)


def compared(name: str, beds: int, folder: Path, times: int, watch: bool) -> str:
    """One line of the table."""
    ledger, out = folder / f"{beds}.sqlite", folder / "out"
    mobicard(ledger, out, COMMANDS[name], "html")
    pages = [shutil.copy(page, folder / page.name) for page in sorted(out.glob("*.html"))]
    ours, theirs = [], []
    for _ in range(times):
        ours.append(mobicard(ledger, out, COMMANDS[name], "pdf"))
        theirs.append(sum(chromium(Path(page), folder).wall for page in pages))
    ratio = statistics.median(one.wall / other for one, other in zip(ours, theirs, strict=True))
    most = TARGETS.get((name, beds), MOST.get(beds))
    wall, processor = (statistics.median(getattr(one, of) for one in ours) for of in ("wall", "processor"))
    line = f"{beds:5} {name:11} {wall:7.2f} {statistics.median(theirs):9.2f} {processor:10.2f}   "
    line += verdict(ratio, most) if most else f"{ratio:5.2f}"
    if watch:
        peak = mobicard(ledger, out, COMMANDS[name], "pdf", watch=True).mb
        other = max(chromium(Path(page), folder, watch=True).mb for page in pages)
        line += f"\n      peak MB {verdict(peak, MOST_MB)}; chromium {other:.0f}"
    return line


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    said.add_argument("--beds", type=int, nargs="+", default=[24, 120, 600])
    said.add_argument("--times", type=int, default=5, help="pairs of each, of which the median counts")
    said.add_argument("--only", choices=list(COMMANDS), nargs="+", default=list(COMMANDS))
    told = said.parse_args()
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {sys.version.split()[0]}")
    print(" beds page        ours s  chromium  processor   wall ratio")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for beds in told.beds:
            ledger_of(folder / f"{beds}.sqlite", beds)
            for page in told.only:
                print(compared(page, beds, folder, told.times, beds == max(told.beds)), flush=True)


if __name__ == "__main__":
    main()
