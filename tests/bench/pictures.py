"""Makes the README's pictures and its label anew from the program itself. Run by hand:

python -m tests.bench.pictures            the pictures, over the demo at ten to seven
python -m tests.bench.pictures --label    the label, after a rule or a source was added
"""

from __future__ import annotations

import asyncio
import re
import subprocess
import sys
import tempfile
from datetime import datetime
from pathlib import Path

from mobicard.demo.morning import fill_morning
from mobicard.derive import Policy
from mobicard.ledger import Ledger
from mobicard.paper.leaflet.label import as_markdown, label
from mobicard.terminal.app import MobicardApp
from mobicard.ward import Clock, Settings, Ward
from mobicard.ward.clerk.order import Order
from mobicard.ward.clerk.printing import cards_of, write_cards

NOW = datetime(2026, 3, 2, 6, 50)
SCREENS = {"board": ((100, 30), ("0", "7")), "record": ((140, 34), ("0", "4", "enter", "B"))}
"""Each picture of the terminal, its columns and lines, and the keys that lead there."""
CARD = "5N-04"
MARK, MARK_END = "<!-- label -->\n", "<!-- label end -->"


def main(out: Path) -> None:
    """Write every picture into ``out``."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        settings = Settings.found(config_dir=folder)
        with Ledger.open(folder / "unit.sqlite") as ledger:
            fill_morning(Ward(ledger, settings, Clock.fixed(NOW), demo=True), NOW)
            ward = Ward(ledger, settings, Clock.fixed(NOW), by="JN", demo=True, drafts=folder / "drafts")
            for picture, (size, keys) in SCREENS.items():
                svg = asyncio.run(_screen(ward, size, keys))
                (out / f"{picture}.svg").write_text(svg, encoding="utf-8")
            jobs = [job for job in ward.doors.jobs(changed_only=False) if job.bed == CARD]
            write_cards(cards_of(jobs), Order(folder, ("door",), ("pdf",), paper="card"), settings, NOW)
        page = ["pdftoppm", "-r", "70", "-png", "-singlefile", str(folder / "door-cards.pdf")]
        subprocess.run([*page, str(out / "door-card")], check=True)


async def _screen(ward: Ward, size: tuple[int, int], keys: tuple[str, ...]) -> str:
    """The screen as SVG, in the reader's own letters: it fetches no font, and names no run of its own."""
    app = MobicardApp(ward, theme="mobicard-dark")
    async with app.run_test(size=size) as pilot:
        await pilot.pause(0.5)
        await pilot.press(*keys)
        await pilot.pause(0.5)
        svg = re.sub(r"terminal-\d+", "terminal", app.export_screenshot(title="mobicard"))
        return re.sub(r"\s*@font-face \{.*?\}", "", svg, flags=re.DOTALL)


def write_label(readme: Path) -> None:
    """Put what `mobicard about` says between the README's marks."""
    before, rest = readme.read_text(encoding="utf-8").split(MARK, 1)
    after = rest.split(MARK_END, 1)[1]
    text = f"{before}{MARK}{as_markdown(label(Policy()))}{MARK_END}{after}"
    readme.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if "--label" in sys.argv:
        write_label(Path("README.md"))
    else:
        main(Path("examples/pictures"))
