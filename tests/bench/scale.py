"""What grows with the history behind a unit, and what with its beds: one table, made anew by one command.

    python -m tests.bench.scale [--days 30 180 1095] [--only history] [--keep FOLDER] [--tree OTHER]

Each command is a process of its own; its processor time (user and system) and largest memory are the
kernel's figures. The exponent is the slope of processor time over entries, both as logarithms, with the
command's floor (``--help``) taken off: 0 costs the same however long the history, 1 doubles with it. CI never
times. ``--keep`` keeps the ledgers (a million entries take some minutes); ``--tree`` runs another checkout's
program on copies of them, for a before and after.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from mobicard.ledger import Ledger
from tests.bench.history import fill

NOW = "2026-03-02T12:30"
HERE = Path(__file__).parents[2]
COMPILED = Path(tempfile.gettempdir()) / "mobicard-scale-compiled"
"""Where modules are kept compiled, as an installation has them, whatever this shell says of it."""


@dataclass(frozen=True)
class Cost:
    """Processor seconds and largest memory (MB) of one run."""

    seconds: float
    mb: float


TIMES = 2
"""Runs of each; the least counts, as a shared machine only ever adds."""

PAIRS = 7
"""Runs of a command, each beside one of its libraries alone: a shared machine slows both."""


def cost(tree: Path, *words: str, times: int | None = None) -> Cost:
    """The least of so many runs of ``mobicard`` with these words."""
    runs = [_one(tree, words) for _ in range(times or TIMES)]
    return Cost(min(run.seconds for run in runs), max(run.mb for run in runs))


def _one(tree: Path, words: tuple[str, ...]) -> Cost:
    ran, status = _run([sys.executable, "-m", "mobicard", *words], tree)
    if status and "check" not in words:
        raise SystemExit(f"{' '.join(words)} ended with {status}")
    return ran


def _run(words: list[str], tree: Path) -> tuple[Cost, int]:
    environment = {**os.environ, "PYTHONPATH": str(tree), "MOBICARD_NOW": NOW, "TZ": "UTC"}
    environment |= {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(COMPILED / tree.name)}
    said = subprocess.DEVNULL
    program = subprocess.Popen(words, cwd=tree, env=environment, stdout=said, stderr=said)
    _, status, used = os.wait4(program.pid, 0)
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024), status


def slope(entries: list[int], seconds: list[float], floor: float) -> float:
    """Least squares through the logarithms; what is left of the floor is never taken as nothing."""
    if len(entries) < 2:
        return math.nan
    xs = [math.log(one) for one in entries]
    ys = [math.log(max(one - floor, 0.01)) for one in seconds]
    middle = statistics.fmean(xs)
    return sum((x - middle) * y for x, y in zip(xs, ys, strict=True)) / sum((x - middle) ** 2 for x in xs)


def questions(ledger: Path, code: str, out: Path) -> dict[str, tuple[str, ...]]:
    """What is asked of each ledger."""
    at = ("--ledger", str(ledger), "--by", "JN")
    return {
        "board (stay list)": (*at, "stay", "list"),
        "check a code": (*at, "check", code),
        "handoff, HTML": (*at, "handoff", "--format", "html", "--out", str(out)),
        "cards --changed, HTML": (*at, "cards", "--changed", "--format", "html", "--out", str(out)),
        "audit of a bed": (*at, "ledger", "audit", "--bed", "1W-05"),
        "audit of a bed, ever": (*at, "ledger", "audit", "--bed", "1W-05", "--all"),
        "audit of a bed, a month": (*at, "ledger", "audit", "--bed", "1W-05", "--since", "2026-02-02"),
    }


def made(folder: Path, days: int, beds: int) -> Path:
    """The ledger with so many days behind it, made where it is not there yet."""
    path = folder / f"d{days}.sqlite"
    if not path.exists():
        with Ledger.open(path) as ledger:
            fill(ledger, beds, days)
    return path


def history(folder: Path, days: list[int], tree: Path, beds: int = 24) -> None:
    """The exponents in history."""
    entries, table = [], dict[str, list[Cost]]()
    floor = cost(tree, "--help")
    for number in days:
        kept = made(folder, number, beds)
        with tempfile.TemporaryDirectory(dir=folder) as place:
            ledger = Path(place) / "ledger.sqlite"
            shutil.copy(kept, ledger)
            cost(tree, "--ledger", str(ledger), "--by", "JN", "stay", "list", times=1)  # moved to its schema
            code, count = a_code(ledger)
            entries.append(count)
            for name, words in questions(ledger, code, Path(place) / "out").items():
                table.setdefault(name, []).append(asked := cost(tree, *words))
                print(f"  {count:,} entries, {name}: {asked.seconds:.2f} s", file=sys.stderr, flush=True)
    print(f"entries: {', '.join(f'{one:,}' for one in entries)}; floor (--help) {floor.seconds:.2f} s")
    for name, costs in table.items():
        exponent = slope(entries, [one.seconds for one in costs], floor.seconds)
        told = "  ".join(f"{one.seconds:6.2f} s {one.mb:4.0f} MB" for one in costs)
        ratio = costs[-1].seconds / costs[0].seconds
        print(f"{name:24} {told}   last over first {ratio:5.1f}   exponent {exponent:5.2f}", flush=True)


def floors(tree: Path, folder: Path) -> None:
    """Start-up, as a ratio over importing the libraries of each command."""
    ledger = made(folder, 30, 24)
    with tempfile.TemporaryDirectory(dir=folder) as place:
        copy = shutil.copy(ledger, Path(place) / "ledger.sqlite")
        cost(tree, "--ledger", str(copy), "--by", "JN", "stay", "list", times=1)
        code, _ = a_code(Path(copy))
        few = "import click, pydantic\nclass A(pydantic.BaseModel):\n    x: int"
        for name, libraries, words in (
            ("--help", few, ("--help",)),
            ("plan FILE", few, ("plan", "examples/03-hip-day-two.json")),
            ("check", f"import sqlalchemy\n{few}", ("--ledger", str(copy), "check", code)),
        ):
            pairs = [(_one(tree, words).seconds, _python(libraries)) for _ in range(PAIRS)]
            least = min(here for here, _ in pairs)
            ratio = statistics.median(here / floor for here, floor in pairs)
            print(f"{name:24} {least:.2f} s   over its libraries, median of {PAIRS} pairs, {ratio:.2f}")


def _python(code: str) -> float:
    return _run([sys.executable, "-c", code], HERE)[0].seconds


def exports(tree: Path, folder: Path, sizes: tuple[int, ...]) -> None:
    """Largest memory of each export, over its smallest unit's."""
    for kind in ("--fhir", "--csv", "--lines"):
        told = []
        for beds in sizes:
            ledger = folder / f"b{beds}.sqlite"
            if not ledger.exists():
                with Ledger.open(ledger) as new:
                    fill(new, beds, 1)
            told.append(cost(tree, "--ledger", str(ledger), "--by", "JN", "export", kind, times=1).mb)
        says = "  ".join(f"{beds} beds {mb:4.0f} MB" for beds, mb in zip(sizes, told, strict=True))
        print(f"export {kind:17} {says}   last over first {told[-1] / told[0]:.1f}", flush=True)


def board(_folder: Path) -> None:
    """A Board idle and under a hundred saves a second."""
    from tests.bench.board import told_of

    for beds in (600, 2000):
        for line in told_of(beds, 100, 40, 20):
            print(f"Board, {beds} beds: {line}", flush=True)


def units(_folder: Path) -> None:
    """A thousand beds of forty units on PostgreSQL, where it is installed."""
    from tests.bench.many_units import table
    from tests.ledger.places import postgres_binaries

    table(1000, [30, 180, 1095]) if postgres_binaries() else print("no PostgreSQL programs here")


def a_code(path: Path) -> tuple[str, int]:
    """A code printed in the middle of the ledger's life, and how many entries it has."""
    import sqlite3

    rows = sqlite3.connect(path)
    (last,) = rows.execute("SELECT max(seq) FROM entry").fetchone()
    middle = "SELECT body FROM entry WHERE kind = 'prepared' AND seq > ? ORDER BY seq LIMIT 1"
    (body,) = rows.execute(middle, (last // 2,)).fetchone()
    rows.close()
    return json.loads(body)["code"], last


def main() -> None:
    said = argparse.ArgumentParser(description=__doc__)
    said.add_argument("--days", type=int, nargs="+", default=[30, 180, 1095])
    said.add_argument("--keep", type=Path)
    said.add_argument("--tree", type=Path, default=HERE)
    parts = {
        "floors": lambda folder: floors(told.tree, folder),
        "board": board,
        "exports": lambda folder: exports(told.tree, folder, tuple(told.beds)),
        "history": lambda folder: history(folder, told.days, told.tree),
        "units": units,
    }
    said.add_argument("--only", choices=parts, nargs="+", default=list(parts))
    said.add_argument("--beds", type=int, nargs="+", default=[24, 600, 2000, 5000])
    told = said.parse_args()
    with tempfile.TemporaryDirectory(prefix="mobicard-scale-") as passing:
        folder = told.keep or Path(passing)
        for part in told.only:
            parts[part](folder)


if __name__ == "__main__":
    main()
