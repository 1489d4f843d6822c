"""What grows with the history behind a unit, and what with its beds: one table, made anew by one command.

    python -m tests.bench.scale [--days 30 180 1095] [--keep FOLDER] [--tree OTHER_CHECKOUT]

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


@dataclass(frozen=True)
class Cost:
    """Processor seconds and largest memory (MB) of one run."""

    seconds: float
    mb: float


def cost(tree: Path, *words: str, times: int = 3) -> Cost:
    """The middle of so many runs of ``mobicard`` with these words."""
    runs = [_one(tree, words) for _ in range(times)]
    return Cost(statistics.median(run.seconds for run in runs), max(run.mb for run in runs))


def _one(tree: Path, words: tuple[str, ...]) -> Cost:
    environment = {**os.environ, "PYTHONPATH": str(tree), "MOBICARD_NOW": NOW, "TZ": "UTC"}
    program = subprocess.Popen(
        [sys.executable, "-m", "mobicard", *words],
        cwd=tree,
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    _, status, used = os.wait4(program.pid, 0)
    said = program.stderr.read().decode() if program.stderr else ""
    if status and "check" not in words:
        raise SystemExit(f"{words}: {said}")
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def slope(entries: list[int], seconds: list[float], floor: float) -> float:
    """Least squares through the logarithms; what is left of the floor is never taken as nothing."""
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
        "audit of a bed, all": (*at, "ledger", "audit", "--bed", "1W-05"),
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
                table.setdefault(name, []).append(cost(tree, *words))
    print(f"entries: {', '.join(f'{one:,}' for one in entries)}; floor (--help) {floor.seconds:.2f} s")
    for name, costs in table.items():
        exponent = slope(entries, [one.seconds for one in costs], floor.seconds)
        told = "  ".join(f"{one.seconds:6.2f} s {one.mb:4.0f} MB" for one in costs)
        ratio = costs[-1].seconds / costs[0].seconds
        print(f"{name:24} {told}   last over first {ratio:5.1f}   exponent {exponent:5.2f}", flush=True)


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
    told = said.parse_args()
    with tempfile.TemporaryDirectory(prefix="mobicard-scale-") as passing:
        history(told.keep or Path(passing), told.days, told.tree)


if __name__ == "__main__":
    main()
