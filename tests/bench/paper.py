"""How fast door cards print, as ratios taken in one run: by hand, ``python tests/bench/paper.py``.

Whole processes (start, derive, page, PDF) against headless Chromium printing the same HTML, and, warm,
against reportlab drawing the same card as the floor; peak memory of the whole process tree; growth with the
beds. Times depend on the machine and on what else it does: trust the ratios, which are of medians of
interleaved runs.
"""

from __future__ import annotations

import argparse
import math
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

NOW = datetime(2026, 3, 2, 8, 0)
CHROMIUM = [
    "chromium",
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-pdf-header-footer",
]
LAID_OUT_UP_TO = 120
TASKS = ("boost", "turn", "sit_up", "stand", "chair", "toilet", "walk", "stretcher", "floor")
SEEN: dict[str, Any] = {
    "alertness": "alert",
    "directions": "reliable",
    "behavior": "calm",
    "sitting": "steady",
    "standing": "steady",
    "stepping": "walks",
    "arms": "both",
    "weight_kg": 82,
    "assessed_at": "2026-03-02T07:10",
    "assessed_by": "JN",
    "help": dict.fromkeys(TASKS, "setup"),
}
WALKER = ["gait_belt", "front_wheeled_walker"]
VARIED: tuple[dict[str, Any], ...] = (
    {},
    {"standing": "supported", "aids": WALKER, "help": dict.fromkeys(TASKS, "minimal")},
    {"weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}}, "standing": "supported"},
    {"standing": "unable", "stepping": "unable", "lines": [{"kind": "chest tube", "side": "left"}]},
    {"sitting": "unable", "standing": "unable", "stepping": "unable", "weight_kg": 140},
    {"precautions": ["bed_rest"]},
    {"standing": None},
)


def beds(count: int) -> list[Any]:
    """So many invented beds with their plans."""
    from mobicard.derive import plan_for
    from mobicard.facts import read_record
    from mobicard.paper.door.face import BedCard
    from mobicard.rules.policy import Policy

    policy = Policy()
    records = [
        read_record({"bed": f"4W-{index}", **SEEN, **VARIED[index % len(VARIED)]}) for index in range(count)
    ]
    return [BedCard(plan_for(record, policy, NOW), record) for record in records]


def pages(cards: Sequence[Any]) -> Any:
    from mobicard import scheme
    from mobicard.paper.door.card import door_batches
    from mobicard.paper.sheet_sizes import Sheet
    from mobicard.rules.policy import Policy

    return door_batches(cards, Sheet.named("a5", paper="a5"), scheme.load(), Policy(), NOW)


def page(cards: Sequence[Any]) -> str:
    from mobicard import scheme
    from mobicard.paper.door.card import door_html
    from mobicard.paper.sheet_sizes import Sheet
    from mobicard.rules.policy import Policy

    return door_html(cards, Sheet.named("a5", paper="a5"), scheme.load(), Policy(), NOW)


class Tree:
    """The memory of a process and all it started, by its proportional share, in MB."""

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self.peak = 0.0
        self.done = threading.Event()
        self.thread = threading.Thread(target=self._watch, daemon=True)
        self.thread.start()

    def _watch(self) -> None:
        while not self.done.wait(0.03):
            self.peak = max(self.peak, sum(_share(pid) for pid in _tree(self.pid)))

    def stop(self) -> float:
        self.done.set()
        self.thread.join()
        return self.peak


def _tree(pid: int) -> list[int]:
    found = [pid]
    for parent in found:
        for task in Path(f"/proc/{parent}/task").glob("*/children"):
            try:
                found.extend(int(child) for child in task.read_text().split())
            except OSError:
                continue
    return found


def _share(pid: int) -> float:
    try:
        text = Path(f"/proc/{pid}/smaps_rollup").read_text()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in text.splitlines() if line.startswith("Pss:")), 0.0)


def run(command: Sequence[str], watch: bool = False) -> tuple[float, float]:
    """Seconds of the whole process, and its tree's peak MB when watched."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    tree = Tree(process.pid) if watch else None
    code = process.wait()
    took = time.perf_counter() - start
    peak = tree.stop() if tree else 0.0
    if code != 0:
        raise SystemExit(f"{command[0]} failed with {code}: {' '.join(command)}")
    return took, peak


def ours(count: int, folder: Path, watch: bool = False) -> tuple[float, float]:
    out = str(folder / "ours.pdf")
    return run([sys.executable, __file__, "--print", str(count), "--out", out], watch)


def chromium(count: int, folder: Path, watch: bool = False) -> tuple[float, float]:
    profile = Path(tempfile.mkdtemp(dir=folder))
    source = (folder / f"{count}.html").as_uri()
    try:
        return run(
            [*CHROMIUM, f"--user-data-dir={profile}", f"--print-to-pdf={folder / 'theirs.pdf'}", source],
            watch,
        )
    finally:
        shutil.rmtree(profile, ignore_errors=True)


def drawn(cards: Sequence[Any], path: str) -> None:
    """The same cards drawn straight onto the page by reportlab: boxes, texts and QR at the same places."""
    from reportlab.lib.colors import HexColor
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfgen.canvas import Canvas

    from mobicard import scheme
    from mobicard.paper.door.card import door_face
    from mobicard.paper.door.layout import layout_for
    from mobicard.paper.sheet_sizes import Sheet
    from mobicard.rules.policy import Policy

    house, policy, sheet = scheme.load(), Policy(), Sheet.named("a5", paper="a5")
    layout, mm, height = layout_for(sheet), 72 / 25.4, sheet.height
    canvas = Canvas(path, pagesize=(sheet.width * mm, height * mm))
    for card in cards:
        said = door_face(card, house, policy, NOW)
        left, top, wide, high = layout.top
        canvas.setFillColor(HexColor(said.look.colour))
        canvas.rect(left * mm, (height - top - high) * mm, wide * mm, high * mm, fill=1)
        canvas.setFillColor(HexColor(said.look.ink))
        _written(canvas, layout.word, said.look.word, layout.word_size, height)
        _written(canvas, layout.sub, said.sub_line, 7, height)
        canvas.setFillColor(HexColor("#000000"))
        for box, text, size in (
            (layout.helpers, said.helpers, 9),
            (layout.bed, said.bed, 8),
            (layout.until_clock, said.until[0], 9),
            (layout.until_day, said.until[1], 4),
            (layout.code, said.code, 5),
        ):
            _written(canvas, box, text, size, height)
        for index, item in enumerate(said.items[:8]):
            x, y, w, _ = layout.items
            _written(canvas, (x, y + index * 6, w, 6), item[:60], 5, height)
        x, y, w, h = (side * mm for side in layout.qr)
        canvas.drawImage(ImageReader(_qr(said.code)), x, height * mm - y - h, w, h)
        canvas.showPage()
    canvas.save()


def _written(
    canvas: Any, box: tuple[float, float, float, float], text: str, size: float, height: float
) -> None:
    canvas.setFont("Helvetica-Bold", size * 72 / 25.4)
    canvas.drawString(box[0] * 72 / 25.4, (height - box[1] - box[3] * 0.8) * 72 / 25.4, text)


def _qr(code: str) -> Any:
    import io

    import segno

    out = io.BytesIO()
    segno.make_qr(code, error="m").save(out, kind="png", scale=1, border=4)
    out.seek(0)
    return out


def median_of(times: int, *jobs: Callable[[], float]) -> list[float]:
    """The median of each job, their runs interleaved."""
    taken: list[list[float]] = [[] for _ in jobs]
    for _ in range(times):
        for job, results in zip(jobs, taken, strict=True):
            results.append(job())
    return [statistics.median(results) for results in taken]


def timed(job: Callable[[], object]) -> float:
    start = time.perf_counter()
    job()
    return time.perf_counter() - start


def spent(job: Callable[[], object]) -> float:
    """Seconds of this process's own processor time, which other work on the machine hardly moves."""
    start = time.process_time()
    job()
    return time.process_time() - start


def verdict(value: float, most: float) -> str:
    return f"{value:5.2f}  (target <= {most:g}: {'reached' if value <= most else 'NOT reached'})"


def whole(sizes: Sequence[int], times: int, folder: Path) -> None:
    """Whole processes against Chromium, and memory."""
    targets = {30: 0.8, 600: 1.0}
    print("\nwhole process, seconds (medians)\n  beds     ours  chromium   ratio")
    for count in sizes:
        (folder / f"{count}.html").write_text(page(beds(count)), encoding="utf-8")
        repeat = max(3, times // 2) if count >= 600 else times
        jobs = (lambda n=count: ours(n, folder)[0], lambda n=count: chromium(n, folder)[0])
        mine, theirs = median_of(repeat, *jobs)
        ratio = mine / theirs
        said = verdict(ratio, targets[count]) if count in targets else f"{ratio:5.2f}"
        print(f"{count:6} {mine:8.2f} {theirs:9.2f}   {said}")
    largest = max(sizes)
    peak, theirs_peak = ours(largest, folder, watch=True)[1], chromium(largest, folder, watch=True)[1]
    print(f"\npeak memory of the process tree at {largest} beds, MB (proportional share)")
    print(f"  ours {verdict(peak, 250)}; chromium {theirs_peak:.0f}")


def changed(times: int, folder: Path) -> None:
    """Three changed doors of thirty (thirty planned, three printed), against one card alone."""
    command = [sys.executable, __file__, "--out", str(folder / "ours.pdf"), "--print"]
    jobs = (lambda: run([*command, "30", "--only", "3"])[0], lambda: run([*command, "1"])[0])
    three, one = median_of(times + 2, *jobs)
    print(f"\n3 changed of 30, whole process: {three:.2f} s; one card: {one:.2f} s")
    print(f"  ratio {verdict(three / one, 1.2)}")


def warm(sizes: Sequence[int], times: int, folder: Path) -> None:
    """In one process that has everything loaded, against the floor; and how it grows."""
    from mobicard.paper.pdf import write as pdf

    out = folder / "warm.pdf"
    pdf.write_pdf([batch.html() for batch in pages(beds(12))], out)
    print("\nwarm, seconds (medians): drawn, laid out from the page, reportlab\n")
    print("  beds    drawn   laid out  reportlab  drawn : reportlab")
    grown = {}
    for count in sizes:
        cards = beds(count)
        jobs = [
            lambda c=cards: timed(lambda: pdf.write_pdf(pages(c), out)),
            lambda c=cards: timed(lambda: drawn(c, str(folder / "floor.pdf"))),
        ]
        if count <= LAID_OUT_UP_TO:
            laid_out = [batch.html() for batch in pages(cards)]
            jobs.append(lambda p=laid_out: timed(lambda: pdf.write_pdf(p, out)))
        mine, floor, *rest = median_of(times, *jobs)
        grown[count] = statistics.median(
            spent(lambda c=cards: pdf.write_pdf(pages(c), out)) for _ in range(times)
        )
        said = f"{rest[0]:10.3f}" if rest else "         -"
        print(f"{count:6} {mine:8.3f} {said} {floor:10.3f}    {mine / floor:5.1f}")
    small, large = sorted(sizes)[-2:]
    exponent = math.log(grown[large] / grown[small]) / math.log(large / small)
    print(f"growth exponent of the processor time, {small} to {large} beds:", verdict(exponent, 1.05))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--print", type=int, metavar="BEDS", help="print so many beds once and end")
    parser.add_argument("--only", type=int, help="of those, print the first so many")
    parser.add_argument("--out", default=os.devnull)
    parser.add_argument("--times", type=int, default=5, help="runs of each, of which the median counts")
    parser.add_argument("--beds", type=int, nargs="+", default=[1, 30, 120, 600])
    asked = parser.parse_args()
    if asked.print:
        once(asked)
        return
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {sys.version.split()[0]}")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        whole(asked.beds, asked.times, folder)
        changed(asked.times, folder)
        warm(asked.beds, asked.times, folder)


def once(asked: argparse.Namespace) -> None:
    """One timed process."""
    from mobicard.paper.pdf import write as pdf

    cards = beds(asked.print)[: asked.only or asked.print]
    pdf.write_pdf(pages(cards), asked.out)


if __name__ == "__main__":
    main()
